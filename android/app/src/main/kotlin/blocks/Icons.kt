// Signs that are drawn: an arrow, a cross, a sun. One pen with round ends, and the size of a target
// where nothing else is asked for.
package chalkface.app.blocks

import android.graphics.Canvas
import android.graphics.Paint
import android.graphics.Path
import android.view.View
import chalkface.app.Looks
import chalkface.app.Palette

abstract class Icon(protected val looks: Looks, colour: Int = looks.colours.ink, thick: Float = 2f) : View(looks.context) {
    protected val pen = Paint(Paint.ANTI_ALIAS_FLAG).apply {
        style = Paint.Style.STROKE
        strokeCap = Paint.Cap.ROUND
        strokeJoin = Paint.Join.ROUND
        strokeWidth = looks.exact(thick)
        color = colour
    }

    override fun onMeasure(widthSpec: Int, heightSpec: Int) =
        setMeasuredDimension(resolveSize(looks.touch, widthSpec), resolveSize(looks.touch, heightSpec))
}

/** A stroke that points on (toward the end of a line) or back. */
class Arrow(looks: Looks, private val back: Boolean = false, colour: Int = looks.colours.muted) : Icon(looks, colour, 2.5f) {
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
        canvas.drawPath(path, pen)
    }
}

/** Puts something away. */
class Cross(looks: Looks) : Icon(looks) {
    override fun onDraw(canvas: Canvas) {
        val reach = looks.exact(6f)
        val (x, y) = width / 2f to height / 2f
        canvas.drawLine(x - reach, y - reach, x + reach, y + reach, pen)
        canvas.drawLine(x - reach, y + reach, x + reach, y - reach, pen)
    }
}

/** A sun; full where its colours are on. */
class Sun(looks: Looks) : Icon(looks) {
    override fun onDraw(canvas: Canvas) {
        val (x, y) = width / 2f to height / 2f
        pen.style = if (looks.colours === Palette.SUN) Paint.Style.FILL_AND_STROKE else Paint.Style.STROKE
        canvas.drawCircle(x, y, looks.exact(5f), pen)
        for (n in 0 until 8) {
            canvas.save()
            canvas.rotate(45f * n, x, y)
            canvas.drawLine(x, y - looks.exact(9f), x, y - looks.exact(12f), pen)
            canvas.restore()
        }
    }
}
