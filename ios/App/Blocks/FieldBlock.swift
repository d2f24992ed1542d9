// A text to write: the name over it, the unit behind it, what is wrong under it in words. It is told on leaving.
import ChalkfaceKit
import SwiftUI

struct FieldBlock: View {
    let block: BlockModel
    @Environment(\.looks) private var looks
    @FocusState private var focused: Bool

    var body: some View {
        let part = block.part
        let (lines, name) = (part.look == "lines", part.look == "name")
        let wrong = part.problem != nil
        VStack(alignment: .leading, spacing: Looks.tiny) {
            Text(part.name).running(.semibold).accessibilityHidden(true)
            HStack(spacing: Looks.small) {
                TextField("", text: Binding(get: { block.text }, set: { block.write($0) }), axis: lines ? .vertical : .horizontal)
                    .lineLimit(lines ? 4...12 : 1...1)
                    .running()
                    .padding(.horizontal, 12)
                    .frame(minHeight: Looks.touch)
                    .edged(wrong ? looks.flag : focused ? looks.press : looks.line, wrong || focused ? 3 : 2)
                    .focused($focused)
                    // A sign may stand before a number, which not every keyboard for numbers has.
                    .keyboardType(["number", "day"].contains(part.look) ? .numbersAndPunctuation : .default)
                    .textContentType(name ? .name : nil)
                    .textInputAutocapitalization(name ? .words : lines ? .sentences : .never)
                    .autocorrectionDisabled(!lines)
                    .submitLabel(part.look == "search" ? .search : lines ? .return : .done)
                    .onSubmit { block.flush() }
                    .onChange(of: focused) { _, on in if !on { block.flush() } }
                    .accessibilityLabel(together(part.name, part.unit))
                    .accessibilityHint(together(part.problem, part.hint))
                if !part.unit.isEmpty { Text(part.unit).running().foregroundStyle(looks.muted).accessibilityHidden(true) }
            }
            if !part.hint.isEmpty { Text(part.hint).second().foregroundStyle(looks.muted).accessibilityHidden(true) }
            if let problem = part.problem { Text(problem).second(.medium).foregroundStyle(looks.flag).accessibilityHidden(true) }
        }
        .padding(.top, Looks.tiny)
    }
}
