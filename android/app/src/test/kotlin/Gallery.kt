// Every screen that the stories show, and a bare frame to draw any of them in any looks.
package chalkface.app

import android.app.Activity
import android.graphics.Bitmap
import android.os.Looper
import android.view.View
import android.view.ViewGroup
import chalkface.Clock
import chalkface.Device
import chalkface.Effect
import chalkface.Event
import chalkface.KeysWanted
import chalkface.RowsPage
import chalkface.Screen
import chalkface.Words
import chalkface.app.blocks.Stage
import org.json.JSONObject
import org.robolectric.Robolectric
import org.robolectric.RuntimeEnvironment
import org.robolectric.Shadows.shadowOf
import java.io.File
import java.time.Duration

/** A screen of a story, under a name that says which. */
class Pictured(val name: String, val screen: Screen)

object Gallery {
    /** One screen of each place and each state that a story shows. */
    val all: List<Pictured> by lazy { stories().flatMap { shown(it) } + lefty }

    /** The fullest screen of each place, and those of a left-hander. */
    val places: List<Pictured> by lazy { all.groupBy { it.screen.place }.values.map { of -> of.maxByOrNull { it.screen.parts.size }!! } + lefty }

    private fun shown(name: String): List<Pictured> {
        val seen = HashSet<Int>()
        val shows = story(name).getJSONArray("steps").objects()
        var n = -1
        val found = ArrayList<Pictured>()
        ReplayTest.play(name, killed = false) { step, device, screen ->
            if (step.bytes("entropy").last() == 0.toByte()) n++
            val show = shows[n].optString("show")
            if (show.isNotEmpty() && seen.add(n)) {
                found += Pictured("$name-$n-${device}-${show.replace(Regex("[^a-z0-9]+"), "-")}", screen)
            }
        }
        return found
    }

    /** The face of a left-hander is mirrored. */
    private val lefty: List<Pictured> by lazy {
        val folder = Folders.make("left")
        var n = 0L
        fun clock() = Clock(1_777_881_600_000 + 1000 * ++n, 60, ByteArray(16) { n.toByte() })
        val device = Device.open("$folder/book", null, clock())
        fun tell(event: Event) = device.act(event, null, clock())
        tell(Event.Write("name", "Aino", 1UL))
        tell(Event.Choose("hand", "left"))
        tell(Event.Press("begin"))
        check(device.keysWanted() == KeysWanted.NEW)
        tell(Event.Go("ball"))
        for (at in listOf(40.0 to 25.0, 44.0 to 30.0, 38.0 to 33.0)) {
            tell(Event.Touch("ball.face", at.first, at.second))
            tell(Event.Choose("ball.flight", "-1:1"))
            tell(Event.Press("ball.save"))
        }
        tell(Event.Touch("ball.face", 40.0, 25.0))
        val ball = Pictured("left-handed-ball", device.screen())
        tell(Event.Go("strikes"))
        while (true) {
            val ticket = device.work() ?: break
            ticket.run()
            device.finish(ticket)
        }
        listOf(ball, Pictured("left-handed-strikes", device.screen())).also {
            device.end()
            Folders.drop(folder)
        }
    }
}

/** Looks in which screens are drawn. */
enum class Look(val qualifiers: String, val sun: Boolean = false, val scale: Float = 1f) {
    LIGHT("w411dp-h891dp-mdpi"),
    DARK("w411dp-h891dp-night-mdpi"),
    SUN("w411dp-h891dp-mdpi", sun = true),
    LARGE("w411dp-h891dp-mdpi", scale = 2f),
    RTL("ar-ldrtl-w411dp-h891dp-mdpi"),
    SMALL("w360dp-h640dp-mdpi"),
    SMALL_LARGE("w360dp-h640dp-mdpi", scale = 2f),
    TABLET("w1280dp-h800dp-land-mdpi"),
}

/** A screen drawn as high as it is, in one of the looks. */
class Drawn(pictured: Pictured, val look: Look) {
    val name = pictured.name
    val screen = pictured.screen
    private val activity: Activity
    val blocks: BlocksView
    val looks: Looks

    init {
        activity = Robolectric.buildActivity(Activity::class.java).setup().get()
        looks = Looks(activity, look.sun)
        blocks = BlocksView(Still(looks), NoDoer, {})
        blocks.layoutDirection = activity.resources.configuration.layoutDirection
        blocks.show(screen, 0)
        // As high as all of it: nothing is left to scroll.
        val wide = activity.resources.displayMetrics.widthPixels
        measure(wide, 20_000)
        val scroll = (0 until blocks.childCount).map { blocks.getChildAt(it) }.first { it is android.widget.ScrollView } as ViewGroup
        val high = scroll.getChildAt(0).measuredHeight + blocks.measuredHeight - scroll.measuredHeight
        activity.setContentView(blocks, ViewGroup.LayoutParams(wide, high))
        shadowOf(Looper.getMainLooper()).idleFor(Duration.ofMillis(50))
        measure(wide, maxOf(high, activity.resources.displayMetrics.heightPixels))
    }

    private fun measure(wide: Int, high: Int) {
        blocks.measure(View.MeasureSpec.makeMeasureSpec(wide, View.MeasureSpec.EXACTLY), View.MeasureSpec.makeMeasureSpec(high, View.MeasureSpec.EXACTLY))
        blocks.layout(0, 0, wide, high)
    }

    fun pixels(): Bitmap = pixels(blocks)

    fun end() = activity.finish()

    companion object {
        fun <T> each(look: Look, of: List<Pictured>, does: (Drawn) -> T): List<T> {
            RuntimeEnvironment.setQualifiers(look.qualifiers)
            RuntimeEnvironment.setFontScale(look.scale)
            return try {
                of.map { pictured -> Drawn(pictured, look).let { drawn -> does(drawn).also { drawn.end() } } }
            } finally {
                RuntimeEnvironment.setFontScale(1f)
            }
        }
    }
}

/** Nothing is done that is asked. */
object NoDoer : AskedView.Doer {
    override fun does(effect: Effect) = Unit

    override fun copies(effect: Effect) = Unit
}

/** A stage on which nothing happens. */
class Still(override val looks: Looks) : Stage {
    override val words: Words get() = Hosts.words

    override fun tell(event: Event) = 0L

    override fun rows(key: String, after: String, count: Int, then: (RowsPage) -> Unit) = Unit

    override fun picture(id: String, then: (ByteArray) -> Unit) = then(face)

    override fun utcMs() = 1_777_881_600_000L

    private companion object {
        /** The stories show no other picture. */
        val face: ByteArray by lazy { File(repository, "tests/replays/face.jpg").readBytes() }
    }
}
