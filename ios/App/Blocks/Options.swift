// Buttons of which one may be chosen: in a row that breaks; the chosen one has a tick and a heavier edge.
import ChalkfaceKit
import SwiftUI

struct Options: View {
    let block: BlockModel
    let chosen: String?
    @Environment(\.looks) private var looks

    var body: some View {
        Flow {
            ForEach(block.part.options, id: \.key) { option in
                let on = option.key == chosen
                Text(on ? "✓ \(option.name)" : option.name).running(on ? .semibold : .regular)
                    .push { block.choose(option.key) }.buttonStyle(
                        Ground(fill: on ? looks.held : nil, edge: on ? looks.press : looks.line, width: on ? 3 : 2)
                    )
                    .accessibilityLabel(option.name)
                    .accessibilityAddTraits(on ? .isSelected : [])
            }
        }
    }
}
