// Rows of figures under columns. Where it is wider than its column it can be moved sideways.
package chalkface.app.blocks

import android.view.accessibility.AccessibilityNodeInfo
import android.view.View
import android.widget.HorizontalScrollView
import android.widget.TableLayout
import android.widget.TableRow
import android.widget.TextView
import chalkface.Part
import chalkface.app.Ground
import chalkface.app.Looks

class TableBlock(stage: Stage) : Block(stage) {
    private val table = TableLayout(looks.context)
    private var drawn: Part? = null
    override val view = HorizontalScrollView(looks.context).apply {
        isHorizontalScrollBarEnabled = true
        isFillViewport = true
        addView(table)
    }

    override fun show(part: Part, upto: Long) {
        view.keyed(part.key)
        val before = drawn
        if (before != null && before.rows == part.rows && before.columns == part.columns) return
        drawn = part
        table.removeAllViews()
        table.contentDescription = part.name
        table.accessibilityDelegate = object : View.AccessibilityDelegate() {
            override fun onInitializeAccessibilityNodeInfo(host: View, info: AccessibilityNodeInfo) {
                super.onInitializeAccessibilityNodeInfo(host, info)
                info.setCollectionInfo(
                    AccessibilityNodeInfo.CollectionInfo.obtain(part.rows.size + 1, part.columns.size, false),
                )
            }
        }
        row(part.columns.map { it to it }, head = true)
        for (row in part.rows) {
            val name = Tag.behind(row.name, row.detail, looks)
            val said = part.columns.drop(1).zip(row.cells).map { (column, cell) -> "$column: $cell" }
            row(listOf(name to name) + row.cells.zip(said), head = false)
        }
    }

    private fun row(cells: List<Pair<CharSequence, CharSequence>>, head: Boolean) {
        val row = TableRow(looks.context)
        row.background = Ground(
            looks, fill = null, edge = if (head) colours.ink else colours.grid, width = if (head) 2f else 1f, under = true,
        )
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

    private companion object {
        const val WIDEST_DP = 220
    }
}
