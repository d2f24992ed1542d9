// A dozen small pictures that were looked at: today's differ in no more than a thousandth of their
// pixels, a difference of two of 255 aside (Skia's strokes are not the same bits everywhere).
// -Dgoldens=write writes them anew: look at them before they are kept.
package chalkface.app

import android.graphics.Bitmap
import android.graphics.BitmapFactory
import android.graphics.Color
import org.junit.Assert.assertEquals
import org.junit.Test
import org.junit.runner.RunWith
import org.robolectric.RobolectricTestRunner
import java.io.File
import kotlin.math.abs

@RunWith(RobolectricTestRunner::class)
class GoldenTest {
    private val folder = File(repository, "android/app/src/test/goldens")
    private val kept = mapOf(
        Look.LIGHT to listOf("ball", "today", "strikes", "brief"),
        Look.DARK to listOf("students", "what_if"),
        Look.SUN to listOf("ball"),
        Look.LARGE to listOf("send"),
        Look.RTL to listOf("plan", "first_use"),
        Look.SMALL to listOf("take_in"),
        Look.TABLET to listOf("brief"),
    )

    private fun differs(one: Bitmap, other: Bitmap): Int {
        if (one.width != other.width || one.height != other.height) return Int.MAX_VALUE
        val (a, b) = one.ints() to other.ints()
        fun far(x: Int, y: Int) = maxOf(abs(Color.red(x) - Color.red(y)), abs(Color.green(x) - Color.green(y)), abs(Color.blue(x) - Color.blue(y))) > 2
        return a.indices.count { far(a[it], b[it]) }
    }

    @Test fun `a dozen screens look as they did when somebody looked`() {
        val wrong = ArrayList<String>()
        for ((look, places) in kept) {
            val of = places.map { place -> Gallery.places.first { it.screen.place == place } }
            Drawn.each(look, of) { drawn ->
                val all = drawn.pixels()
                val seen = Bitmap.createBitmap(all, 0, 0, all.width, minOf(all.height, HIGH))
                val file = File(folder, "${look.name.lowercase()}-${drawn.screen.place}.png")
                if (System.getProperty("goldens") == "write") seen.save(file.nameWithoutExtension, folder.path)
                val known = BitmapFactory.decodeFile(file.path) ?: return@each wrong.add("${file.name} is missing")
                val pixels = differs(known, seen)
                if (pixels > known.width * known.height / 1000) {
                    seen.save("differs-${file.nameWithoutExtension}", File(repository, "android/app/target").path)
                    wrong += "${file.name} differs in $pixels pixels: android/app/target/differs-${file.name}"
                }
                true
            }
        }
        assertEquals(emptyList<String>(), wrong)
    }

    private companion object {
        const val HIGH = 800
    }
}
