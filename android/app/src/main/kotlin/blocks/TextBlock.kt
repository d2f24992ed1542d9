// A paragraph. What is computed or assumed says so in a word behind it.
package chalkface.app.blocks

import android.graphics.Typeface
import chalkface.Part

class TextBlock(stage: Stage) : Block(stage) {
    override val view = looks.text()

    override fun show(part: Part, upto: Long) {
        val assumed = part.look == "assumed"
        view.setTextColor(if (assumed) colours.muted else colours.ink)
        view.setTypeface(looks.face(400), if (assumed) Typeface.ITALIC else Typeface.NORMAL)
        view.keyed(part.key).line(Tag.behind(part.text, part.hint, looks))
    }
}
