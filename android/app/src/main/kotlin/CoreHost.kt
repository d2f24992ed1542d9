// The core, its one worker thread, and what a start and an end of the process need.
//
// The rule: every call of the core comes from the worker, in the order in which things
// happened; a long computation runs beside it and holds nobody up; the main thread only ever
// gets finished screens. Of a text or slider that goes on changing only the newest value is told.
package chalkface.app

import android.os.Handler
import android.os.Looper
import android.util.AtomicFile
import android.util.Log
import chalkface.Answered
import chalkface.Clock
import chalkface.Device
import chalkface.EffectKind
import chalkface.Event
import chalkface.Fault
import chalkface.KeysWanted
import chalkface.RowsPage
import chalkface.Screen
import java.io.File
import java.io.IOException
import java.nio.Buffer
import java.nio.ByteBuffer
import java.security.SecureRandom
import java.util.TimeZone
import java.util.concurrent.ExecutorService
import java.util.concurrent.Executors
import java.util.concurrent.atomic.AtomicInteger

/** Where time and chance come from. */
open class Surroundings {
    private val random = SecureRandom()

    open fun utcMs(): Long = System.currentTimeMillis()

    open fun bytes(count: Int): ByteArray = ByteArray(count).also(random::nextBytes)

    fun clock(): Clock {
        val at = utcMs()
        return Clock(at, (TimeZone.getDefault().getOffset(at) / 60_000).toShort(), bytes(16))
    }
}

/** A screen, and the number of the last thing told that it knows of. */
class Shown(val screen: Screen, val upto: Long)

class CoreHost(
    private val folder: File,
    private val keeper: KeyKeeper,
    val around: Surroundings = Surroundings(),
) {
    /** What came of it, on the main thread. */
    interface Listener {
        fun shown(shown: Shown)

        /** Words that the person must write down. */
        fun words(text: String)

        fun keysLost()

        fun fault(text: String)
    }

    private val worker: ExecutorService = Executors.newSingleThreadExecutor { Thread(it, "core") }
    private val beside: ExecutorService = Executors.newSingleThreadExecutor { Thread(it, "core-beside") }
    /** Another program's file may come slowly, or never. */
    private val files: ExecutorService = Executors.newCachedThreadPool { Thread(it, "files").apply { isDaemon = true } }
    private val main = Handler(Looper.getMainLooper())
    private val place = AtomicFile(File(folder, "place"))
    private val queued = AtomicInteger()
    private val busy = AtomicInteger()
    private val newest = HashMap<String, Newest>()
    private var told = 0L
    private var core: Device? = null
    private var computing = false
    private var lost = false

    @Volatile var shown: Shown? = null
        private set

    var listener: Listener? = null
        set(value) {
            field = value
            val listener = value ?: return
            shown?.let(listener::shown)
            later { repeatWords() }
        }

    init {
        later(reads = true) { open() }
    }

    val book get() = File(folder, BOOK)

    /** Nothing is queued, computed or read. */
    val isQuiet get() = queued.get() == 0 && busy.get() == 0

    private fun open() {
        folder.mkdirs()
        val kept = try { place.readFully() } catch (_: IOException) { null }
        val opened = Device.open(book.path, kept, around.clock())
        core = opened
        guarded { keys(opened) }
        // Whether a buzz of the last life was felt, nobody knows.
        opened.screen().effects.filter { it.kind == EffectKind.BUZZ }.forEach {
            opened.act(Event.Answer(it.id, Answered.Lost), null, around.clock())
        }
    }

    /** Tells what happened; `seen` is the turn of the screen on which it did. Answers its number. */
    fun tell(event: Event, seen: Long? = null): Long {
        val key = when (event) {
            is Event.Write -> event.key
            is Event.Slide -> event.key
            else -> null
        }
        if (key == null) {
            return later(reads = true) { act(event, seen) }
        }
        synchronized(newest) {
            newest[key]?.let { waiting ->
                waiting.event = event
                return waiting.number
            }
            val waiting = Newest(event)
            newest[key] = waiting
            waiting.number = later(reads = true) {
                act(synchronized(newest) { newest.remove(key); waiting.event }, null)
            }
            return waiting.number
        }
    }

    /** What waits to be told of a text or slider: its newest value, and the number it will have. */
    private class Newest(var event: Event, var number: Long = 0)

    private fun act(event: Event, seen: Long?) {
        core?.act(event, seen?.toULong(), around.clock())
    }

    /** Reads a file that was picked (for an effect) or opened from another program, and hands it in. */
    fun file(effect: Long?, unreadable: String, read: () -> Pair<String, ByteBuffer>) {
        busy.incrementAndGet()
        files.execute {
            val file = try { read() } catch (failed: Exception) { Log.w(TAG, "unreadable", failed); null }
            later(reads = true) {
                val core = core ?: return@later
                when {
                    file == null && effect != null ->
                        core.act(Event.Answer(effect.toULong(), Answered.Failed(unreadable)), null, around.clock())
                    file == null -> main.post { listener?.fault(unreadable) }
                    effect != null -> core.picked(effect.toULong(), file.first, file.second, around.clock())
                    else -> core.handed(file.first, file.second, around.clock())
                }
            }
            busy.decrementAndGet()
        }
    }

    fun rows(key: String, after: String?, count: Int, then: (RowsPage) -> Unit) {
        later {
            val page = core?.rows(key, after, count.toUInt()) ?: return@later
            main.post { then(page) }
        }
    }

    /** The bytes of a picture that the screen shows. */
    fun picture(id: String, then: (ByteArray) -> Unit) {
        later {
            val bytes = core?.picture(id) ?: return@later
            main.post { then(bytes) }
        }
    }

    /** The bytes of a file to share, or why there are none. */
    fun content(effect: Long, then: (ByteArray) -> Unit) {
        later {
            val bytes = core?.content(effect.toULong()) ?: return@later
            main.post { then(bytes) }
        }
    }

    /** For what no screen does. On the worker. */
    fun <T> ask(question: (Device) -> T, then: (T) -> Unit) {
        later(reads = true) {
            val answer = question(core ?: return@later)
            main.post { then(answer) }
        }
    }

    fun wordsWritten() {
        later { keeper.forgetWords() }
    }

    /** A consistent copy of the book, for the system's backup. */
    fun snapshot(into: File) {
        later {
            val core = core ?: return@later
            if (!book.isFile) return@later
            into.parentFile?.mkdirs()
            val fresh = File(into.path + ".new").apply { delete() }
            core.snapshot(fresh.path)
            fresh.renameTo(into)
        }
    }

    /** Ends it: everything that was told before is done first. */
    fun close() {
        later {
            core?.end()
            core = null
        }
        worker.shutdown()
        beside.shutdown()
        files.shutdown()
    }

    @Synchronized
    private fun later(reads: Boolean = false, task: () -> Unit): Long {
        val number = ++told
        if (worker.isShutdown) return number
        queued.incrementAndGet()
        worker.execute {
            guarded(task)
            val last = queued.get() == 1
            if (reads || last) after(number, last)
            queued.decrementAndGet()
        }
        return number
    }

    /** After something was told: keys; its screen, where nothing more waits; long work. */
    private fun after(number: Long, last: Boolean) {
        val core = core ?: return
        // A key store that fails, or a full disk, keeps nobody from seeing where they are.
        guarded { keys(core) }
        guarded { keep(core) }
        if (last) guarded {
            val next = Shown(core.screen(), number)
            shown = next
            main.post { if (shown === next) listener?.shown(next) }
        }
        guarded { compute(core) }
    }

    private fun guarded(task: () -> Unit) {
        try {
            task()
        } catch (failed: Exception) {
            report(failed)
        }
    }

    private fun keep(core: Device) {
        val stream = place.startWrite()
        try {
            stream.write(core.state())
            place.finishWrite(stream)
        } catch (failed: IOException) {
            place.failWrite(stream)
            report(failed)
        }
    }

    private fun compute(core: Device) {
        if (computing) return
        val ticket = core.work() ?: return
        computing = true
        busy.incrementAndGet()
        beside.execute {
            val ran = runCatching { ticket.run() }
            later(reads = true) {
                computing = false
                ran.exceptionOrNull()?.let { report(it) }
                this.core?.finish(ticket)
                ticket.destroy()
            }
            busy.decrementAndGet()
        }
    }

    /** A device gets its keys as soon as there is a book, and at each start. */
    private fun keys(core: Device) {
        when (core.keysWanted()) {
            KeysWanted.NONE -> Unit
            KeysWanted.NEW -> {
                val text = core.makeKeys(around.bytes(32))
                keeper.keep(text)
                val words = core.beginKeys(text, around.bytes(16), around.clock())
                keeper.keepWords(words)
                main.post { listener?.words(words) }
            }
            KeysWanted.KEPT -> {
                val text = keeper.read()
                if (text != null) {
                    core.giveKeys(text)
                } else if (!lost) {
                    lost = true
                    main.post { listener?.keysLost() }
                }
            }
        }
    }

    private fun repeatWords() {
        val words = keeper.words() ?: return
        main.post { listener?.words(words) }
    }

    private fun report(failed: Throwable) {
        Log.e(TAG, "a call failed", failed)
        val text = failed.toString().takeIf { failed is Fault } ?: return
        main.post { listener?.fault(text) }
    }

    companion object {
        const val BOOK = "book"
        private const val TAG = "chalkface"
    }
}

/** The core takes bytes without a copy: from a direct buffer that begins at its start. */
fun direct(bytes: ByteArray): ByteBuffer = ByteBuffer.allocateDirect(bytes.size).apply {
    put(bytes)
    // By the name that it has on Android 8.0 too.
    (this as Buffer).rewind()
}
