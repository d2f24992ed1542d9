// The loupe: what lies under the thumb, twice as large, above it while it is down.
package chalkface.app

import android.graphics.Canvas
import android.graphics.ColorFilter
import android.graphics.Paint
import android.graphics.Path
import android.graphics.PixelFormat
import android.graphics.drawable.Drawable

/** `picture` paints what the view shows, so many times as large. */
class Loupe(private val looks: Looks, private val picture: (Canvas, Float) -> Unit) : Drawable() {
    private val paint = Paint(Paint.ANTI_ALIAS_FLAG)
    private val path = Path()
    private val radius = looks.exact(64f)
    private var at = 0f to 0f
    private var centre = 0f to 0f

    /** Shows what is at a point of the drawing, above a point of the window. */
    fun over(x: Float, y: Float, left: Float, top: Float, wide: Int) {
        at = x to y
        centre = left.coerceIn(radius, maxOf(radius, wide - radius)) to top - radius - looks.exact(32f)
        invalidateSelf()
    }

    override fun draw(canvas: Canvas) {
        val (x, y) = centre
        canvas.save()
        path.rewind()
        path.addCircle(x, y, radius, Path.Direction.CW)
        canvas.clipPath(path)
        canvas.drawColor(looks.colours.paper)
        canvas.translate(x - at.first * ZOOM, y - at.second * ZOOM)
        picture(canvas, ZOOM)
        canvas.restore()
        paint.style = Paint.Style.STROKE
        paint.strokeWidth = looks.exact(3f)
        paint.color = looks.colours.press
        canvas.drawCircle(x, y, radius, paint)
        paint.strokeWidth = looks.exact(2f)
        paint.color = looks.colours.flag
        canvas.drawCircle(x, y, looks.exact(8f), paint)
    }

    override fun setAlpha(alpha: Int) = Unit

    override fun setColorFilter(filter: ColorFilter?) = Unit

    @Deprecated("asked for by older systems")
    override fun getOpacity() = PixelFormat.TRANSLUCENT

    private companion object {
        const val ZOOM = 2f
    }
}
