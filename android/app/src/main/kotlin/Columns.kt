// Where a screen's parts go: one column, so wide at most; on wide screens two where there is
// something to stand beside.
package chalkface.app

import android.view.ViewGroup
import android.widget.LinearLayout

class Columns(private val looks: Looks) : ViewGroup(looks.context) {
    val head = list()
    val main = list()
    val beside = list()
    var split = false
        set(value) {
            if (field != value) requestLayout()
            field = value
        }

    init {
        addView(head)
        addView(main)
        addView(beside)
    }

    private fun list() = LinearLayout(looks.context).apply { orientation = LinearLayout.VERTICAL }

    /** How wide all is, the main column, and the one beside. */
    private fun widths(wide: Int): Triple<Int, Int, Int> {
        val room = wide - 2 * looks.gap
        if (!looks.isWide) return minOf(room, looks.dp(Looks.COLUMN_DP)).let { Triple(it, it, 0) }
        if (!split) return minOf(room, looks.dp(ALONE_DP)).let { Triple(it, it, 0) }
        val all = minOf(room, looks.dp(BOTH_DP))
        val first = ((all - looks.dp(BETWEEN_DP)) * MAIN_SHARE).toInt()
        return Triple(all, first, all - looks.dp(BETWEEN_DP) - first)
    }

    override fun onMeasure(widthSpec: Int, heightSpec: Int) {
        val wide = MeasureSpec.getSize(widthSpec)
        val (all, first, second) = widths(wide)
        val free = MeasureSpec.makeMeasureSpec(0, MeasureSpec.UNSPECIFIED)
        head.measure(MeasureSpec.makeMeasureSpec(all, MeasureSpec.EXACTLY), free)
        main.measure(MeasureSpec.makeMeasureSpec(first, MeasureSpec.EXACTLY), free)
        beside.measure(MeasureSpec.makeMeasureSpec(second, MeasureSpec.EXACTLY), free)
        val high = head.measuredHeight + maxOf(main.measuredHeight, if (split) beside.measuredHeight else 0)
        setMeasuredDimension(wide, high + 2 * looks.gap + looks.gap)
    }

    override fun onLayout(changed: Boolean, left: Int, top: Int, right: Int, bottom: Int) {
        val wide = right - left
        val (all, first, second) = widths(wide)
        val start = (wide - all) / 2
        val rtl = layoutDirection == LAYOUT_DIRECTION_RTL
        head.layout(start, 0, start + all, head.measuredHeight)
        val under = head.measuredHeight
        val mainAt = if (rtl) start + all - first else start
        main.layout(mainAt, under, mainAt + first, under + main.measuredHeight)
        val besideAt = if (rtl) start else start + all - second
        beside.layout(besideAt, under, besideAt + second, under + beside.measuredHeight)
    }

    private companion object {
        const val ALONE_DP = 704
        const val BOTH_DP = 1152
        const val BETWEEN_DP = 40
        const val MAIN_SHARE = 1.15f / 2.15f
    }
}
