// What happened: an edge of its kind, its sign first, a cross to put it away. It covers nothing.
package chalkface.app

import android.view.Gravity
import android.view.View
import android.widget.LinearLayout
import chalkface.Event
import chalkface.Notice
import chalkface.app.blocks.Cross
import chalkface.app.blocks.MATCH
import chalkface.app.blocks.Stage
import chalkface.app.blocks.WRAP
import chalkface.app.blocks.keyed
import chalkface.app.blocks.named
import chalkface.app.blocks.pressed
import chalkface.app.blocks.silent

class NoticesView(private val stage: Stage) {
    private val looks = stage.looks
    private var shown: List<Notice> = emptyList()
    val view = LinearLayout(looks.context).apply { orientation = LinearLayout.VERTICAL }

    /** Shows them; answers whether there is a new one. */
    fun show(notices: List<Notice>): Boolean {
        if (notices == shown) return false
        val known = shown.mapTo(HashSet()) { it.id }
        shown = notices
        view.removeAllViews()
        for (notice in notices) {
            view.addView(bar(notice), LinearLayout.LayoutParams(MATCH, WRAP).apply { topMargin = looks.small })
        }
        return notices.any { it.id !in known }
    }

    private fun bar(notice: Notice): View {
        val edge = if (notice.problem) looks.colours.flag else looks.colours.done
        val bar = LinearLayout(looks.context).apply {
            gravity = Gravity.CENTER_VERTICAL
            background = Ground(looks, looks.colours.surface, edge, bar = 8f)
            setPaddingRelative(looks.dp(20), 0, 0, 0)
        }
        val sign = looks.text(weight = 700, colour = edge).apply { text = if (notice.problem) "!" else "✓"; silent() }
        val text = looks.text().keyed("notice.${notice.id}").apply { text = notice.text }
        text.setPaddingRelative(looks.dp(12), looks.small, 0, looks.small)
        val away = Cross(looks).keyed("away.${notice.id}")
        away.pressed(looks, Ground(looks, null, null)) { stage.tell(Event.Dismiss(notice.id)) }
        away.named(stage.words.away)
        bar.addView(sign)
        bar.addView(text, LinearLayout.LayoutParams(0, WRAP, 1f))
        bar.addView(away)
        return bar
    }
}
