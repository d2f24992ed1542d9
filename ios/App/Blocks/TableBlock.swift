// Rows of figures under columns. Where it is wider than its column it can be moved sideways.
import ChalkfaceKit
import SwiftUI

struct TableBlock: View {
    let block: BlockModel
    @Environment(\.looks) private var looks

    var body: some View {
        let part = block.part
        ScrollView(.horizontal) {
            Grid(alignment: .topLeading, horizontalSpacing: 12, verticalSpacing: 6) {
                GridRow { ForEach(Array(part.columns.enumerated()), id: \.offset) { Text($0.element).second(.medium) } }
                    .foregroundStyle(looks.muted)
                Rectangle().fill(looks.ink).frame(height: 2)
                ForEach(Array(part.rows.enumerated()), id: \.offset) { row in
                    GridRow {
                        Tagged(text: row.element.name, word: row.element.detail).running(.medium).frame(maxWidth: 220)
                        ForEach(Array(row.element.cells.enumerated()), id: \.offset) { cell in
                            Text(cell.element).running().monospacedDigit()
                                .accessibilityLabel(part.said(cell.element, column: cell.offset + 1))
                        }
                    }
                    Rectangle().fill(looks.grid).frame(height: 1)
                }
            }
        }
        .accessibilityElement(children: .contain)
        .accessibilityLabel(part.name)
    }
}
