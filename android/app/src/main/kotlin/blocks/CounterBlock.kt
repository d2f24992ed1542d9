// A big counter: the whole field counts one more.
package chalkface.app.blocks

import android.view.Gravity
import android.view.View
import android.widget.LinearLayout
import android.widget.TextView
import chalkface.Event
import chalkface.Part
import chalkface.app.Ground
import chalkface.app.Looks

class CounterBlock(stage: Stage) : Block(stage) {
    private val count = centred(looks.text(Looks.NUMBER, 700)).apply { fontFeatureSettings = "tnum" }
    private val of = centred(looks.text(colour = colours.muted))
    private val name = centred(looks.text())
    private val says = centred(looks.text(weight = 600))
    private val field = column().apply {
        gravity = Gravity.CENTER
        minimumHeight = looks.dp(112)
        setPaddingRelative(looks.dp(14), looks.small, looks.dp(14), looks.small)
        for (line in listOf(count, of, name)) addView(line.apply { silent() }, LinearLayout.LayoutParams(MATCH, WRAP))
    }
    private var key = ""
    override val view = column().apply {
        addView(field, LinearLayout.LayoutParams(MATCH, WRAP))
        addView(says, LinearLayout.LayoutParams(MATCH, WRAP).apply { topMargin = looks.tiny })
    }

    private fun centred(text: TextView) = text.apply {
        gravity = Gravity.CENTER
        textAlignment = View.TEXT_ALIGNMENT_CENTER
    }

    override fun show(part: Part, upto: Long) {
        if (key != part.key) {
            key = part.key
            val ground = Ground(looks, edge = colours.press, width = 3f)
            field.pressed(looks, ground) { stage.tell(Event.Press(part.key)) }
            field.minimumHeight = looks.dp(112)
        }
        view.keyed("${part.key}.block")
        field.keyed(part.key).named(part.name, part.says)
        count.line(part.count.toString())
        of.line(part.unit)
        name.line(part.name)
        says.line(part.says)
    }
}
