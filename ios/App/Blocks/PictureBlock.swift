// A picture with points to drag: a loupe above the thumb while one moves; a point that is only
// pressed is chosen.
import ChalkfaceKit
import SwiftUI

struct PictureBlock: View {
    let block: BlockModel

    var body: some View {
        VStack(alignment: .leading, spacing: Looks.tiny) {
            SaidHead(part: block.part)
            if block.part.amount.count == 6 { PictureView(block: block) }
        }
        .task(id: block.part.picture) { await block.look() }
    }
}
