// The title over a line of ink; back at its start, undo as words at its end.
import ChalkfaceKit
import SwiftUI

struct HeadView: View {
    let screen: Screen
    @Binding var sun: Bool
    @Environment(ScreenModel.self) private var model
    @Environment(\.looks) private var looks

    var body: some View {
        VStack(alignment: .leading, spacing: Looks.tiny) {
            HStack(spacing: Looks.tiny) {
                if let back = screen.back {
                    Image(systemName: "chevron.backward").running(.semibold)
                        .push { model.tell(.back) }
                        .buttonStyle(Ground(side: 0))
                        .keyboardShortcut(.cancelAction)
                        .accessibilityLabel(back)
                }
                VStack(alignment: .leading, spacing: 0) {
                    Text(screen.title).title().accessibilityAddTraits(.isHeader)
                    if !screen.subtitle.isEmpty { Text(screen.subtitle).second().foregroundStyle(looks.muted) }
                }
                .frame(maxWidth: .infinity, minHeight: Looks.touch, alignment: .leading)
                if screen.back == nil {
                    Image(systemName: sun ? "sun.max.fill" : "sun.max").running()
                        .push { sun.toggle() }
                        .buttonStyle(Ground(side: 0))
                        .accessibilityLabel(shellWords.sun)
                        .accessibilityAddTraits(sun ? [.isToggle, .isSelected] : .isToggle)
                }
            }
            if let undo = screen.undo {
                Text(undo).second(.medium).underline()
                    .push { model.tell(.undo) }
                    .buttonStyle(Ground(side: Looks.small))
                    .keyboardShortcut("z", modifiers: .command)
                    .frame(maxWidth: .infinity, alignment: .trailing)
            }
            Rectangle().fill(looks.ink).frame(height: 2)
        }
        .padding(.top, 6)
    }
}
