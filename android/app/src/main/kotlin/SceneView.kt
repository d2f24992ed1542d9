// A drawing, to read or to touch. Its parts that say something are nodes for screen readers.
//
// The rule: it answers points in the drawing's own millimetres and decides nothing; where a
// part of the drawing lies, the core has said.
package chalkface.app

import android.graphics.Canvas
import android.graphics.Rect
import android.os.Bundle
import android.view.MotionEvent
import android.view.View
import android.view.accessibility.AccessibilityNodeInfo
import android.view.accessibility.AccessibilityNodeInfo.AccessibilityAction
import android.view.accessibility.AccessibilityNodeProvider
import chalkface.Choosable
import chalkface.Scene

class SceneView(private val looks: Looks) : View(looks.context) {
    private val brush = Brush(looks)
    private val loupe = Loupe(this, looks) { canvas, zoom -> scene?.let { brush.draw(canvas, it, scale().toFloat() * zoom) } }

    var scene: Scene? = null
        set(value) {
            if (value == field) return
            val same = field?.let { it.widthMm == value?.widthMm && it.heightMm == value.heightMm } == true
            field = value
            describe()
            if (!same) requestLayout()
            invalidate()
        }

    /** What it is, where the drawing is a control. */
    var label: List<String> = emptyList()
        set(value) { field = value; describe() }

    /** Places to choose by name. */
    var places: List<Choosable> = emptyList()
    var onTouch: ((Double, Double) -> Unit)? = null
        set(value) {
            field = value
            isClickable = value != null
            isFocusable = value != null
        }
    var onPlace: ((String) -> Unit)? = null

    init {
        // Left is left in every language.
        layoutDirection = LAYOUT_DIRECTION_LTR
        defaultFocusHighlightEnabled = false
        isFocusable = false
    }

    private fun describe() {
        val of = scene ?: return
        val words = label.ifEmpty { listOf(of.title) } + of.alt
        contentDescription = words.filter { it.isNotEmpty() }.joinToString(", ")
    }

    /** Pixels of a millimetre. */
    private fun scale() = scene?.let { width / it.widthMm }?.takeIf { it > 0 } ?: 1.0

    override fun onMeasure(widthSpec: Int, heightSpec: Int) {
        val wide = MeasureSpec.getSize(widthSpec)
        val high = scene?.let { wide * it.heightMm / it.widthMm } ?: 0.0
        setMeasuredDimension(wide, Math.ceil(high).toInt())
    }

    override fun onDraw(canvas: Canvas) {
        val of = scene ?: return
        brush.draw(canvas, of, scale().toFloat())
        if (isFocused) {
            val ring = Ground(looks, null, looks.colours.press, width = 3f)
            ring.setBounds(0, 0, width, height)
            ring.draw(canvas)
        }
    }

    override fun onTouchEvent(event: MotionEvent): Boolean {
        val touch = onTouch ?: return super.onTouchEvent(event)
        when (event.actionMasked) {
            MotionEvent.ACTION_DOWN -> {
                parent?.requestDisallowInterceptTouchEvent(true)
                lift(event)
            }
            MotionEvent.ACTION_MOVE -> lift(event)
            MotionEvent.ACTION_UP -> {
                loupe.lower()
                val of = scene ?: return true
                touch(within(event.x, of.widthMm), within(event.y, of.heightMm))
                performClick()
            }
            MotionEvent.ACTION_CANCEL -> loupe.lower()
        }
        return true
    }

    /** A thumb may slip off the edge; then it meant the edge. */
    private fun within(pixels: Float, most: Double) = (pixels / scale()).coerceIn(0.0, most)

    override fun performClick(): Boolean {
        super.performClick()
        return true
    }

    private fun lift(event: MotionEvent) =
        loupe.lift(event.x.coerceIn(0f, width.toFloat()), event.y.coerceIn(0f, height.toFloat()))

    private val nodes = object : AccessibilityNodeProvider() {
        private val said get() = scene?.groups.orEmpty().withIndex().filter { it.value.alt.isNotEmpty() && it.value.bounds.isNotEmpty() }

        override fun createAccessibilityNodeInfo(id: Int): AccessibilityNodeInfo? =
            if (id == HOST_VIEW_ID) host() else said.firstOrNull { it.index == id }?.let { part(id, it.value.alt, it.value.bounds) }

        @Suppress("DEPRECATION")
        private fun host(): AccessibilityNodeInfo {
            val info = AccessibilityNodeInfo.obtain(this@SceneView)
            onInitializeAccessibilityNodeInfo(info)
            info.className = "android.widget.ImageView"
            said.forEach { info.addChild(this@SceneView, it.index) }
            places.forEachIndexed { n, place -> info.addAction(AccessibilityAction(FIRST_PLACE + n, place.name)) }
            return info
        }

        @Suppress("DEPRECATION")
        private fun part(id: Int, alt: String, bounds: List<Double>): AccessibilityNodeInfo {
            val (x, y, wide, high) = bounds.map { it * scale() }
            val box = Rect(x.toInt(), y.toInt(), Math.ceil(x + wide).toInt(), Math.ceil(y + high).toInt())
            box.intersect(0, 0, width, height)
            val info = AccessibilityNodeInfo.obtain(this@SceneView, id)
            info.setParent(this@SceneView)
            info.packageName = context.packageName
            info.className = "android.widget.ImageView"
            info.contentDescription = alt
            info.setBoundsInParent(box)
            val at = IntArray(2).also(::getLocationOnScreen)
            info.setBoundsInScreen(Rect(box).apply { offset(at[0], at[1]) })
            info.isVisibleToUser = true
            info.isEnabled = true
            return info
        }

        override fun performAction(id: Int, action: Int, arguments: Bundle?): Boolean {
            val place = places.getOrNull(action - FIRST_PLACE)
            if (id != HOST_VIEW_ID || place == null) {
                return id == HOST_VIEW_ID && performAccessibilityAction(action, arguments)
            }
            onPlace?.invoke(place.key)
            return true
        }
    }

    override fun getAccessibilityNodeProvider(): AccessibilityNodeProvider = nodes

    private companion object {
        /** Above the system's own actions, and any resource's number. */
        const val FIRST_PLACE = 0x0300_0000
    }
}
