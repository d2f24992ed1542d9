// The stories played by touches on real books: what is in them after each step is what Rust wrote,
// and a phone that is rotated or killed after every event says the same as before.
package chalkface.app

import android.app.Activity
import android.content.Intent
import android.net.Uri
import android.os.Parcelable
import android.provider.MediaStore
import chalkface.EffectKind
import chalkface.Event
import chalkface.Kind
import org.json.JSONObject
import org.junit.After
import org.junit.Assert.assertEquals
import org.junit.Assert.assertTrue
import org.junit.Test
import org.junit.runner.RunWith
import org.robolectric.RobolectricTestRunner
import org.robolectric.RuntimeEnvironment
import org.robolectric.Shadows.shadowOf
import java.io.ByteArrayInputStream
import java.io.File
import java.io.FileOutputStream

/** Plays a story on phones; `each` sees the phone after a step. */
class Played(name: String, private val each: (Phone, JSONObject, Int) -> Unit = { _, _, _ -> }) {
    private val story = story(name)
    private val rust = told(name).filter { it.bytes("entropy").last() == 0.toByte() }
    private val title = name
    val phones = LinkedHashMap<String, Phone>()
    private val files = HashMap<String, ByteArray>()
    private var utcMs = story.getLong("start_ms")
    private var root = false
    private var born = false

    private fun entropy(phone: Int, step: Int, count: Int): ByteArray {
        if (count == 32) {
            root = true
            return ByteArray(32) { (phone + 1).toByte() }
        }
        if (root || born) {
            val value = if (root) phone + 1 else phone
            born = root
            root = false
            return ByteArray(16) { value.toByte() }
        }
        return ByteArray(16).also { it[0] = phone.toByte(); for (n in 0..3) it[1 + n] = (step shr (24 - 8 * n)).toByte() }
    }

    fun play() {
        val steps = story.getJSONArray("steps").objects()
        for ((n, step) in steps.withIndex()) {
            utcMs += 1000 * step.optLong("after_s")
            if (n == story.optInt("meet_before", -1)) meet()
            val no = phones.keys.indexOf(step.getString("device")).let { if (it < 0) phones.size else it }
            val phone = phones.getOrPut(step.getString("device")) { Phone(step.getString("device"), TestTime(utcMs)).apply { start() } }
            phone.time.ms = utcMs
            phone.time.next = { entropy(no, n, it) }
            try {
                does(phone, step)
            } catch (failed: Exception) {
                throw AssertionError("$title, step $n, on ${phone.screen.place}: ${phone.reads()}", failed)
            }
            phone.settle()
            var digests: List<String>? = null
            phone.host.ask({ it.digests() }) { digests = it }
            phone.settle()
            assertEquals("$title, step $n: digests", rust[n].getJSONArray("digests").strings(), digests)
            assertEquals("$title, step $n: place", rust[n].getJSONObject("screen").getString("place"), phone.screen.place)
            each(phone, step, n)
        }
        if (story.optBoolean("equal")) assertEquals("both books hold the same", 1, phones.values.map { digests(it) }.toSet().size)
    }

    fun end() = phones.values.forEach { it.end() }

    private fun digests(phone: Phone): List<String> {
        var found: List<String> = emptyList()
        phone.host.ask({ it.digests() }) { found = it }
        phone.settle()
        assertTrue(found.isNotEmpty())
        return found
    }

    /** Both take in the card of the other; there is no screen for it. */
    private fun meet() {
        val all = phones.values.toList()
        val cards = all.map { phone ->
            var card = ""
            phone.host.ask({ it.card(phone.time.clock()).text }) { card = it }
            phone.settle()
            card
        }
        all.zip(cards.reversed()).forEach { (phone, card) -> phone.host.ask({ it.meet(card) }) {}; phone.settle() }
    }

    private fun does(phone: Phone, step: JSONObject) {
        when {
            step.optBoolean("hand_over") -> {
                val wish = phone.screen.effects.first { it.kind == EffectKind.SHARE }
                phone.press("asked.${wish.id}.do")
                files[phone.name] = shared(phone.activity)
                phone.press("asked.${wish.id}.done")
            }
            step.has("pick") -> {
                val wish = phone.screen.effects.first { it.kind == EffectKind.PICK_FILE }
                phone.press("asked.${wish.id}.do")
                pick(phone.activity, files.getValue(step.getString("pick")))
            }
            step.has("picture") -> picture(phone, File(repository, "tests/replays/${step.getString("picture")}").readBytes())
            step.has("answer") -> answer(phone, step.getJSONObject("answer"))
            else -> event(phone, step)
        }
    }

    private fun answer(phone: Phone, outcome: JSONObject) {
        val wish = phone.screen.effects.first()
        if (outcome.getString("outcome") == "file") {
            picture(phone, hex(outcome.getString("bytes")))
        } else if (outcome.getString("outcome") == "given_up") {
            phone.press("asked.${wish.id}.not_now")
        } else {
            // What the system reports, no touch does.
            phone.host.tell(eventOf(JSONObject().put("event", "answer").put("effect", wish.id.toLong()).put("outcome", outcome)))
        }
    }

    private fun event(phone: Phone, step: JSONObject) {
        val key = step.optString("key").let { wanted ->
            if (!wanted.endsWith("*")) return@let wanted
            val controls = phone.screen.parts.filter { it.kind >= Kind.ACTION }
            controls.first { it.key.startsWith(wanted.removeSuffix("*")) }.key
        }
        val part = phone.screen.parts.firstOrNull { it.key == key }
        val row = row(phone, step, key)
        // What is not offered can't be touched; a story tells it all the same, and nothing comes of it.
        val touched = when {
            row != null -> listOf("$key/$row")
            key.isEmpty() || part?.points.orEmpty().isNotEmpty() || step.optString("event") == "drag" -> emptyList()
            else -> listOfNotNull(key, step.optString("option").ifEmpty { null }?.let { "$key/$it" })
        }
        if (touched.any { phone.found(it) == null }) {
            phone.host.tell(eventOf(if (row == null) step else JSONObject(step.toString()).put("row", row)))
            return
        }
        when (step.getString("event")) {
            "press" -> phone.press(key)
            "choose" -> choose(phone, key, step.getString("option"))
            "switch" -> if ((phone.screen.parts.first { it.key == key }).on != step.getBoolean("on")) phone.press(key)
            else -> further(phone, step, key)
        }
    }

    /** The numbers of drags that a story has used, by point. */
    private val drags = HashMap<String, Long>()

    /** How many of them a thumb has made. */
    var dragged = 0
        private set

    private fun drag(phone: Phone, step: JSONObject, key: String) {
        fun point() = phone.screen.parts.first { it.key == key }.points.first { it.key == step.getString("point") }
        // A number that was used before is no drag of a thumb, and nothing comes of it.
        val no = step.getLong("no")
        if (no <= (drags["$key/${step.getString("point")}"] ?: 0)) {
            phone.host.tell(eventOf(step))
            return
        }
        drags["$key/${step.getString("point")}"] = no
        val (from, to) = (point().xPx to point().yPx) to (step.getDouble("x_px") to step.getDouble("y_px"))
        val sizes = phone.screen.parts.first { it.key == key }.amount
        fun seen(at: Pair<Double, Double>) = at.first - sizes[2] in 0.0..sizes[4] && at.second - sizes[3] in 0.0..sizes[5]
        // Nor does a thumb reach what is not shown.
        if (!seen(from) || !seen(to)) {
            phone.host.tell(Event.Drag(key, step.getString("point"), to.first, to.second, point().no + 1UL))
            return
        }
        phone.drag(phone.view(key), sizes, from, to)
        dragged++
        assertEquals("$title: dragged across", to.first, point().xPx, 0.01)
        assertEquals("$title: dragged down", to.second, point().yPx, 0.01)
        // A thumb's place has fewer digits than the story's; what comes of it is compared to the last one.
        phone.host.tell(Event.Drag(key, step.getString("point"), to.first, to.second, point().no + 1UL))
    }

    /** The row of a step, which may be named by its number. */
    private fun row(phone: Phone, step: JSONObject, key: String): String? = step.opt("row")?.let { row ->
        if (row is Int) phone.screen.parts.first { it.key == key }.rows[row].key else row as String
    }

    private fun touch(phone: Phone, step: JSONObject, key: String) {
        val (x, y) = step.getDouble("x_mm") to step.getDouble("y_mm")
        val scene = phone.screen.parts.first { it.key == key }.scene!!
        // No thumb reaches beside the drawing.
        if (x in 0.0..scene.widthMm && y in 0.0..scene.heightMm) phone.touch(key, x, y) else phone.host.tell(eventOf(step))
    }

    private fun choose(phone: Phone, key: String, option: String) {
        val part = phone.screen.parts.first { it.key == key }
        part.points.firstOrNull { it.key == option }?.let { point ->
            return phone.drag(phone.view(key), part.amount, point.xPx to point.yPx, point.xPx to point.yPx)
        }
        val touch = phone.screen.parts.first { it.key == key }.kind == Kind.TOUCH
        if (touch && !phone.view("$key/$option").isShown) phone.press("$key.zones")
        phone.press("$key/$option")
    }

    private fun further(phone: Phone, step: JSONObject, key: String) {
        when (val kind = step.getString("event")) {
            // A number that was used before is no keyboard's; nothing comes of it.
            "write" -> if (step.getLong("no") <= phone.screen.parts.first { it.key == key }.no.toLong()) {
                phone.host.tell(eventOf(step))
            } else {
                phone.write(key, step.getString("text"))
                phone.pause()
                // A keyboard for numbers has no letters; a story tells them all the same.
                if (phone.screen.parts.first { it.key == key }.text != step.getString("text")) phone.host.tell(eventOf(step))
            }
            "touch" -> touch(phone, step, key)
            "drag" -> drag(phone, step, key)
            "open" -> phone.press("$key/${row(phone, step, key)}")
            "go" -> phone.press("tab.${step.getString("tab")}")
            "back" -> phone.press("back")
            "undo" -> phone.press("undo")
            "dismiss" -> phone.press("away.${step.getLong("notice")}")
            else -> phone.host.tell(eventOf(step)).also { check(kind in listOf("slide", "wake", "answer")) { kind } }
        }
    }
}

/** The camera's program takes one, or one is picked. */
fun picture(phone: Phone, bytes: ByteArray) {
    val wish = phone.screen.effects.first()
    phone.press("asked.${wish.id}.do")
    if (wish.kind == EffectKind.PICK_FILE) return pick(phone.activity, bytes, "face.jpg")
    val asked = shadowOf(phone.activity).nextStartedActivityForResult
    assertEquals(MediaStore.ACTION_IMAGE_CAPTURE, asked.intent.action)
    @Suppress("DEPRECATION") val into = asked.intent.getParcelableExtra<Uri>(MediaStore.EXTRA_OUTPUT)!!
    phone.activity.contentResolver.openFileDescriptor(into, "rwt")!!.use { FileOutputStream(it.fileDescriptor).write(bytes) }
    shadowOf(phone.activity).receiveResult(asked.intent, Activity.RESULT_OK, null)
    phone.settle()
    assertEquals("the picture is not kept", 0, File(phone.activity.cacheDir, "pictures").listFiles().orEmpty().size)
}

@Suppress("DEPRECATION")
fun shared(activity: Activity): ByteArray {
    val chooser = shadowOf(activity).nextStartedActivity
    assertEquals(Intent.ACTION_CHOOSER, chooser.action)
    val send = chooser.getParcelableExtra<Parcelable>(Intent.EXTRA_INTENT) as Intent
    assertTrue("the receiver may read it", send.flags and Intent.FLAG_GRANT_READ_URI_PERMISSION != 0)
    val uri = send.getParcelableExtra<Uri>(Intent.EXTRA_STREAM)!!
    return activity.contentResolver.openInputStream(uri)!!.use { it.readBytes() }
}

fun pick(activity: Activity, bytes: ByteArray, name: String = "news.chalk") {
    val asked = shadowOf(activity).nextStartedActivityForResult
    assertEquals(Intent.ACTION_OPEN_DOCUMENT, asked.intent.action)
    val uri = Uri.parse("content://com.example.documents/document/$name")
    shadowOf(activity.contentResolver).registerInputStream(uri, ByteArrayInputStream(bytes))
    shadowOf(activity).receiveResult(asked.intent, Activity.RESULT_OK, Intent().setData(uri))
}

@RunWith(RobolectricTestRunner::class)
class StoryTest {
    private var played: Played? = null

    /** Turned, half of a split screen, and upright. */
    private val shapes = listOf("w891dp-h411dp-land-xhdpi", "w411dp-h440dp-port-xhdpi", "w411dp-h891dp-port-xhdpi")

    @After fun ends() {
        played?.end()
    }

    @Test fun `two people, two books - all by touches, and the books are those of Rust`() {
        played = Played("two-devices").also { it.play() }
    }

    @Test fun `every other story by touches`() {
        for (name in stories() - "two-devices") {
            played = Played(name).also { it.play() }
            if (name == "a-picture") assertTrue("points are dragged by touch", played!!.dragged >= 4)
            ends()
        }
    }

    @Test fun `a phone that is turned, shares its screen or is killed after an event says the same as before`() {
        // After every event in the long form, which takes minutes.
        val every = if (System.getProperty("all") == "yes") 1 else 5
        var done = 0
        played = Played("two-devices") { phone, _, n ->
            if (n % every != 0) return@Played
            val before = phone.reads()
            if (++done % 2 == 0) phone.kill() else phone.rotate(shapes[done / 2 % shapes.size])
            assertEquals("step $n on ${phone.screen.place}", before, phone.reads())
        }.also { it.play() }
        assertTrue(done > 30)
        RuntimeEnvironment.setQualifiers(shapes.last())
    }
}
