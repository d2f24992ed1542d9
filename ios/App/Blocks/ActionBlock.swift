// Something to press: filled, with an edge, as a line with an arrow, or with a broken edge of
// what takes something away.
import ChalkfaceKit
import SwiftUI

struct ActionBlock: View {
    let block: BlockModel
    @Environment(\.looks) private var looks

    var body: some View {
        let part = block.part
        let (main, way, takes) = (part.look == "main", part.look == "way", part.look == "takes")
        Button(role: takes ? .destructive : nil, action: block.press) {
            HStack(spacing: Looks.small) {
                VStack(alignment: main ? .center : .leading, spacing: 0) {
                    Text(part.name).running(main || way ? .semibold : .medium)
                    if !part.hint.isEmpty {
                        Text(part.hint).second().foregroundStyle(main ? looks.onPress : looks.muted)
                    }
                }
                .multilineTextAlignment(main ? .center : .leading)
                .frame(maxWidth: .infinity, alignment: main ? .center : .leading)
                if way { Image(systemName: "chevron.forward").second().foregroundStyle(looks.muted) }
            }
        }
        .foregroundStyle(main ? looks.onPress : takes ? looks.flag : looks.ink)
        .buttonStyle(
            Ground(
                fill: main ? looks.press : nil, edge: main || way ? nil : takes ? looks.flag : looks.line, dashed: takes,
                side: way ? Looks.tiny : 14)
        )
        .underlined(way ? looks.grid : .clear)
    }
}
