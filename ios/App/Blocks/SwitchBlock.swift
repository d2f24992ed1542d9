// Yes or no: the whole row is the target; the knob moves in 0.12 s.
import ChalkfaceKit
import SwiftUI

struct SwitchBlock: View {
    let block: BlockModel
    @Environment(\.looks) private var looks
    @Environment(\.accessibilityReduceMotion) private var still

    var body: some View {
        let part = block.part
        Button(action: block.flip) {
            HStack(spacing: 14) {
                knob(part.on)
                VStack(alignment: .leading, spacing: 0) {
                    Text(part.name).running()
                    if !part.hint.isEmpty { Text(part.hint).second().foregroundStyle(looks.muted) }
                }
                .multilineTextAlignment(.leading)
                .line()
            }
        }
        .buttonStyle(Ground(edge: looks.line))
        .accessibilityAddTraits(part.on ? [.isToggle, .isSelected] : .isToggle)
    }

    private func knob(_ on: Bool) -> some View {
        Capsule().fill(on ? looks.press : looks.surface)
            .overlay(Capsule().strokeBorder(on ? looks.press : looks.line, style: StrokeStyle(lineWidth: 2)))
            .frame(width: 48, height: 28)
            .overlay(alignment: on ? .trailing : .leading) {
                Circle().fill(on ? looks.onPress : looks.muted).frame(width: 16, height: 16).padding(6)
            }
            .animation(still ? nil : .linear(duration: 0.12), value: on)
            .accessibilityHidden(true)
    }
}
