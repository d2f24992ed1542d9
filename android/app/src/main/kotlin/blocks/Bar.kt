// A ground with a bar at its start.
package chalkface.app.blocks

import android.graphics.Canvas
import android.graphics.ColorFilter
import android.graphics.Paint
import android.graphics.PixelFormat
import android.graphics.drawable.Drawable
import android.view.View
import chalkface.app.Looks

class Bar(private val looks: Looks, bar: Int, ground: Int?) : Drawable() {
    private val paint = Paint()

    var bar = bar
        set(value) { field = value; invalidateSelf() }
    private val ground = ground

    override fun draw(canvas: Canvas) {
        val wide = looks.exact(6f)
        if (ground != null) {
            paint.color = ground
            canvas.drawRect(bounds, paint)
        }
        paint.color = bar
        val left = if (layoutDirection == View.LAYOUT_DIRECTION_RTL) bounds.right - wide else bounds.left.toFloat()
        canvas.drawRect(left, bounds.top.toFloat(), left + wide, bounds.bottom.toFloat(), paint)
    }

    override fun onLayoutDirectionChanged(layoutDirection: Int) = true

    override fun setAlpha(alpha: Int) = Unit

    override fun setColorFilter(filter: ColorFilter?) = Unit

    @Deprecated("asked for by older systems")
    override fun getOpacity() = PixelFormat.TRANSLUCENT
}
