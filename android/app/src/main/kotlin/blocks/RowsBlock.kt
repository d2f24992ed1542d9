// A list: name, second line, a figure at the end; what asks for attention has a triangle and its
// reason in words. Further rows come when they are asked for.
package chalkface.app.blocks

import android.view.View
import android.widget.LinearLayout
import chalkface.Event
import chalkface.Part
import chalkface.Row
import chalkface.app.Ground
import chalkface.app.Looks
import chalkface.app.Newer

class RowsBlock(stage: Stage) : Block(stage) {
    private val name = looks.text(Looks.HEADING, Looks.STRONG).apply {
        Newer.heading(this)
    }
    private val empty = looks.text()
    private val list = column()
    private val more = looks.text(weight = 500)
    private val known = LinkedHashMap<String, RowView>()
    private var first: List<Row> = emptyList()
    private var further: List<Row> = emptyList()
    private var total = 0UL
    override val above get() = looks.gap
    override val view = column().apply {
        addView(name)
        addView(empty)
        addView(list)
        addView(more, LinearLayout.LayoutParams(MATCH, WRAP).apply { topMargin = looks.small })
    }

    /** How many rows there are to see. */
    val size get() = known.size

    override fun show(part: Part, upto: Long) {
        view.keyed("${part.key}.block")
        // What was read further stays as long as the list is the same.
        if (part.rows != first || part.count != total) further = emptyList()
        first = part.rows
        total = part.count
        name.line(Tag.behind(part.name, if (total > 0UL) total.toString() else "", looks))
        name.named(part.name, if (total > 0UL) total.toString() else "")
        empty.line(part.hint)
        more.pressed(looks, Ground(looks)) { next(part.key) }
        more.setPaddingRelative(looks.dp(14), looks.small, looks.dp(14), looks.small)
        more.keyed("${part.key}.more").line(part.says)
        draw(part.key)
    }

    private fun next(key: String) {
        val last = (further.lastOrNull() ?: first.lastOrNull())?.key ?: return
        stage.rows(key, last, PAGE) { page ->
            if ((further.lastOrNull() ?: first.lastOrNull())?.key != last) return@rows
            further = further + page.rows
            total = page.total
            draw(key)
        }
    }

    private fun draw(key: String) {
        val rows = first + further
        val gone = known.keys - rows.mapTo(HashSet()) { it.key }
        gone.forEach { list.removeView(known.remove(it)?.view) }
        for ((n, row) in rows.withIndex()) {
            val made = known.getOrPut(row.key) { RowView(stage) }
            made.show(key, row)
            if (list.getChildAt(n) !== made.view) {
                list.removeView(made.view)
                list.addView(made.view, n, LinearLayout.LayoutParams(MATCH, WRAP))
            }
        }
        if (rows.size.toULong() >= total) more.visibility = View.GONE
    }

    private companion object {
        const val PAGE = 100
    }
}

/** One row. */
private class RowView(private val stage: Stage) {
    private val looks = stage.looks
    private val name = looks.text(weight = 600).apply { silent() }
    private val detail = looks.text(Looks.SECOND, colour = looks.colours.muted).apply { silent() }
    private val flag = looks.text(Looks.SECOND, 600, looks.colours.flag).apply { silent() }
    private val figure = looks.text().apply { silent(); fontFeatureSettings = "tnum" }
    private val words = LinearLayout(looks.context).apply { orientation = LinearLayout.VERTICAL }
    private var row: Row? = null
    val view = LinearLayout(looks.context).apply {
        orientation = LinearLayout.HORIZONTAL
        gravity = android.view.Gravity.CENTER_VERTICAL
        setPaddingRelative(looks.tiny, looks.small, looks.tiny, looks.small)
        words.addView(name)
        words.addView(detail)
        words.addView(flag)
        addView(words, LinearLayout.LayoutParams(0, WRAP, 1f))
        addView(figure, LinearLayout.LayoutParams(WRAP, WRAP).apply { marginStart = looks.gap })
    }

    fun show(key: String, of: Row) {
        if (of == row) return
        row = of
        view.pressed(looks, Ground(looks, null, looks.colours.grid, width = 1f, under = true)) {
            stage.tell(Event.Open(key, of.key))
        }
        name.line(of.name)
        detail.line(of.detail)
        flag.line(if (of.flag.isEmpty()) "" else "▲ ${of.flag}")
        figure.line(of.figure)
        figure.maxWidth = looks.dp(140)
        view.keyed("$key/${of.key}").named(of.name, of.detail, of.flag, of.figure)
    }
}
