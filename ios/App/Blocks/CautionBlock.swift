// Something to be careful about: a bar at its start, its word first.
import ChalkfaceKit
import SwiftUI

struct CautionBlock: View {
    let block: BlockModel
    @Environment(\.looks) private var looks

    var body: some View {
        (Text(block.part.name).bold() + Text(" ") + Text(block.part.text)).running().line()
            .modifier(Bar(colour: looks.mind, ground: looks.surface))
    }
}
