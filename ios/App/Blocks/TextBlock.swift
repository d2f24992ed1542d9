// A paragraph. What is computed or assumed says so in a word behind it.
import ChalkfaceKit
import SwiftUI

struct TextBlock: View {
    let block: BlockModel
    @Environment(\.looks) private var looks

    var body: some View {
        let assumed = block.part.look == "assumed"
        Tagged(text: block.part.text, word: block.part.hint).running().italic(assumed)
            .foregroundStyle(assumed ? looks.muted : looks.ink)
            .line()
    }
}
