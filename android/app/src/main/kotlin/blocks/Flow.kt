// Children in a row that breaks where it is full, in the reading direction.
package chalkface.app.blocks

import android.content.Context
import android.view.View
import android.view.ViewGroup

class Flow(context: Context, private val gap: Int) : ViewGroup(context) {
    override fun onMeasure(widthSpec: Int, heightSpec: Int) {
        val wide = MeasureSpec.getSize(widthSpec)
        val most = MeasureSpec.makeMeasureSpec(wide, MeasureSpec.AT_MOST)
        val free = MeasureSpec.makeMeasureSpec(0, MeasureSpec.UNSPECIFIED)
        for (n in 0 until childCount) getChildAt(n).measure(most, free)
        setMeasuredDimension(wide, place(wide) { _, _, _ -> })
    }

    override fun onLayout(changed: Boolean, left: Int, top: Int, right: Int, bottom: Int) {
        val wide = right - left
        val rtl = layoutDirection == View.LAYOUT_DIRECTION_RTL
        place(wide) { child, x, y ->
            val from = if (rtl) wide - x - child.measuredWidth else x
            child.layout(from, y, from + child.measuredWidth, y + child.measuredHeight)
        }
    }

    /** Where each child goes; answers how high all are. */
    private fun place(wide: Int, at: (View, Int, Int) -> Unit): Int {
        var (x, y, high) = Triple(0, 0, 0)
        for (n in 0 until childCount) {
            val child = getChildAt(n)
            if (x > 0 && x + child.measuredWidth > wide) {
                y += high + gap
                x = 0
                high = 0
            }
            at(child, x, y)
            x += child.measuredWidth + gap
            high = maxOf(high, child.measuredHeight)
        }
        return y + high
    }
}
