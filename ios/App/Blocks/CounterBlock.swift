// A big counter: the whole field counts one more.
import ChalkfaceKit
import SwiftUI

struct CounterBlock: View {
    let block: BlockModel
    @Environment(\.looks) private var looks

    var body: some View {
        let part = block.part
        VStack(spacing: Looks.tiny) {
            Button(action: block.press) {
                VStack(spacing: 0) {
                    Text("\(part.count)").number()
                    if !part.unit.isEmpty { Text(part.unit).running().foregroundStyle(looks.muted) }
                    Text(part.name).running()
                }
                .frame(maxWidth: .infinity)
            }
            .buttonStyle(Ground(edge: looks.press, width: 3, high: 112))
            .accessibilityLabel(part.name)
            .accessibilityValue(part.says)
            if !part.says.isEmpty { Text(part.says).running(.semibold).accessibilityHidden(true) }
        }
    }
}
