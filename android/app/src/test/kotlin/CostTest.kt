// What the heaviest screens cost to draw and to draw again: views made, views kept, milliseconds on
// the host's JVM. Times are printed, never judged; that nothing is made twice is.
package chalkface.app

import android.app.Activity
import org.junit.Assert.assertEquals
import org.junit.Test
import org.junit.runner.RunWith
import org.robolectric.Robolectric
import org.robolectric.RobolectricTestRunner
import org.robolectric.RuntimeEnvironment

@RunWith(RobolectricTestRunner::class)
class CostTest {
    @Test fun `a screen that comes again makes no view anew`() {
        RuntimeEnvironment.setQualifiers(Look.LIGHT.qualifiers)
        for (place in listOf("shots", "brief", "what_if", "ball", "students", "picture")) {
            val screen = Gallery.places.first { it.screen.place == place }.screen
            val looks = Looks(Robolectric.buildActivity(Activity::class.java).setup().get(), sun = false)
            val blocks = BlocksView(Still(looks), {}, {})
            fun spent(does: () -> Unit): Double { val from = System.nanoTime(); does(); return (System.nanoTime() - from) / 1e6 }
            val first = spent { blocks.show(screen, 0) }
            val made = blocks.made
            blocks.made = 0
            blocks.kept = 0
            val again = (1..20).map { spent { blocks.show(screen.copy(turn = screen.turn + 1UL), it.toLong()) } }.sorted()[10]
            println("OUT $place: $made made in %.1f ms; again %d made, %d kept, %.2f ms".format(first, blocks.made, blocks.kept / 20, again))
            assertEquals(place, 0, blocks.made)
            assertEquals(place, made, blocks.kept / 20)
        }
    }
}
