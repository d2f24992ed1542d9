// A list: name, second line, a figure at the end; attention as a triangle with its reason in words.
// Further rows come when they are asked for.
import ChalkfaceKit
import SwiftUI

struct RowsBlock: View {
    let block: BlockModel
    @Environment(\.looks) private var looks

    var body: some View {
        let part = block.part
        let rows = part.rows + block.further
        LazyVStack(alignment: .leading, spacing: 0) {
            if !part.name.isEmpty {
                Tagged(text: part.name, word: part.count > 0 ? "\(part.count)" : "").heading()
                    .accessibilityAddTraits(.isHeader)
            }
            if !part.hint.isEmpty { Text(part.hint).running().foregroundStyle(looks.muted).line() }
            ForEach(rows, id: \.key) { row in
                line(row).push { block.open(row) }.buttonStyle(Ground(side: Looks.tiny)).underlined(looks.grid)
            }
            if !part.says.isEmpty && UInt64(rows.count) < part.count {
                Text(part.says).running().frame(maxWidth: .infinity)
                    .push { Task { await block.more() } }
                    .buttonStyle(Ground(edge: looks.line))
                    .padding(.top, Looks.small)
            }
        }
        .padding(.top, Looks.small)
    }

    private func line(_ row: Row) -> some View {
        HStack(spacing: Looks.gap) {
            VStack(alignment: .leading, spacing: 0) {
                Text(row.name).running(.semibold)
                if !row.detail.isEmpty { Text(row.detail).second().foregroundStyle(looks.muted) }
                if !row.flag.isEmpty { Text("▲ \(row.flag)").second(.semibold).foregroundStyle(looks.flag) }
            }
            .multilineTextAlignment(.leading)
            .line()
            if !row.figure.isEmpty { Text(row.figure).running().monospacedDigit().frame(maxWidth: 140, alignment: .trailing) }
        }
    }
}
