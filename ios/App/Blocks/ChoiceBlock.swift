// One of a few.
import ChalkfaceKit
import SwiftUI

struct ChoiceBlock: View {
    let block: BlockModel

    var body: some View {
        VStack(alignment: .leading, spacing: Looks.tiny) {
            Text(block.part.name).running(.semibold)
            Options(block: block, chosen: block.part.chosen)
        }
        .padding(.top, Looks.tiny)
        .accessibilityElement(children: .contain)
    }
}
