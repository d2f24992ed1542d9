// Pixels, contrast and time for tests. Contrast is WCAG 2.2's (success criterion 1.4.3).
package chalkface.app

import android.graphics.Bitmap
import android.graphics.Canvas
import android.graphics.Color
import android.graphics.Rect
import android.os.Looper
import android.view.View
import org.robolectric.Shadows.shadowOf
import java.io.File
import kotlin.math.abs
import kotlin.math.pow

fun idle() = shadowOf(Looper.getMainLooper()).idle()

/** The view's pixels, drawn by Skia on the CPU. A margin > 0 shows what is drawn outside the view. */
fun pixels(view: View, margin: Int = 0, back: Int = Color.TRANSPARENT): Bitmap {
    val bitmap = Bitmap.createBitmap(view.width + 2 * margin, view.height + 2 * margin, Bitmap.Config.ARGB_8888)
    bitmap.eraseColor(back)
    val canvas = Canvas(bitmap)
    canvas.translate(margin.toFloat(), margin.toFloat())
    view.draw(canvas)
    return bitmap
}

fun Bitmap.ints(): IntArray = IntArray(width * height).also { getPixels(it, 0, width, 0, 0, width, height) }

/** Writes target/shots/NAME.png for a person to look at. */
fun Bitmap.save(name: String, folder: String = System.getProperty("shots") ?: "target/shots"): File {
    val file = File(folder, "$name.png")
    file.parentFile!!.mkdirs()
    file.outputStream().use { compress(Bitmap.CompressFormat.PNG, 100, it) }
    return file
}

/** How many pixels of the margin (see [pixels]) are not transparent. */
fun spilled(view: View, margin: Int = 8): Int {
    val bitmap = pixels(view, margin)
    val (wide, high) = bitmap.width to bitmap.height
    val all = bitmap.ints()
    fun painted(x: Int, y: Int) = if (Color.alpha(all[y * wide + x]) != 0) 1 else 0
    var n = 0
    for (x in 0 until wide) for (y in 0 until margin) n += painted(x, y) + painted(x, high - 1 - y)
    for (y in margin until high - margin) for (x in 0 until margin) n += painted(x, y) + painted(wide - 1 - x, y)
    return n
}

fun luminance(colour: Int): Double {
    fun part(v: Int): Double { val s = v / 255.0; return if (s <= 0.04045) s / 12.92 else ((s + 0.055) / 1.055).pow(2.4) }
    return 0.2126 * part(Color.red(colour)) + 0.7152 * part(Color.green(colour)) + 0.0722 * part(Color.blue(colour))
}

fun contrast(a: Int, b: Int): Double {
    val (high, low) = listOf(luminance(a), luminance(b)).sortedDescending()
    return (high + 0.05) / (low + 0.05)
}

/** Contrast of text in a box: the most frequent colour against the one furthest from it in luminance. */
fun textContrast(all: IntArray, wide: Int, box: Rect, stray: Int = 4): Double {
    val some = IntArray(box.width() * box.height())
    for (y in 0 until box.height()) System.arraycopy(all, (box.top + y) * wide + box.left, some, y * box.width(), box.width())
    some.sort()
    val counts = ArrayList<Pair<Int, Int>>()
    var start = 0
    for (n in 1..some.size) if (n == some.size || some[n] != some[start]) { counts += some[start] to n - start; start = n }
    val back = counts.maxByOrNull { it.second }?.first ?: return 21.0
    // A colour that a stray pixel or two have is not the text's.
    val ink = counts.filter { it.second >= stray && it.first != back }.maxByOrNull { abs(luminance(it.first) - luminance(back)) }
    return if (ink == null) 1.0 else contrast(back, ink.first)
}
