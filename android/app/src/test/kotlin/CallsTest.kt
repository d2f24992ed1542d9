// What a call across the binding costs from Kotlin: printed, never judged, as another machine has other
// figures. With -Dbooks=DIR also on the largest books, which this makes there (paths: DIR/student.book, DIR/coach.book):
//   cargo run --release -p chalkface-tests --example screen_costs student DIR/student.book   (and coach)
package chalkface.app

import chalkface.Clock
import chalkface.Device
import chalkface.Event
import org.junit.Assert.assertTrue
import org.junit.Test
import org.junit.runner.RunWith
import org.robolectric.RobolectricTestRunner
import java.io.File

@RunWith(RobolectricTestRunner::class)
class CallsTest {
    private var ms = 1_777_881_600_000 + 400L * 86_400_000

    private fun clock() = Clock(++ms, 60, ByteArray(16))

    private fun spent(does: () -> Unit): Double {
        val from = System.nanoTime()
        does()
        return (System.nanoTime() - from) / 1e3
    }

    /** Microseconds of the shortest of many, each of ten calls; of a few, where one takes a millisecond. */
    private fun least(does: () -> Unit) =
        if (spent(does) > 1000) (1..5).minOf { spent(does) } else (1..60).minOf { spent { repeat(10) { does() } } / 10 }

    private fun Device.settle() {
        while (true) {
            val ticket = work() ?: return
            ticket.run()
            finish(ticket)
            ticket.destroy()
        }
    }

    /** `way` leads to a screen with a text, `field`. */
    private fun told(what: String, path: String, field: String, way: List<Event>) {
        // The first opening also looks the library's functions up.
        val first = (1..5).minOf { var device: Device? = null; spent { device = Device.open(path, null, clock()).also { it.screen() } }.also { device!!.end(); device!!.destroy() } }
        val device = Device.open(path, null, clock())
        for (event in way) device.act(event, null, clock()).also { device.settle() }
        assertTrue("$what: no $field on ${device.screen().place}", device.screen().parts.any { it.key == field })
        val (digests, screen) = least { device.digests() } to least { device.screen() }
        var no = 1000UL
        val act = least { device.act(Event.Write(field, "Mina Aalto", ++no), null, clock()) }
        val both = least { device.act(Event.Write(field, "Mina Aalto", ++no), null, clock()); device.screen() }
        println("OUT calls from Kotlin, $what: first screen %.1f ms; digests %.1f µs, screen %.0f µs, act (a text of ten letters) %.0f µs, both %.0f µs".format(first / 1e3, digests, screen, act, both))
        device.end()
        device.destroy()
    }

    @Test fun `what a call costs is told`() {
        val folder = Folders.make("calls")
        told("an empty book", "$folder/book", "name", emptyList())
        Folders.drop(folder)
        val books = System.getProperty("books")?.ifEmpty { null } ?: return
        check(File(books, "student.book").isFile && File(books, "coach.book").isFile) { "$books has no largest books" }
        told("50,000 balls", "$books/student.book", "me.born", listOf(Event.Go("more"), Event.Press("more.me")))
        told("300 students", "$books/coach.book", "students.search", listOf(Event.Go("students")))
    }
}
