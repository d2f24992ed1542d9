// A drawing to read, as wide as its column.
package chalkface.app.blocks

import chalkface.Part
import chalkface.app.SceneView

class ChartBlock(stage: Stage) : Block(stage) {
    override val view = SceneView(looks)
    override val above get() = looks.gap

    override fun show(part: Part, upto: Long) {
        view.keyed(part.key).scene = part.scene
    }
}
