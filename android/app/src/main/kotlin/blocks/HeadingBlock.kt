// A heading over what follows.
package chalkface.app.blocks

import chalkface.Part
import chalkface.app.Looks
import chalkface.app.Newer

class HeadingBlock(stage: Stage) : Block(stage) {
    override val view = looks.text(Looks.HEADING, Looks.STRONG).apply {
        Newer.heading(this)
    }
    override val above get() = looks.gap + looks.small

    override fun show(part: Part, upto: Long) {
        view.keyed(part.key).line(part.text)
    }
}
