// Every story once more through the bindings: screens, state bytes and digests are Rust's.
package chalkface.app

import chalkface.Answered
import chalkface.Clock
import chalkface.Device as Core
import chalkface.Event
import chalkface.KeysWanted
import chalkface.Screen
import org.json.JSONObject
import org.junit.Assert.assertEquals
import org.junit.Assert.assertTrue
import org.junit.Test
import org.junit.runner.RunWith
import org.robolectric.RobolectricTestRunner
import java.io.File

/** The event of a step, as the core writes it. */
fun eventOf(of: JSONObject): Event = when (val kind = of.getString("event")) {
    "wake" -> Event.Wake
    "press" -> Event.Press(of.getString("key"))
    "choose" -> Event.Choose(of.getString("key"), of.getString("option"))
    "switch" -> Event.Switch(of.getString("key"), of.getBoolean("on"))
    "write" -> Event.Write(of.getString("key"), of.getString("text"), of.getLong("no").toULong())
    "slide" -> Event.Slide(of.getString("key"), of.getDouble("value"), of.getLong("no").toULong())
    "touch" -> Event.Touch(of.getString("key"), of.getDouble("x_mm"), of.getDouble("y_mm"))
    "open" -> Event.Open(of.getString("key"), of.getString("row"))
    "drag" -> Event.Drag(of.getString("key"), of.getString("point"), of.getDouble("x_px"), of.getDouble("y_px"), of.getLong("no").toULong())
    "go" -> Event.Go(of.getString("tab"))
    "back" -> Event.Back
    "undo" -> Event.Undo
    "dismiss" -> Event.Dismiss(of.getLong("notice").toULong())
    "answer" -> Event.Answer(of.getLong("effect").toULong(), answered(of.getJSONObject("outcome")))
    else -> error("no such event: $kind")
}

private fun answered(of: JSONObject): Answered = when (val kind = of.getString("outcome")) {
    "done" -> Answered.Done
    "given_up" -> Answered.GivenUp
    "failed" -> Answered.Failed(of.getString("why"))
    "lost" -> Answered.Lost
    else -> error("no such outcome: $kind")
}

@RunWith(RobolectricTestRunner::class)
class ReplayTest {
    private class Device(val no: Int, folder: File) {
        val path = File(folder, "$no.book").path
        lateinit var core: Core
        var handedOver = ByteArray(0)

        fun open(clock: Clock, state: ByteArray? = null) {
            core = Core.open(path, state, clock)
        }

        fun fill(value: Int, count: Int) = ByteArray(count) { value.toByte() }

        fun keys(clock: Clock) {
            val made = { core.makeKeys(fill(no + 1, 32)) }
            when (core.keysWanted()) {
                KeysWanted.NONE -> Unit
                KeysWanted.NEW -> core.beginKeys(made(), fill(no + 1, 16), clock.copy(entropy = fill(no, 16)))
                KeysWanted.KEPT -> core.giveKeys(made())
            }
        }

        fun settle() {
            while (true) {
                val ticket = core.work() ?: return
                ticket.run()
                core.finish(ticket)
                ticket.destroy()
            }
        }
    }

    companion object {
    /** Plays a story through the bindings; `each` sees each step and its screen. */
    fun play(name: String, killed: Boolean, each: (JSONObject, String, Screen) -> Unit = { _, _, _ -> }) {
        val meetBefore = story(name).optInt("meet_before", -1)
        val folder = Folders.make("replay")
        val devices = LinkedHashMap<String, Device>()
        // Answers to a buzz are steps of their own here, and none in the story.
        var n = -1
        for (step in told(name)) {
            val clock = Clock(step.getLong("utc_ms"), step.getInt("offset_min").toShort(), step.bytes("entropy"))
            val known = devices.size
            val device = devices.getOrPut(step.getString("device")) { Device(known, folder) }
            if (devices.size > known) device.open(clock)
            if (clock.entropy.last() == 0.toByte()) n++
            if (n == meetBefore && clock.entropy.last() == 0.toByte()) {
                devices.values.forEach { it.keys(clock) }
                val cards = devices.values.map { it.core.card(clock.copy(entropy = it.fill(it.no, 16))).text }
                devices.values.zip(cards.reversed()).forEach { (one, card) -> one.core.meet(card) }
            }
            val does = step.getJSONObject("does")
            when {
                does.has("picked") -> {
                    val file = direct(devices.getValue(does.getString("from")).handedOver)
                    device.core.picked(does.getLong("picked").toULong(), "news.chalk", file, clock)
                }
                does.has("hand_over") -> {
                    device.keys(clock)
                    device.handedOver = device.core.content(does.getLong("hand_over").toULong())
                    device.core.act(Event.Answer(does.getLong("hand_over").toULong(), Answered.Done), null, clock)
                }
                does.has("given") -> {
                    val file = File(repository, "tests/replays/${does.getString("file")}")
                    device.core.picked(does.getLong("given").toULong(), file.name, direct(file.readBytes()), clock)
                }
                does.getJSONObject("event").optJSONObject("outcome")?.optString("outcome") == "file" -> {
                    val told = does.getJSONObject("event")
                    val file = told.getJSONObject("outcome")
                    device.core.picked(told.getLong("effect").toULong(), file.getString("name"), direct(hex(file.getString("bytes"))), clock)
                }
                else -> {
                    val told = does.getJSONObject("event")
                    device.core.act(eventOf(told), told.optLong("seen", -1).takeIf { it >= 0 }?.toULong(), clock)
                }
            }
            device.settle()
            val what = "$name, step $n"
            val screen = device.core.screen()
            assertSame(what, step.getJSONObject("screen"), screen)
            each(step, step.getString("device"), screen)
            assertEquals("$what: state", step.getString("state"), device.core.state().joinToString("") { "%02x".format(it) })
            assertEquals("$what: digests", step.getJSONArray("digests").strings(), device.core.digests())
            if (killed) {
                val state = device.core.state()
                device.core.end()
                device.core.destroy()
                device.open(clock, state)
            }
            device.keys(clock)
            device.settle()
        }
        assertTrue("$name has no steps", n > 0)
        devices.values.forEach { it.core.end() }
        Folders.drop(folder)
    }
    }

    @Test fun `every story shows, keeps and holds what it does in Rust`() = stories().forEach { play(it, killed = false) }

    @Test fun `and so it does on a device that is killed after every event`() = stories().forEach { play(it, killed = true) }
}
