// A heading over what follows.
import ChalkfaceKit
import SwiftUI

struct HeadingBlock: View {
    let block: BlockModel

    var body: some View {
        Text(block.part.text).heading().line().padding(.top, Looks.gap).accessibilityAddTraits(.isHeader)
    }
}
