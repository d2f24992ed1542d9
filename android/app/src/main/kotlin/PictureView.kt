// A photograph with points on it. Ends of the face are open squares, marks rings with a cross,
// earlier marks broken rings.
//
// The rule: it answers points in the picture's own pixels; where a point is, the core says, but
// for the one that is being dragged and until that was answered.
package chalkface.app

import android.graphics.Bitmap
import android.graphics.Canvas
import android.graphics.DashPathEffect
import android.graphics.Paint
import android.graphics.Rect
import android.graphics.RectF
import android.os.Bundle
import android.view.MotionEvent
import android.view.View
import android.view.ViewConfiguration
import android.view.accessibility.AccessibilityNodeInfo
import android.view.accessibility.AccessibilityNodeInfo.AccessibilityAction
import android.view.accessibility.AccessibilityNodeProvider
import chalkface.Point
import kotlin.math.hypot

class PictureView(private val looks: Looks) : View(looks.context) {
    private val paint = Paint(Paint.ANTI_ALIAS_FLAG or Paint.FILTER_BITMAP_FLAG)
    private val box = RectF()
    private val slop = ViewConfiguration.get(context).scaledTouchSlop

    /** Width and height of the picture, and what of it is shown: left, top, width, height; its pixels. */
    private var sizes = listOf(1.0, 1.0, 0.0, 0.0, 1.0, 1.0)
    private val left get() = sizes[2]
    private val top get() = sizes[3]
    private val wide get() = sizes[4]
    private val high get() = sizes[5]
    private var points: List<Point> = emptyList()
    private var chosen: String? = null
    private var held: Held? = null
    private var told = 0L
    private val loupe = Loupe(this, looks, ::draw)
    var bitmap: Bitmap? = null
        set(value) { field = value; invalidate() }
    var onDrag: (String, Double, Double, ULong) -> Long = { _, _, _, _ -> 0 }
    var onChoose: (String) -> Unit = {}

    /** A point under the thumb: where it is now, and how far the thumb is beside it. */
    private class Held(val point: Point, val dx: Double, val dy: Double, val fromX: Float, val fromY: Float) {
        var x = point.xPx
        var y = point.yPx
        var moved = false
    }

    init {
        layoutDirection = LAYOUT_DIRECTION_LTR
        defaultFocusHighlightEnabled = false
    }

    fun show(sizes: List<Double>, points: List<Point>, chosen: String?, upto: Long) {
        if (sizes != this.sizes) requestLayout()
        this.sizes = sizes
        this.chosen = chosen
        if (upto >= told && held?.moved != true) {
            this.points = points
            held = null
        }
        invalidate()
    }

    private fun scale() = width / wide

    override fun onMeasure(widthSpec: Int, heightSpec: Int) {
        val across = MeasureSpec.getSize(widthSpec)
        setMeasuredDimension(across, Math.ceil(across * high / wide).toInt())
    }

    override fun onDraw(canvas: Canvas) = draw(canvas, 1f)

    private fun draw(canvas: Canvas, zoom: Float) {
        val scale = (scale() * zoom).toFloat()
        box.set(0f, 0f, (wide * scale).toFloat(), (high * scale).toFloat())
        canvas.clipRect(box)
        paint.style = Paint.Style.FILL
        paint.color = looks.colours.surface
        canvas.drawRect(box, paint)
        // The bitmap may have fewer pixels than the picture; it is laid over all of it.
        box.set(0f, 0f, (sizes[0] * scale).toFloat(), (sizes[1] * scale).toFloat())
        box.offset((-left * scale).toFloat(), (-top * scale).toFloat())
        bitmap?.let { canvas.drawBitmap(it, null, box, paint) }
        for (point in points) {
            val at = held?.takeIf { it.point.key == point.key }
            mark(canvas, point, (((at?.x ?: point.xPx) - left) * scale).toFloat(), (((at?.y ?: point.yPx) - top) * scale).toFloat())
        }
    }

    private fun mark(canvas: Canvas, point: Point, x: Float, y: Float) {
        val line = looks.exact(if (point.key == chosen) 4f else 2.5f)
        val colour = if (point.look == "handle") Looks.END_ON_PICTURE else Looks.ON_PICTURE
        paint.style = Paint.Style.STROKE
        paint.pathEffect = if (point.look == "earlier") DashPathEffect(floatArrayOf(looks.exact(4f), looks.exact(4f)), 0f) else null
        for ((width, ink) in listOf(line + looks.exact(2f) to Looks.RIM_ON_PICTURE, line to colour)) {
            paint.strokeWidth = width
            paint.color = ink
            if (point.look == "handle") {
                val half = looks.exact(8f)
                canvas.drawRect(x - half, y - half, x + half, y + half, paint)
            } else {
                canvas.drawCircle(x, y, looks.exact(13f), paint)
            }
            if (point.look == "new") {
                val arm = looks.exact(6f)
                canvas.drawLine(x - arm, y, x + arm, y, paint)
                canvas.drawLine(x, y - arm, x, y + arm, paint)
            }
        }
        paint.pathEffect = null
    }

    override fun onTouchEvent(event: MotionEvent): Boolean {
        val scale = scale()
        when (event.actionMasked) {
            MotionEvent.ACTION_DOWN -> {
                val near = points.minByOrNull { away(it, event) }?.takeIf { away(it, event) <= looks.touch / 2 } ?: return false
                parent?.requestDisallowInterceptTouchEvent(true)
                held = Held(near, near.xPx - event.x / scale, near.yPx - event.y / scale, event.x, event.y)
            }
            MotionEvent.ACTION_MOVE -> held?.let { move(it, event) }
            MotionEvent.ACTION_UP -> held?.let { let(it) }
            MotionEvent.ACTION_CANCEL -> { held = null; loupe.lower() }
        }
        invalidate()
        return held != null || event.actionMasked == MotionEvent.ACTION_UP
    }

    private fun away(point: Point, event: MotionEvent): Double =
        hypot((point.xPx - left) * scale() - event.x, (point.yPx - top) * scale() - event.y)

    private fun move(of: Held, event: MotionEvent) {
        // A finger that only trembles presses.
        of.moved = of.moved || hypot(event.x - of.fromX, event.y - of.fromY) > slop
        if (!of.moved) return
        of.x = (event.x / scale() + of.dx).coerceIn(0.0, sizes[0])
        of.y = (event.y / scale() + of.dy).coerceIn(0.0, sizes[1])
        loupe.lift(((of.x - left) * scale()).toFloat(), ((of.y - top) * scale()).toFloat())
    }

    private fun let(of: Held) {
        loupe.lower()
        if (of.moved) {
            of.moved = false
            told = onDrag(of.point.key, of.x, of.y, of.point.no + 1UL)
        } else {
            held = null
            onChoose(of.point.key)
            performClick()
        }
    }

    override fun performClick(): Boolean {
        super.performClick()
        return true
    }

    private val nodes = object : AccessibilityNodeProvider() {
        @Suppress("DEPRECATION")
        override fun createAccessibilityNodeInfo(id: Int): AccessibilityNodeInfo? {
            if (id == HOST_VIEW_ID) {
                val info = AccessibilityNodeInfo.obtain(this@PictureView)
                onInitializeAccessibilityNodeInfo(info)
                info.className = "android.widget.ImageView"
                points.indices.forEach { info.addChild(this@PictureView, it) }
                return info
            }
            val point = points.getOrNull(id) ?: return null
            val info = AccessibilityNodeInfo.obtain(this@PictureView, id)
            val (x, y) = ((point.xPx - left) * scale()).toInt() to ((point.yPx - top) * scale()).toInt()
            val half = looks.touch / 2
            val bounds = Rect(x - half, y - half, x + half, y + half)
            info.setParent(this@PictureView)
            info.packageName = context.packageName
            info.className = "android.widget.Button"
            info.contentDescription = point.name
            info.setBoundsInParent(bounds)
            val at = IntArray(2).also(::getLocationOnScreen)
            info.setBoundsInScreen(Rect(bounds).apply { offset(at[0], at[1]) })
            info.isSelected = point.key == chosen
            info.isVisibleToUser = true
            info.isEnabled = true
            info.isClickable = true
            info.addAction(AccessibilityAction.ACTION_CLICK)
            ways.keys.forEach(info::addAction)
            return info
        }

        override fun performAction(id: Int, action: Int, arguments: Bundle?): Boolean {
            val point = points.getOrNull(id) ?: return false
            val way = ways.entries.firstOrNull { it.key.id == action }?.value
            if (way != null) nudge(point, way) else if (action == AccessibilityNodeInfo.ACTION_CLICK) onChoose(point.key) else return false
            return true
        }
    }

    /** A step of who can't drag. Where it leads stands there until the core has answered. */
    private fun nudge(point: Point, way: Pair<Int, Int>) {
        val step = wide / STEPS
        val next = point.copy(
            xPx = (point.xPx + way.first * step).coerceIn(0.0, sizes[0]), yPx = (point.yPx + way.second * step).coerceIn(0.0, sizes[1]),
            no = point.no + 1UL,
        )
        points = points.map { if (it.key == point.key) next else it }
        told = onDrag(next.key, next.xPx, next.yPx, next.no)
        invalidate()
    }

    override fun getAccessibilityNodeProvider(): AccessibilityNodeProvider = nodes

    private companion object {
        /** Steps across what is shown of the picture. */
        const val STEPS = 100

        /** The system's own actions, which it also names. */
        val ways = mapOf(
            AccessibilityAction.ACTION_SCROLL_LEFT to (-1 to 0), AccessibilityAction.ACTION_SCROLL_RIGHT to (1 to 0),
            AccessibilityAction.ACTION_SCROLL_UP to (0 to -1), AccessibilityAction.ACTION_SCROLL_DOWN to (0 to 1),
        )
    }
}
