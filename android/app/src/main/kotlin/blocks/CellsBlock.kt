// A grid of cells. Left is left in every language; the chosen one is filled and has a dot.
package chalkface.app.blocks

import android.view.Gravity
import android.view.View
import android.widget.LinearLayout
import android.widget.TextView
import chalkface.Choosable
import chalkface.Event
import chalkface.Part
import chalkface.app.Ground
import chalkface.app.Looks

class CellsBlock(stage: Stage) : Block(stage) {
    private val says = looks.text(Looks.HEADING, Looks.STRONG)
    private val grid = column().apply { layoutDirection = View.LAYOUT_DIRECTION_LTR }
    private val cells = LinkedHashMap<String, TextView>()
    private var drawn: Pair<List<String>, List<String>>? = null
    override val above get() = looks.dp(12)
    override val view = column().apply {
        addView(says)
        addView(grid, LinearLayout.LayoutParams(MATCH, WRAP).apply { topMargin = looks.tiny })
    }

    override fun show(part: Part, upto: Long) {
        view.keyed(part.key)
        says.line(part.says.ifEmpty { part.name })
        says.named(part.name, part.says)
        val shape = part.columns to part.options.map { it.key } + part.names
        if (drawn != shape) {
            drawn = shape
            build(part)
        }
        for (cell in part.options) cells[cell.key]?.let { dress(it, part.key, cell, cell.key == part.chosen) }
    }

    private fun build(part: Part) {
        grid.removeAllViews()
        cells.clear()
        val head = line()
        head.addView(View(looks.context), LinearLayout.LayoutParams(0, 1, NAMES))
        for (column in part.columns) head.addView(small(column, Gravity.CENTER), share())
        grid.addView(head)
        val wide = maxOf(1, part.columns.size)
        for ((name, row) in part.names.zip(part.options.chunked(wide))) {
            val line = line()
            line.addView(small(name, Gravity.END), LinearLayout.LayoutParams(0, WRAP, NAMES).apply { marginEnd = looks.tiny })
            for (cell in row) {
                val view = looks.text().apply { gravity = Gravity.CENTER; textAlignment = View.TEXT_ALIGNMENT_CENTER }
                cells[cell.key] = view.keyed("${part.key}/${cell.key}")
                line.addView(view, share().apply { height = looks.touch })
            }
            grid.addView(line)
        }
    }

    private fun share() = LinearLayout.LayoutParams(0, WRAP, 1f).apply { setMargins(looks.dp(1), looks.dp(1), looks.dp(1), looks.dp(1)) }

    /** A name at the grid's edge. Cells say theirs in full. */
    private fun small(name: String, at: Int) = looks.text(SMALL, 600, colours.muted).apply {
        text = name
        // A word is never broken.
        maxLines = name.split(' ').size
        hyphenationFrequency = android.text.Layout.HYPHENATION_FREQUENCY_NONE
        gravity = at or Gravity.CENTER_VERTICAL
        textAlignment = if (at == Gravity.END) View.TEXT_ALIGNMENT_VIEW_END else View.TEXT_ALIGNMENT_CENTER
        // As large as there is room for: every cell says its name in full, and the chosen one stands above.
        setAutoSizeTextTypeUniformWithConfiguration(8, 26, 1, android.util.TypedValue.COMPLEX_UNIT_DIP)
        silent()
    }

    private fun dress(cell: TextView, key: String, of: Choosable, chosen: Boolean) {
        val ground = if (chosen) Ground(looks, colours.press, colours.press, round = 4f) else Ground(looks, colours.surface, round = 4f)
        cell.pressed(looks, ground, "android.widget.RadioButton", { chosen }) { stage.tell(Event.Choose(key, of.key)) }
        cell.minimumWidth = 0
        cell.setTextColor(colours.onPress)
        cell.text = if (chosen) "●" else ""
        cell.named(of.name)
    }

    private companion object {
        const val SMALL = 13f

        /** The share of the row that names take, where a cell takes one. */
        const val NAMES = 1.3f
    }
}
