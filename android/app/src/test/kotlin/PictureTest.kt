// A picture of a face under the thumb: an end is dragged, trembling only chooses, a gesture that the
// system takes away changes nothing, and beside every point the page scrolls.
package chalkface.app

import android.os.SystemClock
import android.view.MotionEvent
import android.view.ViewConfiguration
import android.view.accessibility.AccessibilityNodeInfo.AccessibilityAction
import chalkface.Point
import org.junit.After
import org.junit.Assert.assertEquals
import org.junit.Assert.assertFalse
import org.junit.Assert.assertNull
import org.junit.Assert.assertTrue
import org.junit.Test
import org.junit.runner.RunWith
import org.robolectric.RobolectricTestRunner
import java.io.File
import kotlin.math.hypot

@RunWith(RobolectricTestRunner::class)
class PictureTest {
    private lateinit var phone: Phone

    private fun begin() {
        phone = Phone("one").start()
        phone.write("name", "Mina Aalto")
        phone.press("begin")
        phone.press("tab.ball")
        phone.press("ball.picture")
        phone.press("picture.take")
        picture(phone, File(repository, "tests/replays/face.jpg").readBytes())
    }

    @After fun ends() = phone.end()

    private val part get() = phone.screen.parts.first { it.key == PAD }

    private fun point(key: String): Point = part.points.first { it.key == key }

    /** Where a point of the picture is in the window, and how large a pixel of it is there. */
    private fun at(x: Double, y: Double): Triple<Float, Float, Double> {
        val view = phone.view(PAD)
        val box = phone.reveal(view)
        val scale = view.width / part.amount[4]
        return Triple((box.left + (x - part.amount[2]) * scale).toFloat(), (box.top + (y - part.amount[3]) * scale).toFloat(), scale)
    }

    private fun send(action: Int, x: Float, y: Float) = phone.send(action, x, y, SystemClock.uptimeMillis())

    @Test fun `an end goes where the thumb takes it, however far, under a loupe, and the page stays`() {
        begin()
        val toe = point("toe")
        val (x, y, scale) = at(toe.xPx, toe.yPx)
        val page = IntArray(2).also { phone.view(PAD).getLocationInWindow(it) }
        send(MotionEvent.ACTION_DOWN, x, y)
        val plain = pixels(phone.root).ints()
        // Up and down, as one would scroll.
        for (by in listOf(20f, 60f, 120f, 60f)) send(MotionEvent.ACTION_MOVE, x, y + by)
        assertFalse("the loupe is to be seen", plain.contentEquals(pixels(phone.root).ints()))
        send(MotionEvent.ACTION_MOVE, x + 9f, y + 6f)
        assertEquals("the page does not scroll", page.toList(), IntArray(2).also { phone.view(PAD).getLocationInWindow(it) }.toList())
        send(MotionEvent.ACTION_UP, x + 9f, y + 6f)
        phone.settle()
        assertEquals(toe.xPx + 9 / scale, point("toe").xPx, 0.05)
        assertEquals(toe.yPx + 6 / scale, point("toe").yPx, 0.05)
        assertEquals(toe.no + 1UL, point("toe").no)
    }

    @Test fun `a thumb that trembles on a mark chooses it`() {
        begin()
        val mark = part.points.first { it.look != "handle" }
        val (x, y, _) = at(mark.xPx, mark.yPx)
        val little = ViewConfiguration.get(phone.activity).scaledTouchSlop / 2f
        assertNull(part.chosen)
        send(MotionEvent.ACTION_DOWN, x, y)
        send(MotionEvent.ACTION_MOVE, x + little, y - little)
        send(MotionEvent.ACTION_UP, x + little, y - little)
        phone.settle()
        assertEquals(mark.key, part.chosen)
        assertEquals("it was not moved", mark.xPx to mark.yPx, point(mark.key).let { it.xPx to it.yPx })
    }

    @Test fun `a gesture that the system takes away changes nothing`() {
        begin()
        val (heel, turn) = point("heel") to phone.screen.turn
        val (x, y, _) = at(heel.xPx, heel.yPx)
        val before = pixels(phone.root).ints()
        send(MotionEvent.ACTION_DOWN, x, y)
        send(MotionEvent.ACTION_MOVE, x + 80f, y + 80f)
        send(MotionEvent.ACTION_CANCEL, x + 80f, y + 80f)
        phone.settle()
        assertEquals(turn, phone.screen.turn)
        assertTrue("it looks as before", before.contentEquals(pixels(phone.root).ints()))
    }

    @Test fun `who can't drag moves a point step by step, by what a screen reader offers`() {
        begin()
        val nodes = phone.view(PAD).accessibilityNodeProvider
        val (toe, sizes) = point("toe") to part.amount
        val id = part.points.indexOfFirst { it.key == "toe" }
        val node = nodes.createAccessibilityNodeInfo(id)!!
        assertEquals(toe.name, node.contentDescription)
        fun steps(of: AccessibilityAction, count: Int) {
            assertTrue("$of is offered", of in node.actionList)
            repeat(count) { assertTrue(nodes.performAction(id, of.id, null)) }
        }
        // Faster than the core answers.
        steps(AccessibilityAction.ACTION_SCROLL_LEFT, 3)
        steps(AccessibilityAction.ACTION_SCROLL_DOWN, 2)
        phone.settle()
        assertEquals(toe.xPx - 3 * sizes[4] / 100, point("toe").xPx, 0.001)
        assertEquals(toe.yPx + 2 * sizes[4] / 100, point("toe").yPx, 0.001)
    }

    @Test fun `beside every point a finger scrolls the page`() {
        begin()
        val sizes = part.amount
        val free = (0..20).flatMap { across -> (0..20).map { down -> (sizes[2] + sizes[4] * across / 20) to (sizes[3] + sizes[5] * down / 20) } }
            .maxByOrNull { (x, y) -> part.points.minOf { hypot(it.xPx - x, it.yPx - y) } }!!
        val turn = phone.screen.turn
        val (x, y, _) = at(free.first, free.second)
        val before = IntArray(2).also { phone.view(PAD).getLocationInWindow(it) }[1]
        val way = if (before > 300) -200f else 200f
        send(MotionEvent.ACTION_DOWN, x, y)
        for (n in 1..10) send(MotionEvent.ACTION_MOVE, x, y + way * n / 10)
        val after = IntArray(2).also { phone.view(PAD).getLocationInWindow(it) }[1]
        send(MotionEvent.ACTION_UP, x, y + way)
        phone.settle()
        assertTrue("from $before to $after", after != before)
        assertEquals(turn, phone.screen.turn)
    }

    private companion object {
        const val PAD = "picture.pad"
    }
}
