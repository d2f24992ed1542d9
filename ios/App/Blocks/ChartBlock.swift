// A drawing to read, as wide as its column.
import ChalkfaceKit
import SwiftUI

struct ChartBlock: View {
    let block: BlockModel

    var body: some View {
        if let scene = block.part.scene { SceneView(scene: scene, label: scene.title).padding(.top, Looks.small) }
    }
}
