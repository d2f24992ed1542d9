// A part as the view of its kind. A kind without a view does not compile.
import ChalkfaceKit
import SwiftUI

struct BlockView: View {
    let block: BlockModel

    var body: some View {
        switch block.part.kind {
        case .heading: HeadingBlock(block: block)
        case .text: TextBlock(block: block)
        case .table: TableBlock(block: block)
        case .chart: ChartBlock(block: block)
        case .items: ItemsBlock(block: block, numbered: false)
        case .steps: ItemsBlock(block: block, numbered: true)
        case .caution: CautionBlock(block: block)
        case .action: ActionBlock(block: block)
        case .choice: ChoiceBlock(block: block)
        case .switch: SwitchBlock(block: block)
        case .field: FieldBlock(block: block)
        case .amount: AmountBlock(block: block)
        case .touch: TouchBlock(block: block)
        case .picture: PictureBlock(block: block)
        case .cells: CellsBlock(block: block)
        case .counter: CounterBlock(block: block)
        case .clock: ClockBlock(block: block)
        case .rows: RowsBlock(block: block)
        }
    }
}

/// The word for what is not plainly measured, in a broken frame behind the text.
struct Tagged: View {
    let text: String
    let word: String
    @Environment(\.looks) private var looks

    var body: some View {
        Flow(gap: 6) {
            Text(text)
            if !word.isEmpty {
                Text(word).small().foregroundStyle(looks.muted)
                    .padding(.horizontal, 6)
                    .overlay(Capsule().strokeBorder(looks.muted, style: StrokeStyle(lineWidth: 1, dash: [3, 2])))
            }
        }
        .accessibilityElement(children: .combine)
    }
}

/// The value in words over what it is the value of.
struct SaidHead: View {
    let part: Part

    var body: some View {
        Text(part.says.isEmpty ? part.name : part.says).heading()
            .accessibilityLabel(together(part.name, part.says))
    }
}
