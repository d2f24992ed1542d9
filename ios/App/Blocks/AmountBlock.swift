// An amount: name and value over a slider of full width; the value answers while it is moved.
import ChalkfaceKit
import SwiftUI

struct AmountBlock: View {
    let block: BlockModel

    var body: some View {
        let part = block.part
        VStack(alignment: .leading, spacing: 0) {
            Flow {
                Text(part.name).running(.semibold)
                Text(part.says).running(.semibold).monospacedDigit()
            }
            .accessibilityHidden(true)
            if part.amount.count == 4, part.amount[1] < part.amount[2] {
                Slider(
                    value: Binding(get: { block.value }, set: { block.slide(near: $0) }), in: part.amount[1]...part.amount[2],
                    step: part.amount[3]
                ) {
                    Text(part.name)
                } onEditingChanged: { held in
                    block.hold(held)
                }
                .frame(minHeight: Looks.touch)
                .accessibilityValue(part.says)
            }
        }
        .padding(.top, Looks.tiny)
    }
}
