// A grid of cells. Left is left in every language; the chosen one is filled and has a dot.
import ChalkfaceKit
import SwiftUI

struct CellsBlock: View {
    let block: BlockModel
    @Environment(\.looks) private var looks

    var body: some View {
        let part = block.part
        let wide = max(1, part.columns.count)
        VStack(alignment: .leading, spacing: Looks.tiny) {
            SaidHead(part: part)
            Grid(horizontalSpacing: 2, verticalSpacing: 2) {
                GridRow {
                    Text("")
                    ForEach(part.columns, id: \.self) { edge($0, .center) }
                }
                ForEach(Array(part.names.enumerated()), id: \.offset) { row in
                    GridRow {
                        edge(row.element, .trailing)
                        ForEach(part.options.dropFirst(row.offset * wide).prefix(wide), id: \.key) { cell($0) }
                    }
                }
            }
            .leftIsLeft()
        }
    }

    /// A name at the grid's edge, as large as there is room for: every cell says its own in full.
    private func edge(_ name: String, _ at: Alignment) -> some View {
        Text(name).small().foregroundStyle(looks.muted).minimumScaleFactor(0.5)
            .lineLimit(name.split(separator: " ").count)
            .frame(maxWidth: .infinity, alignment: at)
            .accessibilityHidden(true)
    }

    private func cell(_ of: Choosable) -> some View {
        let on = of.key == block.part.chosen
        return Text(on ? "●" : " ").running().frame(maxWidth: .infinity)
            .push { block.choose(of.key) }
            .foregroundStyle(looks.onPress)
            .buttonStyle(Ground(fill: on ? looks.press : looks.surface, edge: on ? looks.press : looks.line, round: 4, side: 0))
            .accessibilityLabel(of.name)
            .accessibilityAddTraits(on ? .isSelected : [])
    }
}
