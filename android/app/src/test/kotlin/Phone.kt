// A person with a phone: touches what is on the screen, writes, reads through accessibility.
package chalkface.app

import android.graphics.Rect
import android.os.Bundle
import android.os.Looper
import android.os.Parcel
import android.os.SystemClock
import android.view.MotionEvent
import android.view.View
import android.view.ViewConfiguration
import android.view.ViewGroup
import android.view.accessibility.AccessibilityNodeInfo
import android.view.accessibility.AccessibilityNodeProvider
import android.widget.EditText
import android.widget.SeekBar
import chalkface.Screen
import org.junit.Assert.assertTrue
import org.robolectric.Robolectric
import org.robolectric.RuntimeEnvironment
import org.robolectric.Shadows.shadowOf
import org.robolectric.android.controller.ActivityController
import java.io.File
import java.time.Duration
import java.util.TimeZone
import java.util.concurrent.TimeUnit

/** Time and chance that a test sets. */
class TestTime(var ms: Long = 1_777_881_600_000) : Surroundings() {
    private var drawn = 0

    /** What the next draw of so many bytes gives; else bytes that count up. */
    var next: ((Int) -> ByteArray)? = null

    override fun utcMs() = ms

    override fun bytes(count: Int): ByteArray =
        next?.invoke(count) ?: ByteArray(count).also { drawn++; it[0] = 99; it[1] = (drawn shr 8).toByte(); it[2] = drawn.toByte() }
}

/** Keys at rest, for tests that are not about them. */
class PlainWrapper : KeyKeeper.Wrapper {
    override fun wrap(secret: ByteArray) = secret.reversedArray()

    override fun unwrap(wrapped: ByteArray) = wrapped.reversedArray()
}

class Phone(val name: String, val time: TestTime = TestTime(), val wrapper: KeyKeeper.Wrapper = PlainWrapper()) {
    val folder: File = Folders.make("phone-$name")
    lateinit var controller: ActivityController<MainActivity>
        private set
    lateinit var host: CoreHost
        private set
    val activity: MainActivity get() = controller.get()
    val screen: Screen get() = host.shown!!.screen
    val root: View get() = activity.window.decorView

    /** What the app itself said, beside its screens. */
    val words = ArrayList<String>()

    fun start(saved: Bundle? = null, intent: android.content.Intent? = null): Phone {
        TimeZone.setDefault(TimeZone.getTimeZone("GMT+01:00"))
        Hosts.end()
        Hosts.make = { CoreHost(folder, KeyKeeper(folder, wrapper), time) }
        host = Hosts.of(RuntimeEnvironment.getApplication())
        controller = if (intent == null) Robolectric.buildActivity(MainActivity::class.java) else Robolectric.buildActivity(MainActivity::class.java, intent)
        if (saved == null) controller.setup() else controller.setup(saved)
        settle()
        return this
    }

    /** Everything that was told is done, worked out and shown. */
    fun settle() {
        val end = System.nanoTime() + TimeUnit.SECONDS.toNanos(120)
        var quiet = 0
        while (quiet < 2) {
            check(System.nanoTime() < end) { "$name does not come to rest" }
            idle()
            if (host.isQuiet) quiet++ else { quiet = 0; Thread.sleep(1) }
        }
        idle()
    }

    fun end() {
        if (!activity.isDestroyed) {
            controller.pause().stop().destroy()
            idle()
            host.close()
            Hosts.end()
        }
        // What was told before is still written.
        settle()
        Folders.drop(folder)
    }

    /** The process is killed: what is left is the folder, and the bytes of the saved state. */
    fun kill(): Phone {
        val saved = Bundle()
        controller.pause().stop().saveInstanceState(saved)
        settle()
        val bytes = Parcel.obtain().run { writeBundle(saved); marshall().also { recycle() } }
        controller.destroy()
        // The old core goes without a word.
        host.listener = null
        host.close()
        val back = Parcel.obtain().run {
            unmarshall(bytes, 0, bytes.size)
            setDataPosition(0)
            readBundle(MainActivity::class.java.classLoader)!!.also { recycle() }
        }
        return start(back)
    }

    fun rotate(qualifiers: String) {
        // Other phones of a story live in the same process; this one keeps its own core.
        Hosts.end()
        Hosts.make = { host }
        RuntimeEnvironment.setQualifiers(qualifiers)
        controller.configurationChange()
        controller.visible()
        settle()
    }

    // What a person does.

    fun view(key: String): View = checkNotNull(found(key)) { "$name: $key is not on ${screen.place}: ${keys()}" }

    fun found(key: String): View? = activity.blocks.find(key)

    fun keys(): List<String> = all(activity.blocks).mapNotNull { it.getTag(R.id.key) as? String }

    fun all(of: View): List<View> =
        listOf(of) + if (of is ViewGroup) (0 until of.childCount).flatMap { all(of.getChildAt(it)) } else emptyList()

    /** The view comes to where it can be seen. */
    fun reveal(view: View): Rect {
        view.requestRectangleOnScreen(Rect(0, 0, view.width, view.height), true)
        layOut()
        val at = IntArray(2).also { view.getLocationInWindow(it) }
        return Rect(at[0], at[1], at[0] + view.width, at[1] + view.height)
    }

    fun layOut() {
        idle()
        shadowOf(Looper.getMainLooper()).idleFor(Duration.ofMillis(20))
    }

    /** A finger on a point of the window, through the whole tree of views. */
    fun tap(x: Float, y: Float) {
        assertTrue("$name: ($x, $y) is outside the window", x >= 0 && y >= 0 && x < root.width && y < root.height)
        val down = SystemClock.uptimeMillis()
        send(MotionEvent.ACTION_DOWN, x, y, down)
        shadowOf(Looper.getMainLooper()).idleFor(Duration.ofMillis(ViewConfiguration.getTapTimeout() + 1L))
        send(MotionEvent.ACTION_UP, x, y, down)
        settle()
    }

    fun send(action: Int, x: Float, y: Float, down: Long) {
        val event = MotionEvent.obtain(down, SystemClock.uptimeMillis(), action, x, y, 0)
        root.dispatchTouchEvent(event)
        event.recycle()
        idle()
    }

    fun press(key: String) {
        val box = reveal(view(key))
        assertTrue("$name: $key takes up nothing", box.width() > 0 && box.height() > 0)
        val inside = Rect(box)
        assertTrue("$name: $key is not to be seen", inside.intersect(0, 0, root.width, root.height))
        tap(inside.exactCenterX(), inside.exactCenterY())
    }

    /** The first view whose key begins so. */
    fun starts(key: String) = press(checkNotNull(keys().firstOrNull { it.startsWith(key) }) { "$name: no $key… on ${screen.place}" })

    fun touch(key: String, xMm: Double, yMm: Double) {
        val view = view(key) as SceneView
        val box = reveal(view)
        val scale = view.width / view.scene!!.widthMm
        tap((box.left + xMm * scale).toFloat(), (box.top + yMm * scale).toFloat())
    }

    /** A thumb takes a point of a picture somewhere else; or presses it, where that is the same place. */
    fun drag(view: View, sizes: List<Double>, from: Pair<Double, Double>, to: Pair<Double, Double>) {
        val box = reveal(view)
        val scale = view.width / sizes[4]
        fun at(of: Pair<Double, Double>) = (box.left + (of.first - sizes[2]) * scale).toFloat() to (box.top + (of.second - sizes[3]) * scale).toFloat()
        val (start, end) = at(from) to at(to)
        val down = SystemClock.uptimeMillis()
        send(MotionEvent.ACTION_DOWN, start.first, start.second, down)
        // Further first: what is nearer than a tremble of the thumb is a press.
        if (from != to) send(MotionEvent.ACTION_MOVE, end.first + 50f, end.second + 50f, down)
        if (from != to) for (n in 1..6) {
            send(MotionEvent.ACTION_MOVE, start.first + (end.first - start.first) * n / 6, start.second + (end.second - start.second) * n / 6, down)
        }
        send(MotionEvent.ACTION_UP, end.first, end.second, down)
        settle()
    }

    fun write(key: String, text: String) {
        val field = view(key) as EditText
        reveal(field)
        field.requestFocus()
        val keyboard = field.onCreateInputConnection(android.view.inputmethod.EditorInfo())
        keyboard.setSelection(0, field.length())
        keyboard.commitText(text, 1)
        idle()
    }

    /** A pause in writing: now it is told. */
    fun pause() {
        shadowOf(Looper.getMainLooper()).idleFor(Duration.ofMillis(500))
        settle()
    }

    fun slide(key: String, share: Float) {
        val bar = view(key) as SeekBar
        val box = reveal(bar)
        val down = SystemClock.uptimeMillis()
        val y = box.exactCenterY()
        val start = box.left + bar.paddingLeft + (box.width() - bar.paddingLeft - bar.paddingRight) * bar.progress / maxOf(1, bar.max).toFloat()
        val end = box.left + bar.paddingLeft + (box.width() - bar.paddingLeft - bar.paddingRight) * share
        send(MotionEvent.ACTION_DOWN, start, y, down)
        for (n in 1..8) send(MotionEvent.ACTION_MOVE, start + (end - start) * n / 8, y, down)
        send(MotionEvent.ACTION_UP, end, y, down)
        settle()
    }

    // What a screen reader reads.

    /** What one view, or a part of one, says. */
    data class Heard(val view: View, val name: String, val role: String, val checked: Boolean?, val clickable: Boolean, val box: Rect)

    @Suppress("DEPRECATION")
    fun heard(): List<Heard> = all(activity.blocks).filter(::isHeard).flatMap { view ->
        val nodes = view.accessibilityNodeProvider
        val info = nodes?.createAccessibilityNodeInfo(AccessibilityNodeProvider.HOST_VIEW_ID) ?: view.createAccessibilityNodeInfo()
        listOf(heard(view, info)) + (view as? SceneView)?.let { scene ->
            scene.scene?.groups.orEmpty().indices.mapNotNull { nodes.createAccessibilityNodeInfo(it) }.map { heard(view, it) }
        }.orEmpty()
    }.filter { it.name.isNotEmpty() || it.clickable }

    private fun isHeard(view: View): Boolean {
        if (!view.isShown || view.importantForAccessibility == View.IMPORTANT_FOR_ACCESSIBILITY_NO) return false
        // What a group says in one, its parts don't say again.
        return generateSequence(view.parent as? View) { it.parent as? View }.none {
            it.isClickable && !it.contentDescription.isNullOrEmpty()
        }
    }

    private fun heard(view: View, info: AccessibilityNodeInfo): Heard {
        val said = listOfNotNull(info.contentDescription ?: info.text ?: info.hintText, info.stateDescription)
        val box = Rect().also { info.getBoundsInScreen(it) }
        return Heard(
            view, said.joinToString(": ") { it.toString() }, info.className.toString().substringAfterLast('.'),
            info.isChecked.takeIf { info.isCheckable }, info.isClickable, box,
        )
    }

    /** All that a screen reader says, in its order. */
    fun reads(): List<String> = heard().map { it.name + (if (it.checked == true) " [x]" else "") }

    fun says(text: String) = assertTrue("$name does not say \"$text\": ${reads()}", reads().any { text in it })
}
