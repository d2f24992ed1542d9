// The loupe: what lies under the thumb, twice as large, above it while it is down.
package chalkface.app

import android.graphics.Canvas
import android.graphics.ColorFilter
import android.graphics.Paint
import android.graphics.Path
import android.graphics.PixelFormat
import android.graphics.drawable.Drawable
import android.view.View

/** `picture` paints what the view `of` shows, so many times as large. It goes when the view goes. */
class Loupe(private val of: View, private val looks: Looks, private val picture: (Canvas, Float) -> Unit) : Drawable() {
    private val paint = Paint(Paint.ANTI_ALIAS_FLAG)
    private val path = Path()
    private val radius = looks.exact(64f)
    private var at = 0f to 0f
    private var centre = 0f to 0f
    private var root: View? = null

    init {
        of.addOnAttachStateChangeListener(object : View.OnAttachStateChangeListener {
            override fun onViewAttachedToWindow(view: View) = Unit

            override fun onViewDetachedFromWindow(view: View) = lower()
        })
    }

    /** Shows what is at a point of the view, above that point, over everything in the window. */
    fun lift(x: Float, y: Float) {
        val root = root ?: of.rootView.also { root = it; it.overlay.add(this) }
        val (left, top) = IntArray(2).also(of::getLocationInWindow)
        val (rootLeft, rootTop) = IntArray(2).also(root::getLocationInWindow)
        at = x to y
        val across = (left - rootLeft + x).coerceIn(radius, maxOf(radius, root.width - radius))
        centre = across to top - rootTop + y - radius - looks.exact(32f)
        root.invalidate()
    }

    fun lower() {
        root?.overlay?.remove(this)
        root = null
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
