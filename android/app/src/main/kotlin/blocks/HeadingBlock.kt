// A heading over what follows.
package chalkface.app.blocks

import android.os.Build
import chalkface.Part
import chalkface.app.Looks

class HeadingBlock(stage: Stage) : Block(stage) {
    override val view = looks.text(Looks.HEADING, Looks.STRONG).apply {
        if (Build.VERSION.SDK_INT >= 28) isAccessibilityHeading = true
    }
    override val above get() = looks.gap + looks.small

    override fun show(part: Part, upto: Long) {
        view.keyed(part.key).line(part.text)
    }
}
