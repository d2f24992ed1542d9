// What the heaviest screens cost to draw and to draw again: views made, views kept, processor time of
// the main thread on the host's JVM. Times are printed, never judged; that nothing is made twice is.
package chalkface.app

import android.app.Activity
import android.graphics.Bitmap
import android.graphics.Canvas
import android.view.View
import android.view.ViewGroup
import chalkface.Kind
import chalkface.Screen
import org.junit.Assert.assertEquals
import org.junit.Test
import org.junit.runner.RunWith
import org.robolectric.Robolectric
import org.robolectric.RobolectricTestRunner
import org.robolectric.RuntimeEnvironment
import java.lang.management.ManagementFactory

@RunWith(RobolectricTestRunner::class)
class CostTest {
    private val threads = ManagementFactory.getThreadMXBean()

    private fun spent(does: () -> Unit): Double {
        val from = threads.currentThreadCpuTime
        does()
        return (threads.currentThreadCpuTime - from) / 1e6
    }

    private fun median(of: Int, does: (Int) -> Unit) = (1..of).map { n -> spent { does(n) } }.sorted()[of / 2]

    private fun place(name: String) = Gallery.places.first { it.screen.place == name }.screen

    /** A list as long as the longest book's; a screen holds its first hundred rows. */
    private fun long(screen: Screen): Screen = screen.copy(
        parts = screen.parts.map { part ->
            if (part.kind != Kind.ROWS) return@map part
            val rows = (0 until 100).map { part.rows[it % part.rows.size].copy(key = "row$it") }
            part.copy(rows = rows, count = 50_000UL)
        },
    )

    /** The next screen while a thumb slides: the amount, and what it says. */
    private fun slid(screen: Screen, n: Int): Screen = screen.copy(
        turn = screen.turn + n.toULong(),
        parts = screen.parts.map { part ->
            if (part.kind != Kind.AMOUNT) return@map part
            part.copy(says = "$n", amount = listOf(part.amount[1] + n * part.amount[3]) + part.amount.drop(1))
        },
    )

    private fun layOut(blocks: BlocksView) {
        blocks.measure(View.MeasureSpec.makeMeasureSpec(WIDE, View.MeasureSpec.EXACTLY), View.MeasureSpec.makeMeasureSpec(HIGH, View.MeasureSpec.EXACTLY))
        blocks.layout(0, 0, WIDE, HIGH)
    }

    private fun views(of: View): Int = 1 + if (of is ViewGroup) (0 until of.childCount).sumOf { views(of.getChildAt(it)) } else 0

    @Test fun `a screen that comes again makes no view anew`() {
        RuntimeEnvironment.setQualifiers(Look.LIGHT.qualifiers)
        val canvas = Canvas(Bitmap.createBitmap(WIDE, HIGH, Bitmap.Config.ARGB_8888))
        val heavy = listOf("brief" to place("brief"), "what_if" to place("what_if"), "ball" to place("ball"), "picture" to place("picture")) +
            ("shots, 100 of 50,000" to long(Gallery.all.map { it.screen }.first { screen -> screen.place == "shots" && screen.parts.any { it.rows.isNotEmpty() } }))
        // The classes are loaded before anything is measured.
        for (round in 0..1) for ((name, screen) in heavy) {
            val looks = Looks(Robolectric.buildActivity(Activity::class.java).setup().get(), sun = false)
            val blocks = BlocksView(Still(looks), NoDoer, {})
            val first = spent { blocks.show(screen, 0); layOut(blocks) }
            val (made, all) = blocks.made to views(blocks)
            blocks.made = 0
            blocks.kept = 0
            val again = median(20) { blocks.show(screen.copy(turn = screen.turn + it.toULong()), it.toLong()); layOut(blocks) }
            assertEquals(name, 0, blocks.made)
            assertEquals(name, made, blocks.kept / 20)
            assertEquals("$name: views", all, views(blocks))
            val changed = median(20) { blocks.show(slid(screen, it), it.toLong()); layOut(blocks) }
            assertEquals(name, 0, blocks.made)
            val drawn = median(5) { blocks.draw(canvas) }
            if (round == 1) println("OUT | %s | %d of %d | %.1f | %d | %.2f | %.2f | %.1f |".format(name, made, all, first, made, again, changed, drawn))
        }
    }

    private companion object {
        const val WIDE = 411
        const val HIGH = 891
    }
}
