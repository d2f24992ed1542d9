// The main places: a bar at the bottom, on wide screens at the top. Where one is: heavier, with a bar.
package chalkface.app

import android.graphics.Canvas
import android.graphics.ColorFilter
import android.graphics.Paint
import android.graphics.PixelFormat
import android.graphics.drawable.Drawable
import android.text.TextPaint
import android.view.Gravity
import android.view.View
import android.view.accessibility.AccessibilityNodeInfo
import android.widget.FrameLayout
import android.widget.LinearLayout
import android.widget.TextView
import chalkface.Event
import chalkface.Tab
import chalkface.app.blocks.MATCH
import chalkface.app.blocks.Stage
import chalkface.app.blocks.WRAP
import chalkface.app.blocks.keyed
import chalkface.app.blocks.named
import chalkface.app.blocks.pressed

class TabsBar(private val stage: Stage) {
    private val looks = stage.looks
    private val wide = looks.isWide
    private val row = LinearLayout(looks.context)
    private var shown: List<Tab> = emptyList()
    val view = FrameLayout(looks.context).apply {
        contentDescription = stage.words.places
        setBackgroundColor(looks.colours.paper)
        foreground = Rule(looks, wide)
        // A line is kept for the rule, so that nothing covers it.
        setPadding(0, if (wide) 0 else looks.dp(2), 0, if (wide) looks.dp(1) else 0)
        addView(row, FrameLayout.LayoutParams(if (wide) WRAP else MATCH, WRAP, if (wide) Gravity.START else Gravity.CENTER_HORIZONTAL))
    }

    fun show(tabs: List<Tab>) {
        if (tabs == shown) return
        val keys = shown.map { it.key }
        shown = tabs
        view.visibility = if (tabs.isEmpty()) View.GONE else View.VISIBLE
        if (keys != tabs.map { it.key }) {
            row.removeAllViews()
            for (tab in tabs) row.addView(looks.text().keyed("tab.${tab.key}"), LinearLayout.LayoutParams(if (wide) WRAP else 0, MATCH, if (wide) 0f else 1f))
        }
        for ((n, tab) in tabs.withIndex()) dress(row.getChildAt(n) as TextView, tab)
        if (!wide) share()
    }

    /** All places have as much of the bar; where a word would be broken then, as much as their longest word. */
    private fun share() {
        val buttons = (0 until row.childCount).map { row.getChildAt(it) as TextView }
        val words = buttons.map { button ->
            val bold = TextPaint(button.paint).apply { typeface = looks.face(700) }
            button.text.split(' ').maxOf(bold::measureText) + button.paddingLeft + button.paddingRight
        }
        val equal = looks.context.resources.displayMetrics.widthPixels / maxOf(1, buttons.size)
        for ((button, word) in buttons.zip(words)) {
            (button.layoutParams as LinearLayout.LayoutParams).weight = if (words.all { it <= equal }) 1f else word
        }
    }

    private fun dress(button: TextView, tab: Tab) {
        button.pressed(looks, Ground(looks, null, null, round = 0f), "android.widget.Button") { stage.tell(Event.Go(tab.key)) }
        button.minimumHeight = looks.dp(56)
        button.gravity = Gravity.CENTER
        button.textAlignment = View.TEXT_ALIGNMENT_CENTER
        val side = if (wide) looks.gap + looks.small else looks.tiny
        button.setPadding(side, looks.small, side, looks.small)
        button.text = tab.name
        button.typeface = looks.face(if (tab.here) 700 else 400)
        button.foreground = if (tab.here) Here(looks, wide) else null
        button.isSelected = tab.here
        button.named(tab.name)
    }
}

/** The bar of where one is: toward the screen's middle. */
private class Here(private val looks: Looks, private val below: Boolean) : Plain() {
    override fun draw(canvas: Canvas) {
        paint.color = looks.colours.press
        val high = looks.exact(4f)
        val top = if (below) bounds.bottom - high else bounds.top.toFloat()
        canvas.drawRect(bounds.left.toFloat(), top, bounds.right.toFloat(), top + high, paint)
    }
}

private class Rule(private val looks: Looks, private val below: Boolean) : Plain() {
    override fun draw(canvas: Canvas) {
        paint.color = if (below) looks.colours.grid else looks.colours.ink
        val high = looks.exact(if (below) 1f else 2f)
        val top = if (below) bounds.bottom - high else bounds.top.toFloat()
        canvas.drawRect(bounds.left.toFloat(), top, bounds.right.toFloat(), top + high, paint)
    }
}

private abstract class Plain : Drawable() {
    protected val paint = Paint()

    override fun setAlpha(alpha: Int) = Unit

    override fun setColorFilter(filter: ColorFilter?) = Unit

    @Deprecated("asked for by older systems")
    override fun getOpacity() = PixelFormat.TRANSLUCENT
}
