// Rows of figures under columns. Where that is wider than there is room for, each row stands by itself:
// its name, and under it every figure behind its column's name, so that nothing lies out of sight.
package chalkface.app.blocks

import android.annotation.SuppressLint
import android.text.Layout
import android.text.SpannableString
import android.text.Spanned
import android.text.TextPaint
import android.text.style.ForegroundColorSpan
import android.view.View
import android.view.ViewGroup
import android.view.accessibility.AccessibilityNodeInfo
import android.widget.LinearLayout
import android.widget.TableLayout
import android.widget.TableRow
import android.widget.TextView
import chalkface.Part
import chalkface.Row
import chalkface.app.Ground
import chalkface.app.Looks
import kotlin.math.ceil

class TableBlock(stage: Stage) : Block(stage) {
    private var drawn: Part? = null
    override val view = Fits(looks) { wide -> drawn?.let { if (natural(it) <= wide) table(it) else rows(it) } }

    override fun show(part: Part, upto: Long) {
        view.keyed(part.key)
        val before = drawn
        if (before != null && before.rows == part.rows && before.columns == part.columns) return
        drawn = part
        view.anew()
    }

    /** How wide the table would be. */
    private fun natural(part: Part): Int {
        val (head, first, plain) = listOf(cell("", true, false), cell("", false, true), cell("", false, false)).map { it.paint }
        fun wide(text: CharSequence, paint: TextPaint) = minOf(widest, ceil(Layout.getDesiredWidth(text, paint)).toInt())
        return part.columns.withIndex().sumOf { (n, column) ->
            val cells = part.rows.map { if (n == 0) wide(name(it), first) else wide(it.cells.getOrElse(n - 1) { "" }, plain) }
            maxOf(wide(column, head), cells.maxOrNull() ?: 0) + looks.dp(BETWEEN_DP)
        }
    }

    private fun name(row: Row) = Tag.behind(row.name, row.detail, looks)

    private fun table(part: Part): View {
        val table = TableLayout(looks.context)
        counted(table, part.name, part.rows.size + 1, part.columns.size)
        val heads = part.columns.map { cell(it, head = true, first = false) }
        // Each figure is read with its column's name.
        heads.drop(1).forEach { it.silent() }
        table.addView(line(heads, head = true))
        for (row in part.rows) {
            val cells = row.cells.zip(said(part, row.cells)).map { (cell, said) ->
                cell(cell, head = false, first = false).apply { contentDescription = said.takeIf { cell.isNotEmpty() } }
            }
            table.addView(line(listOf(cell(name(row), head = false, first = true)) + cells, head = false))
        }
        return table
    }

    private fun said(part: Part, cells: List<String>) = part.columns.drop(1).zip(cells).map { (column, cell) -> "$column: $cell" }

    private fun counted(view: View, name: String, rows: Int, columns: Int) {
        view.contentDescription = name
        view.accessibilityDelegate = object : View.AccessibilityDelegate() {
            override fun onInitializeAccessibilityNodeInfo(host: View, info: AccessibilityNodeInfo) {
                super.onInitializeAccessibilityNodeInfo(host, info)
                info.setCollectionInfo(AccessibilityNodeInfo.CollectionInfo.obtain(rows, columns, false))
            }
        }
    }

    private fun ground(head: Boolean) =
        Ground(looks, fill = null, edge = if (head) colours.ink else colours.grid, width = if (head) 2f else 1f, under = true)

    private fun line(cells: List<TextView>, head: Boolean) = TableRow(looks.context).apply {
        background = ground(head)
        cells.forEach(::addView)
    }

    // Larger text has wider columns, not longer ones.
    private val widest = (looks.dp(WIDEST_DP) * maxOf(1f, looks.context.resources.configuration.fontScale)).toInt()

    private fun cell(of: CharSequence, head: Boolean, first: Boolean): TextView {
        val size = if (head) Looks.SECOND else Looks.RUNNING
        val cell = looks.text(size, if (head || first) 500 else 400, if (head) colours.muted else colours.ink)
        cell.text = of
        cell.maxWidth = widest + looks.dp(BETWEEN_DP)
        cell.setPaddingRelative(0, looks.dp(6), looks.dp(BETWEEN_DP), looks.dp(6))
        cell.gravity = android.view.Gravity.TOP or android.view.Gravity.START
        return cell
    }

    private fun rows(part: Part): View {
        val rows = column()
        counted(rows, part.name, part.rows.size, 1)
        val head = cell(part.columns.firstOrNull().orEmpty(), head = true, first = true)
        head.background = ground(head = true)
        if (head.text.isNotEmpty()) rows.addView(head, LinearLayout.LayoutParams(MATCH, WRAP))
        for (row in part.rows) {
            val one = column()
            one.background = ground(head = false)
            one.setPaddingRelative(0, looks.dp(6), 0, looks.dp(6))
            one.addView(looks.text(weight = 500).apply { text = name(row) })
            for ((figure, cell) in said(part, row.cells).zip(row.cells)) {
                if (cell.isEmpty()) continue
                val text = SpannableString(figure)
                text.setSpan(ForegroundColorSpan(colours.muted), 0, figure.length - cell.length, Spanned.SPAN_EXCLUSIVE_EXCLUSIVE)
                one.addView(looks.text().apply { this.text = text })
            }
            rows.addView(one)
        }
        return rows
    }

    private companion object {
        const val WIDEST_DP = 220
        const val BETWEEN_DP = 12
    }
}

/** One view, made for the width that there is. */
@SuppressLint("ViewConstructor")
class Fits(looks: Looks, private val make: (Int) -> View?) : ViewGroup(looks.context) {
    private var made = NONE

    fun anew() {
        made = NONE
        requestLayout()
    }

    override fun onMeasure(widthSpec: Int, heightSpec: Int) {
        val wide = MeasureSpec.getSize(widthSpec)
        if (made != wide) {
            removeAllViewsInLayout()
            make(wide)?.let { addViewInLayout(it, 0, LayoutParams(MATCH, WRAP), true) }
            made = wide
        }
        val free = MeasureSpec.makeMeasureSpec(0, MeasureSpec.UNSPECIFIED)
        val view: View? = getChildAt(0)
        view?.measure(MeasureSpec.makeMeasureSpec(wide, MeasureSpec.EXACTLY), free)
        setMeasuredDimension(wide, view?.measuredHeight ?: 0)
    }

    override fun onLayout(changed: Boolean, left: Int, top: Int, right: Int, bottom: Int) {
        val view: View? = getChildAt(0)
        view?.layout(0, 0, right - left, bottom - top)
    }

    private companion object {
        const val NONE = -1
    }
}
