// One of a few: buttons in a row that breaks; the chosen one has a tick and a heavier edge.
package chalkface.app.blocks

import android.widget.LinearLayout
import chalkface.Event
import chalkface.Part

class ChoiceBlock(stage: Stage) : Block(stage) {
    private val name = looks.text(weight = 600)
    private val options = Options(stage)
    override val view = column().apply {
        addView(name)
        addView(options.view, LinearLayout.LayoutParams(MATCH, WRAP).apply { topMargin = looks.tiny })
    }
    override val above get() = looks.dp(12)

    override fun show(part: Part, upto: Long) {
        view.keyed(part.key)
        name.line(part.name)
        options.show(part.key, part.options, part.chosen)
    }
}
