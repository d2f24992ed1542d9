// Lines of a list, or steps in their order, counted from 1.
import ChalkfaceKit
import SwiftUI

struct ItemsBlock: View {
    let block: BlockModel
    let numbered: Bool
    @Environment(\.looks) private var looks

    var body: some View {
        VStack(alignment: .leading, spacing: Looks.tiny) {
            ForEach(Array(block.part.columns.enumerated()), id: \.offset) { line in
                HStack(alignment: .firstTextBaseline, spacing: Looks.small) {
                    Text(numbered ? "\(line.offset + 1)." : "•").running().foregroundStyle(looks.muted)
                        .frame(minWidth: 24, alignment: .leading)
                        .accessibilityHidden(!numbered)
                    Text(line.element).running().line()
                }
                .accessibilityElement(children: .combine)
            }
        }
    }
}
