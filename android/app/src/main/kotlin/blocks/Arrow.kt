// A stroke that points on (toward the end of a line) or back.
package chalkface.app.blocks

import android.graphics.Canvas
import android.graphics.Paint
import android.graphics.Path
import android.view.View
import chalkface.app.Looks

class Arrow(private val looks: Looks, private val back: Boolean = false, colour: Int = looks.colours.muted) : View(looks.context) {
    private val paint = Paint(Paint.ANTI_ALIAS_FLAG).apply {
        style = Paint.Style.STROKE
        strokeCap = Paint.Cap.ROUND
        strokeJoin = Paint.Join.ROUND
        strokeWidth = looks.exact(2.5f)
        color = colour
    }
    private val path = Path()

    init {
        silent()
    }

    override fun onDraw(canvas: Canvas) {
        val reach = looks.exact(if (back) 9f else 6f)
        val way = if (back == (layoutDirection == LAYOUT_DIRECTION_RTL)) 1 else -1
        path.rewind()
        path.moveTo(width / 2f - way * reach / 2, height / 2f - reach)
        path.lineTo(width / 2f + way * reach / 2, height / 2f)
        path.lineTo(width / 2f - way * reach / 2, height / 2f + reach)
        canvas.drawPath(path, paint)
    }
}
