// Something to press: filled, with an edge, as a line with an arrow, or with a broken edge of
// what takes something away.
package chalkface.app.blocks

import android.view.Gravity
import android.widget.LinearLayout
import chalkface.Event
import chalkface.Part
import chalkface.app.Ground
import chalkface.app.Looks

class ActionBlock(stage: Stage) : Block(stage) {
    private val name = looks.text(weight = 500).apply { silent() }
    private val hint = looks.text(Looks.SECOND, colour = colours.muted).apply { silent() }
    private val words = column().apply { addView(name); addView(hint) }
    private val arrow = Arrow(looks)
    override val view = line().apply {
        addView(words, LinearLayout.LayoutParams(0, WRAP, 1f))
        addView(arrow, LinearLayout.LayoutParams(looks.dp(20), looks.dp(20)))
    }
    private var look = ""
    override val above get() = if (look == "way") 0 else looks.small

    override fun show(part: Part, upto: Long) {
        if (look != part.look) dress(part)
        name.line(part.name)
        hint.line(part.hint)
        view.keyed(part.key).named(part.name, part.hint)
    }

    private fun dress(part: Part) {
        look = part.look
        val ground = when (look) {
            "main" -> Ground(looks, colours.press, null, pressed = colours.ink)
            "way" -> Ground(looks, null, colours.grid, width = 1f, under = true)
            "takes" -> Ground(looks, edge = colours.flag, dashed = true)
            else -> Ground(looks)
        }
        view.pressed(looks, ground) { stage.tell(Event.Press(part.key)) }
        val main = look == "main"
        name.typeface = looks.face(if (main || look == "way") Looks.STRONG else 500)
        name.setTextColor(if (main) colours.onPress else if (look == "takes") colours.flag else colours.ink)
        hint.setTextColor(if (main) colours.onPress else colours.muted)
        for (line in listOf(name, hint)) {
            line.gravity = if (main) Gravity.CENTER else Gravity.START
            line.textAlignment =
                if (main) android.view.View.TEXT_ALIGNMENT_CENTER else android.view.View.TEXT_ALIGNMENT_VIEW_START
        }
        arrow.visibility = if (look == "way") android.view.View.VISIBLE else android.view.View.GONE
        val side = if (look == "way") looks.tiny else looks.dp(14)
        view.setPaddingRelative(side, looks.small, side, looks.small)
    }
}
