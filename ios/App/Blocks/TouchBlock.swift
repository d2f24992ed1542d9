// A drawing to touch: a loupe above the thumb while it is down, the place in words, and nine
// zones by name for who can't see or aim.
import ChalkfaceKit
import SwiftUI

struct TouchBlock: View {
    let block: BlockModel
    @Environment(\.looks) private var looks
    @Environment(\.accessibilityVoiceOverEnabled) private var reader
    @State private var open = false

    var body: some View {
        let part = block.part
        VStack(alignment: .leading, spacing: Looks.small) {
            HStack {
                SaidHead(part: part).line()
                Text(shellWords.zones).running()
                    .push { open.toggle() }
                    .foregroundStyle(looks.press)
                    .buttonStyle(Ground(side: Looks.small))
            }
            if open || reader { Options(block: block, chosen: nil) }
            if let scene = part.scene {
                SceneView(
                    scene: scene, label: together(part.name, part.says), places: part.options,
                    touched: { block.touch(xMm: $0, yMm: $1) }, chose: { block.choose($0) })
            }
        }
    }
}
