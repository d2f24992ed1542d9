// What happened: an edge of its kind, its sign first, a cross to put it away. It covers nothing.
package chalkface.app

import android.graphics.Canvas
import android.graphics.Paint
import android.view.Gravity
import android.view.View
import android.widget.LinearLayout
import chalkface.Event
import chalkface.Notice
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

private class Cross(private val looks: Looks) : View(looks.context) {
    private val paint = Paint(Paint.ANTI_ALIAS_FLAG).apply {
        color = looks.colours.ink
        strokeWidth = looks.exact(2f)
        strokeCap = Paint.Cap.ROUND
    }

    override fun onMeasure(widthSpec: Int, heightSpec: Int) = setMeasuredDimension(looks.touch, looks.touch)

    override fun onDraw(canvas: Canvas) {
        val reach = looks.exact(6f)
        val (x, y) = width / 2f to height / 2f
        canvas.drawLine(x - reach, y - reach, x + reach, y + reach, paint)
        canvas.drawLine(x - reach, y + reach, x + reach, y - reach, paint)
    }
}
