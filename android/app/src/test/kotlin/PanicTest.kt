// A panic in Rust, through Kotlin: an error with a number that changes nothing. It takes a library that was built to
// panic when asked to, as tests/run builds it (CHALKFACE_PANICS=yes).
package chalkface.app

import chalkface.Clock
import chalkface.Device
import chalkface.Event
import chalkface.Fault
import org.junit.Assert.assertArrayEquals
import org.junit.Assert.assertEquals
import org.junit.Assert.assertThrows
import org.junit.Assert.assertTrue
import org.junit.Assume.assumeTrue
import org.junit.Test
import org.junit.runner.RunWith
import org.robolectric.RobolectricTestRunner

@RunWith(RobolectricTestRunner::class)
class PanicTest {
    private val clock = Clock(1_777_881_600_000, 60, ByteArray(16))

    @Test fun `a panic arrives as an error with a number and changes nothing`() {
        assumeTrue(System.getenv("CHALKFACE_PANICS") == "yes")
        val folder = Folders.make("panic")
        val device = Device.open("$folder/book", null, clock)
        device.act(Event.Write("name", "Mina Aalto", 1UL), null, clock)
        val (shown, state) = device.screen() to device.state()
        val numbers = List(2) {
            assertThrows(Fault.Unexpected::class.java) { device.rows("panic on purpose", null, 1U) }.id
        }
        assertTrue("$numbers", numbers[0] < numbers[1])
        assertEquals(shown, device.screen())
        assertArrayEquals(state, device.state())
        device.end()
        device.destroy()
        Folders.drop(folder)
    }
}
