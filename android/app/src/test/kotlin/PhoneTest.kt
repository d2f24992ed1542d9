// What a phone does beside drawing: effects and how they end, keys, files of other programs,
// back, insets, the rest alarm; and what survives while screens come and go.
package chalkface.app

import android.app.Activity
import android.app.AlarmManager
import android.app.NotificationManager
import android.content.ComponentCallbacks2
import android.content.Intent
import android.net.Uri
import android.os.Looper
import android.os.Parcelable
import android.view.HapticFeedbackConstants
import android.view.View
import android.view.WindowInsets
import android.view.WindowManager
import android.widget.EditText
import android.widget.SeekBar
import chalkface.Answered
import chalkface.Clock
import chalkface.Device
import chalkface.EffectKind
import chalkface.Event
import chalkface.KeysWanted
import org.junit.After
import org.junit.Assert.assertArrayEquals
import org.junit.Assert.assertEquals
import org.junit.Assert.assertFalse
import org.junit.Assert.assertNotNull
import org.junit.Assert.assertNull
import org.junit.Assert.assertSame
import org.junit.Assert.assertThrows
import org.junit.Assert.assertTrue
import org.junit.Test
import org.junit.runner.RunWith
import org.robolectric.RobolectricTestRunner
import org.robolectric.RuntimeEnvironment
import org.robolectric.Shadows.shadowOf
import org.robolectric.shadows.ShadowAlertDialog
import org.robolectric.shadows.ShadowDialog
import org.robolectric.shadows.ShadowToast
import java.io.ByteArrayInputStream
import java.io.File
import java.io.FileNotFoundException
import java.io.InputStream
import java.lang.ref.WeakReference
import java.time.Duration
import java.util.concurrent.TimeUnit

@RunWith(RobolectricTestRunner::class)
class PhoneTest {
    private val phones = ArrayList<Phone>()
    private val app get() = RuntimeEnvironment.getApplication()

    private fun phone(wrapper: KeyKeeper.Wrapper = PlainWrapper()) = Phone("one", wrapper = wrapper).also { phones += it }.start()

    private fun student(wrapper: KeyKeeper.Wrapper = PlainWrapper()) = phone(wrapper).apply {
        write("name", "Mina Aalto")
        press("begin")
    }

    @After fun ends() = phones.forEach { it.end() }

    /** The student knows this coach: their cards were exchanged. */
    private fun Phone.knows(coach: String) {
        var n = 0
        fun clock() = Clock(time.ms, 60, ByteArray(16).also { it[0] = 77; it[1] = (++n).toByte() })
        val other = Device.open(File(folder, "other.book").path, null, clock())
        other.act(Event.Choose("role", "coach"), null, clock())
        other.act(Event.Write("name", coach, 1UL), null, clock())
        other.act(Event.Press("begin"), null, clock())
        other.beginKeys(other.makeKeys(ByteArray(32) { 77 }), ByteArray(16) { 78 }, clock())
        val card = other.card(clock()).text
        other.end()
        host.ask({ it.meet(card) }) {}
        settle()
    }

    private fun Phone.sends(): ULong {
        knows("Ruth Ferrand")
        press("tab.more")
        press("more.send")
        press("send.make")
        return screen.effects.first { it.kind == EffectKind.SHARE }.id
    }

    @Test fun `a ball is logged in three touches, with a loupe while the thumb is down and a buzz when it is saved`() {
        val phone = student()
        phone.press("tab.ball")
        val before = phone.screen.turn
        val pad = phone.view("ball.face") as SceneView
        val box = phone.reveal(pad)
        val plain = pixels(phone.root).ints()
        phone.send(android.view.MotionEvent.ACTION_DOWN, box.exactCenterX(), box.exactCenterY(), 1000)
        assertFalse("the loupe is to be seen", plain.contentEquals(pixels(phone.root).ints()))
        phone.send(android.view.MotionEvent.ACTION_UP, box.exactCenterX(), box.exactCenterY(), 1000)
        phone.settle()
        phone.press("ball.flight/1:1")
        phone.press("ball.save")
        // The fourth is the answer to the buzz.
        assertTrue(phone.screen.turn - before <= 4UL)
        phone.says("Ball 1 saved")
        assertEquals(HapticFeedbackConstants.CONFIRM, shadowOf(phone.activity.blocks).lastHapticFeedbackPerformed())
        assertTrue("it was answered", phone.screen.effects.none { it.kind == EffectKind.BUZZ })
    }

    @Test fun `who can't see the face chooses a zone by name`() {
        val phone = student()
        phone.press("tab.ball")
        val pad = phone.view("ball.face") as SceneView
        val host = pad.accessibilityNodeProvider.createAccessibilityNodeInfo(View.NO_ID)!!
        val action = host.actionList.first { it.label != null }
        assertTrue(pad.accessibilityNodeProvider.performAction(View.NO_ID, action.id, null))
        phone.settle()
        assertTrue(phone.screen.parts.first { it.key == "ball.face" }.says.isNotEmpty())
    }

    @Test fun `a file is shared by a grant, once, and nothing else can be read`() {
        val phone = student()
        val wish = phone.sends()
        phone.press("asked.$wish.do")
        val chooser = shadowOf(phone.activity).nextStartedActivity
        @Suppress("DEPRECATION") val send = chooser.getParcelableExtra<Parcelable>(Intent.EXTRA_INTENT) as Intent
        @Suppress("DEPRECATION") val uri = send.getParcelableExtra<Uri>(Intent.EXTRA_STREAM)!!
        assertTrue(app.contentResolver.openInputStream(uri)!!.use { it.readBytes() }.size > 100)
        val provider = app.packageManager.resolveContentProvider("chalkface.app.files", 0)!!
        assertFalse(provider.exported)
        assertTrue(provider.grantUriPermissions)
        val segments = uri.pathSegments
        for (path in listOf("..%2F..%2Fbook", segments[0], "${segments[0]}/other", "x/${segments[1]}", "${segments[0]}/..%2F..%2Fbook")) {
            assertThrows(path, FileNotFoundException::class.java) { app.contentResolver.openInputStream(Uri.parse("content://chalkface.app.files/$path")) }
        }
        assertThrows(FileNotFoundException::class.java) { app.contentResolver.openOutputStream(uri) }
        SharedFiles.put(app, "another.chalk", byteArrayOf(1))
        assertThrows("the one before is gone", FileNotFoundException::class.java) { app.contentResolver.openInputStream(uri) }
        phone.press("asked.$wish.done")
        phone.says("Handed over for Ruth Ferrand")
        assertTrue(phone.screen.effects.isEmpty())
    }

    @Test fun `one's card is copied as text too, and what is sealed is not`() {
        val phone = student()
        val wish = phone.sends()
        assertNull(phone.found("asked.$wish.copy"))
        phone.press("asked.$wish.not_now")
        for (key in listOf("tab.more", "more.people", "people.share")) phone.press(key)
        val card = phone.screen.effects.single().id
        var text = ""
        phone.host.content(card.toLong()) { text = it.decodeToString() }
        phone.settle()
        phone.press("asked.$card.copy")
        val board = app.getSystemService(android.content.ClipboardManager::class.java)
        assertTrue(text.length > 100)
        assertEquals(text, board.primaryClip!!.getItemAt(0).text.toString())
        phone.says("Your card was handed over")
        assertTrue(phone.screen.effects.isEmpty())
    }

    @Test fun `effects end as done, not now, failed and lost, and a second answer changes nothing`() {
        val phone = student()
        val wish = phone.sends()
        phone.press("asked.$wish.not_now")
        assertTrue(phone.screen.effects.isEmpty())
        phone.press("send.make")
        val again = phone.screen.effects.single().id
        phone.host.tell(Event.Answer(again, Answered.Failed("the disk is full")))
        phone.settle()
        phone.says("That did not work: the disk is full")
        phone.host.tell(Event.Answer(again, Answered.Done))
        phone.settle()
        assertTrue(phone.screen.notices.none { "Handed over" in it.text })
        phone.press("send.make")
        phone.host.tell(Event.Answer(phone.screen.effects.single().id, Answered.Lost))
        phone.settle()
        assertTrue(phone.screen.effects.isEmpty())
    }

    @Test fun `a wish outlives the process, and can still be done`() {
        val phone = student()
        val wish = phone.sends()
        phone.kill()
        assertEquals(wish, phone.screen.effects.single().id)
        phone.press("asked.$wish.do")
        assertNotNull(shadowOf(phone.activity).nextStartedActivity)
    }

    @Test fun `a picked file that comes after a kill is taken, a cancelled choice can be made again, and what can't be read is told`() {
        val phone = student()
        phone.press("tab.more")
        phone.press("more.take_in")
        phone.press("take_in.pick")
        val wish = phone.screen.effects.single().id
        phone.press("asked.$wish.do")
        val asked = shadowOf(phone.activity).nextStartedActivityForResult
        shadowOf(phone.activity).receiveResult(asked.intent, Activity.RESULT_CANCELED, null)
        phone.settle()
        phone.press("asked.$wish.do")
        pick(phone.activity, "not one of ours".toByteArray(), "odd.chalk")
        phone.settle()
        assertTrue(phone.screen.effects.isEmpty() && phone.screen.notices.any { it.problem })
        phone.press("take_in.pick")
        phone.press("asked.${phone.screen.effects.single().id}.do")
        val broken = shadowOf(phone.activity).nextStartedActivityForResult
        val gone = Uri.parse("content://com.example.gone/1")
        shadowOf(app.contentResolver).registerInputStreamSupplier(gone) { throw SecurityException("no") }
        shadowOf(phone.activity).receiveResult(broken.intent, Activity.RESULT_OK, Intent().setData(gone))
        phone.settle()
        phone.says("the file could not be read")
    }

    @Test fun `a file that another program opens is looked into - hostile, huge and half-written ones are told`() {
        val phone = student()
        val resolver = shadowOf(app.contentResolver)
        fun away() = phone.screen.notices.forEach { phone.press("away.${it.id}") }
        away()
        fun opened(uri: Uri): List<String> {
            phone.controller.newIntent(Intent(Intent.ACTION_VIEW).setDataAndType(uri, "application/octet-stream"))
            phone.settle()
            val said = phone.screen.notices.map { it.text } + listOfNotNull(ShadowToast.getTextOfLatestToast())
            away()
            ShadowToast.reset()
            return said
        }
        val half = Uri.parse("content://com.example.mail/half")
        resolver.registerInputStreamSupplier(half) { ByteArrayInputStream(ByteArray(500) { it.toByte() }) }
        assertEquals(1, opened(half).size)
        // More than is taken in, without end.
        val huge = Uri.parse("content://com.example.mail/huge")
        resolver.registerInputStreamSupplier(huge) { object : InputStream() {
            override fun read() = 7
            override fun read(into: ByteArray, from: Int, count: Int) = count
        } }
        assertTrue(opened(huge).single().contains("large", ignoreCase = true) || phone.screen.notices.isEmpty())
        for (hostile in listOf("file:///data/data/chalkface.app/no_backup/chalkface/keys", "content://chalkface.app.files/x/y", "content://0@chalkface.app.files/x/y")) {
            assertEquals(hostile, listOf(Hosts.words.unreadable), opened(Uri.parse(hostile)))
        }
        assertNotNull(app.packageManager.resolveActivity(Intent(Intent.ACTION_VIEW).setDataAndType(half, "application/octet-stream").setPackage(app.packageName), 0))
        assertNotNull(app.packageManager.resolveActivity(Intent(Intent.ACTION_SEND).setType("application/octet-stream").setPackage(app.packageName), 0))
    }

    @Test fun `keys are wrapped by the system's store, the twelve words are told until they are on paper, and a lost key is told`() {
        FakeKeyStore.use {
            val store = StoreWrapper(KeyKeeper.ALIAS)
            val phone = student(store)
            val dialog = ShadowAlertDialog.getLatestDialog() as android.app.AlertDialog
            val words = dialog.findViewById<android.widget.TextView>(android.R.id.message).text.toString()
            assertTrue(words, words.startsWith("Your twelve words:"))
            assertTrue("no picture of them", dialog.window!!.attributes.flags and WindowManager.LayoutParams.FLAG_SECURE != 0)
            val kept = File(phone.folder, "keys").readBytes()
            assertFalse("AGE-SECRET" in String(kept, Charsets.ISO_8859_1))
            assertTrue("AGE-SECRET" in String(store.unwrap(kept)))
            phone.kill()
            val again = ShadowAlertDialog.getLatestDialog() as android.app.AlertDialog
            assertTrue(again !== dialog && again.isShowing)
            again.getButton(android.app.AlertDialog.BUTTON_POSITIVE).performClick()
            phone.settle()
            assertFalse(File(phone.folder, "words").exists())
            // The book's keys are given at each start.
            phone.host.ask({ it.keysWanted() }) { assertEquals(KeysWanted.NONE, it) }
            phone.settle()
            File(phone.folder, "keys").writeBytes(kept.copyOf(kept.size - 1))
            phone.kill()
            val lost = shadowOf(ShadowAlertDialog.getLatestDialog() as android.app.AlertDialog)
            assertEquals(Hosts.words.keysLost, lost.message)
            phone.press("tab.ball")
            assertEquals("the book is still used", "ball", phone.screen.place)
        }
    }

    @Test fun `without a key store nothing ends, and nothing can be sent`() {
        val phone = student(StoreWrapper(KeyKeeper.ALIAS))
        phone.press("tab.more")
        phone.press("more.send")
        phone.write("send.new", "Ruth")
        phone.press("send.make")
        phone.says("has no keys")
    }

    @Test fun `back is the app's where the screen leads back, else the system's`() {
        val phone = student()
        assertNull(phone.screen.back)
        phone.press("tab.more")
        phone.press("more.me")
        assertNotNull(phone.screen.back)
        @Suppress("DEPRECATION") phone.activity.onBackPressed()
        phone.settle()
        assertEquals("more", phone.screen.place)
        phone.press("tab.today")
        @Suppress("DEPRECATION") phone.activity.onBackPressed()
        assertTrue(phone.activity.isFinishing)
    }

    @Test fun `bars, a notch and the keyboard hide nothing`() {
        val phone = student()
        val insets = WindowInsets.Builder()
            .setInsets(WindowInsets.Type.statusBars(), android.graphics.Insets.of(0, 60, 0, 0))
            .setInsets(WindowInsets.Type.navigationBars(), android.graphics.Insets.of(0, 0, 0, 96))
            .setInsets(WindowInsets.Type.displayCutout(), android.graphics.Insets.of(40, 0, 0, 0))
        phone.root.dispatchApplyWindowInsets(insets.build())
        phone.layOut()
        fun bounds(view: View) = android.graphics.Rect().also { view.getGlobalVisibleRect(it) }
        val all = bounds(phone.activity.blocks)
        assertEquals(listOf(40, 60, phone.root.height - 96), listOf(all.left, all.top, all.bottom))
        phone.press("tab.more")
        phone.press("more.me")
        val field = phone.view("me.born")
        phone.reveal(field)
        field.requestFocus()
        insets.setInsets(WindowInsets.Type.ime(), android.graphics.Insets.of(0, 0, 0, 900)).setVisible(WindowInsets.Type.ime(), true)
        phone.root.dispatchApplyWindowInsets(insets.build())
        phone.layOut()
        phone.layOut()
        val seen = bounds(field)
        assertTrue("$seen", seen.height() == field.height && seen.bottom <= phone.root.height - 900)
    }

    @Test fun `focus, caret and what is being written survive screens that come meanwhile, turning and a kill`() {
        val phone = phone()
        phone.write("name", "Mina Alto")
        val field = phone.view("name") as EditText
        field.setSelection(6)
        phone.host.tell(Event.Choose("units", "imperial"))
        phone.settle()
        assertSame("the same view", field, phone.view("name"))
        assertTrue(field.isFocused)
        assertEquals("Mina Alto", field.text.toString())
        assertEquals(6, field.selectionStart)
        phone.pause()
        phone.rotate("+land")
        val turned = phone.view("name") as EditText
        assertTrue(turned !== field && turned.isFocused)
        assertEquals("Mina Alto" to 6, turned.text.toString() to turned.selectionStart)
        turned.text.insert(6, "a")
        phone.kill()
        assertEquals("Mina Aalto" to 7, (phone.view("name") as EditText).let { it.text.toString() to it.selectionStart })
        phone.rotate("+port")
    }

    @Test fun `older answers never overwrite what is written since`() {
        val phone = phone()
        phone.write("name", "M")
        phone.activity.blocks.flush()
        phone.write("name", "Mi")
        phone.settle()
        assertEquals("Mi", (phone.view("name") as EditText).text.toString())
        phone.pause()
        assertEquals("Mi", phone.screen.parts.first { it.key == "name" }.text)
    }

    @Test fun `a rest that is running keeps the screen on, and tells its end when the app is out of sight`() {
        val played = Played("two-devices") { phone, step, n ->
            if (step.optString("show") == "a drill under way") {
                assertTrue(phone.activity.window.attributes.flags and WindowManager.LayoutParams.FLAG_KEEP_SCREEN_ON != 0)
            }
        }
        try {
            played.play()
        } finally {
            played.end()
        }
        val phone = student()
        val ends = phone.time.ms + 60_000
        val part = chalkface.Part(
            chalkface.Kind.CLOCK, "clock", false, "Rest", "", "", "", null, "", "", false, 0UL, emptyList(), 0UL, null, ends, 60u,
            emptyList(), null, emptyList(), emptyList(), emptyList(), "", emptyList(), null,
        )
        val alarm = RestAlarm(phone.activity)
        alarm.set(listOf(part), phone.time.ms)
        val waiting = shadowOf(app.getSystemService(AlarmManager::class.java)).scheduledAlarms.single()
        assertEquals(ends, waiting.triggerAtMs)
        waiting.onAlarmListener!!.onAlarm()
        val notice = shadowOf(app.getSystemService(NotificationManager::class.java)).allNotifications.single()
        assertEquals("Rest", notice.extras.getString("android.title"))
        assertEquals("over", notice.extras.getString("android.text"))
        alarm.cancel()
        assertEquals(0, shadowOf(app.getSystemService(NotificationManager::class.java)).allNotifications.size)
    }

    @Test fun `the copy for another phone is a whole book`() {
        val phone = student()
        phone.controller.pause().stop()
        phone.settle()
        val copy = Hosts.snapshot(app)
        assertArrayEquals("SQLite format 3".toByteArray(), copy.readBytes().copyOf(15))
        phone.controller.start().resume()
        val book = File(phone.folder, "other/book")
        Hosts.takeBack(app, book)
        assertEquals(copy.length(), book.length())
    }

    @Test fun `memory that the system wants back - views that were turned away are let go, and a warning changes nothing`() {
        val phone = student()
        phone.press("tab.ball")
        // In a function of its own, so that no local of this test holds them.
        val gone = (1..6).map { n -> turned(phone, n) }
        val before = phone.reads()
        for (level in listOf(ComponentCallbacks2.TRIM_MEMORY_RUNNING_CRITICAL, ComponentCallbacks2.TRIM_MEMORY_COMPLETE)) {
            phone.activity.onTrimMemory(level)
            phone.activity.onLowMemory()
        }
        phone.settle()
        assertEquals(before, phone.reads())
        // The system's stand-in keeps each dialog that was shown, and its activity; scroll bars are still to fade.
        ShadowDialog.reset()
        shadowOf(Looper.getMainLooper()).idleFor(Duration.ofMinutes(1))
        val end = System.nanoTime() + TimeUnit.SECONDS.toNanos(20)
        while (gone.any { it.get() != null } && System.nanoTime() < end) {
            System.gc()
            Thread.sleep(10)
        }
        assertEquals("views of six turns that are still held", 0, gone.count { it.get() != null })
    }

    private fun turned(phone: Phone, n: Int): WeakReference<View> {
        val old = WeakReference<View>(phone.activity.blocks)
        phone.rotate(if (n % 2 == 1) "+land" else "+port")
        return old
    }

    @Test fun `the switch to full sun changes the colours and keeps the place`() {
        val phone = student()
        val before = phone.reads()
        phone.press("sun")
        assertEquals(Palette.SUN.paper, (phone.activity.blocks.background as android.graphics.drawable.ColorDrawable).color)
        assertEquals(before, phone.reads().map { it.removeSuffix(" [x]").takeIf { name -> name == Hosts.words.sun } ?: it })
        phone.press("sun")
    }
}
