// The ground of everything that is pressed: fill, edge, and the ring of who moves by keyboard.
package chalkface.app

import android.graphics.Canvas
import android.graphics.ColorFilter
import android.graphics.DashPathEffect
import android.graphics.Paint
import android.graphics.PixelFormat
import android.graphics.RectF
import android.graphics.drawable.Drawable

class Ground(
    private val looks: Looks,
    private val fill: Int? = looks.colours.paper,
    private val edge: Int? = looks.colours.line,
    private val width: Float = 2f,
    private val dashed: Boolean = false,
    private val pressed: Int = looks.colours.held,
    private val round: Float = 10f,
    /** A line at the bottom only. */
    private val under: Boolean = false,
    /** A broad edge at the start, as wide as this. */
    private val bar: Float = 0f,
) : Drawable() {
    private val paint = Paint(Paint.ANTI_ALIAS_FLAG)
    private val box = RectF()

    private fun has(state: Int) = getState().contains(state)

    override fun draw(canvas: Canvas) {
        val down = has(android.R.attr.state_pressed)
        val focused = has(android.R.attr.state_focused) && has(android.R.attr.state_window_focused)
        // The ring stands two away from the edge, inside what the view takes up.
        val ring = if (focused) looks.exact(3f) + looks.exact(2f) else 0f
        box.set(bounds)
        if (focused) {
            paint.style = Paint.Style.STROKE
            paint.pathEffect = null
            paint.strokeWidth = looks.exact(3f)
            paint.color = looks.colours.press
            box.inset(looks.exact(1.5f), looks.exact(1.5f))
            canvas.drawRoundRect(box, looks.exact(round), looks.exact(round), paint)
            box.set(bounds)
            box.inset(ring, ring)
        }
        val ground = if (down) pressed else fill
        val radius = if (under) 0f else looks.exact(round)
        val line = looks.exact(width)
        if (edge != null && !under) box.inset(line / 2, line / 2)
        if (ground != null) {
            paint.style = Paint.Style.FILL
            paint.color = ground
            canvas.drawRoundRect(box, radius, radius, paint)
        }
        if (edge == null) return
        paint.color = edge
        if (under) {
            paint.style = Paint.Style.FILL
            canvas.drawRect(box.left, box.bottom - line, box.right, box.bottom, paint)
            return
        }
        paint.style = Paint.Style.STROKE
        paint.strokeWidth = line
        paint.pathEffect = if (dashed) DashPathEffect(floatArrayOf(line * 3, line * 2), 0f) else null
        canvas.drawRoundRect(box, radius, radius, paint)
        if (bar > 0) {
            paint.style = Paint.Style.FILL
            paint.pathEffect = null
            val end = looks.exact(bar)
            canvas.save()
            if (layoutDirection == android.view.View.LAYOUT_DIRECTION_RTL) {
                canvas.clipRect(box.right - end, box.top, box.right, box.bottom)
            } else {
                canvas.clipRect(box.left, box.top, box.left + end, box.bottom)
            }
            canvas.drawRoundRect(box, radius, radius, paint)
            canvas.restore()
        }
    }

    override fun isStateful() = true

    override fun onStateChange(state: IntArray): Boolean {
        invalidateSelf()
        return true
    }

    override fun onLayoutDirectionChanged(layoutDirection: Int) = true

    override fun setAlpha(alpha: Int) = Unit

    override fun setColorFilter(filter: ColorFilter?) = Unit

    @Deprecated("asked for by older systems")
    override fun getOpacity() = PixelFormat.TRANSLUCENT
}
