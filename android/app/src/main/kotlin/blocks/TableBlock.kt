// Rows of figures under columns. Where that is wider than there is room for, each row stands by itself:
// its name, and under it every figure behind its column's name, so that nothing lies out of sight.
package chalkface.app.blocks

import android.annotation.SuppressLint
import android.text.SpannableString
import android.text.Spanned
import android.text.style.ForegroundColorSpan
import android.view.View
import android.view.ViewGroup
import android.view.accessibility.AccessibilityNodeInfo
import android.widget.LinearLayout
import android.widget.TableLayout
import android.widget.TableRow
import android.widget.TextView
import chalkface.Part
import chalkface.app.Ground
import chalkface.app.Looks

class TableBlock(stage: Stage) : Block(stage) {
    private val table = TableLayout(looks.context)
    private val rows = column()
    private var drawn: Part? = null
    override val view = Fits(looks, table, rows) { drawn?.let(::stack) }

    override fun show(part: Part, upto: Long) {
        view.keyed(part.key)
        val before = drawn
        if (before != null && before.rows == part.rows && before.columns == part.columns) return
        drawn = part
        table.removeAllViews()
        rows.removeAllViews()
        counted(table, part.name, part.rows.size + 1, part.columns.size)
        counted(rows, part.name, part.rows.size, 1)
        line(part.columns.map { it to it }, head = true)
        for (row in part.rows) {
            val name = Tag.behind(row.name, row.detail, looks)
            line(listOf(name to name) + row.cells.zip(said(part, row.cells)), head = false)
        }
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

    private fun line(cells: List<Pair<CharSequence, CharSequence>>, head: Boolean) {
        val row = TableRow(looks.context)
        row.background = ground(head)
        for ((n, cell) in cells.withIndex()) row.addView(cell(cell, head, first = n == 0))
        table.addView(row)
    }

    private fun cell(of: Pair<CharSequence, CharSequence>, head: Boolean, first: Boolean): TextView {
        val size = if (head) Looks.SECOND else Looks.RUNNING
        val cell = looks.text(size, if (head || first) 500 else 400, if (head) colours.muted else colours.ink)
        cell.text = of.first
        cell.contentDescription = of.second
        // Larger text has wider columns, not longer ones.
        cell.maxWidth = (looks.dp(WIDEST_DP) * maxOf(1f, looks.context.resources.configuration.fontScale)).toInt()
        cell.setPaddingRelative(0, looks.dp(6), looks.dp(12), looks.dp(6))
        cell.gravity = android.view.Gravity.TOP or android.view.Gravity.START
        return cell
    }

    private fun stack(part: Part) {
        if (rows.childCount > 0) return
        val head = cell(part.columns.first() to part.columns.first(), head = true, first = true)
        head.background = ground(head = true)
        if (head.text.isNotEmpty()) rows.addView(head, LinearLayout.LayoutParams(MATCH, WRAP))
        for (row in part.rows) {
            val one = column()
            one.background = ground(head = false)
            one.setPaddingRelative(0, looks.dp(6), 0, looks.dp(6))
            one.addView(looks.text(weight = 500).apply { text = Tag.behind(row.name, row.detail, looks) })
            for ((figure, cell) in said(part, row.cells).zip(row.cells)) {
                if (cell.isEmpty()) continue
                val text = SpannableString(figure)
                text.setSpan(ForegroundColorSpan(colours.muted), 0, figure.length - cell.length, Spanned.SPAN_EXCLUSIVE_EXCLUSIVE)
                one.addView(looks.text().apply { this.text = text })
            }
            rows.addView(one)
        }
    }

    private companion object {
        const val WIDEST_DP = 220
    }
}

/** The table where it fits, else the rows; `fill` makes them when they are needed. */
@SuppressLint("ViewConstructor")
class Fits(looks: Looks, private val table: View, private val rows: View, private val fill: () -> Unit) : ViewGroup(looks.context) {
    init {
        addView(table)
        addView(rows)
    }

    override fun onMeasure(widthSpec: Int, heightSpec: Int) {
        val wide = MeasureSpec.getSize(widthSpec)
        val free = MeasureSpec.makeMeasureSpec(0, MeasureSpec.UNSPECIFIED)
        table.measure(free, free)
        val fits = table.measuredWidth <= wide
        if (!fits) fill()
        table.visibility = if (fits) VISIBLE else INVISIBLE
        rows.visibility = if (fits) INVISIBLE else VISIBLE
        val shown = if (fits) table else rows
        shown.measure(MeasureSpec.makeMeasureSpec(wide, MeasureSpec.EXACTLY), free)
        setMeasuredDimension(wide, shown.measuredHeight)
    }

    override fun onLayout(changed: Boolean, left: Int, top: Int, right: Int, bottom: Int) {
        val shown = if (table.visibility == VISIBLE) table else rows
        shown.layout(0, 0, right - left, bottom - top)
    }

    override fun generateDefaultLayoutParams() = LinearLayout.LayoutParams(MATCH, WRAP)
}
