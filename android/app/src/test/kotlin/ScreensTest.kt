// Every screen of both roles in all looks: what holds of each for who sees badly, who hears it
// read, who has large thumbs, or large text. With -Dshots=DIR pictures are kept to be looked at.
package chalkface.app

import android.graphics.Rect
import android.view.View
import android.view.ViewGroup
import android.widget.EditText
import android.widget.HorizontalScrollView
import android.widget.TextView
import org.junit.Assert.assertEquals
import org.junit.Assert.assertTrue
import org.junit.Test
import org.junit.runner.RunWith
import org.robolectric.RobolectricTestRunner

@RunWith(RobolectricTestRunner::class)
class ScreensTest {
    private fun views(of: View): List<View> =
        listOf(of) + if (of is ViewGroup) (0 until of.childCount).flatMap { views(of.getChildAt(it)) } else emptyList()

    /** Where a view is on the page. */
    private fun box(drawn: Drawn, view: View): Rect {
        val box = Rect(0, 0, view.width, view.height)
        var at: View = view
        while (at !== drawn.blocks) {
            val parent = at.parent as View
            box.offset(at.left - parent.scrollX, at.top - parent.scrollY)
            at = parent
        }
        return box
    }

    private fun inTable(view: View) = generateSequence(view.parent as? View) { it.parent as? View }.any { it is HorizontalScrollView }

    /** What is wrong with a drawn screen. */
    private fun wrong(drawn: Drawn): List<String> {
        val wrong = ArrayList<String>()
        val where = "${drawn.look} ${drawn.name}"
        val bitmap = drawn.pixels()
        shots?.let { bitmap.save("${drawn.look.name.lowercase()}/${drawn.name}", it) }
        val all = bitmap.ints()
        val shown = views(drawn.blocks).filter { it.isShown }
        for (view in shown) {
            val box = box(drawn, view)
            val what = "$where: ${view.getTag(R.id.key) ?: (view as? TextView)?.text?.take(30) ?: view.javaClass.simpleName}"
            if (!inTable(view) && (box.left < 0 || box.right > drawn.blocks.width)) wrong += "$what reaches outside: $box"
            if (view.isClickable && view.isFocusable && view !is EditText) wrong += small(drawn, view, what)
            if (view is TextView && view.text.isNotEmpty()) wrong += cut(view, what)
            if (view is TextView && view.text.isNotBlank() && box.bottom <= bitmap.height && !inTable(view)) wrong += pale(drawn, view, bitmap to all, box, what)
        }
        val spilled = spilled(drawn.blocks, 8)
        if (spilled > 0) wrong += "$where: $spilled pixels are drawn outside"
        return wrong
    }

    private fun small(drawn: Drawn, view: View, what: String): List<String> {
        val least = drawn.looks.touch
        // Cells of the grid stand so close that their gap counts with them.
        val gap = drawn.looks.dp(2)
        return if (view.height >= least && view.width + gap >= least) emptyList() else listOf("$what is a target of ${view.width}x${view.height}")
    }

    private fun cut(view: TextView, what: String): List<String> {
        val layout = view.layout ?: return listOf("$what has no layout")
        val wrong = ArrayList<String>()
        if (view !is EditText && layout.height > view.height - view.compoundPaddingTop - view.compoundPaddingBottom) wrong += "$what is cut: ${layout.height} in ${view.height}"
        for (line in 0 until layout.lineCount) {
            if (layout.getEllipsisCount(line) > 0) wrong += "$what has an ellipsis"
            if (layout.getLineMax(line) > view.width - view.compoundPaddingLeft - view.compoundPaddingRight + 1) wrong += "$what is wider than its place"
        }
        return wrong
    }

    private fun pale(drawn: Drawn, view: TextView, of: Pair<android.graphics.Bitmap, IntArray>, box: Rect, what: String): List<String> {
        val (bitmap, all) = of
        val text = Rect(box.left + view.compoundPaddingLeft, box.top + view.compoundPaddingTop, box.right - view.compoundPaddingRight, box.bottom - view.compoundPaddingBottom)
        if (!text.intersect(0, 0, bitmap.width, bitmap.height)) return emptyList()
        val seen = textContrast(all, bitmap.width, text, stray = if (view.text.length > 3) 2 else 1)
        // Edges of letters are mixed colours, but their strokes reach the full one at this size.
        val least = if (drawn.look.sun) 7.0 else 4.5
        return if (seen >= least - 0.05) emptyList() else listOf("$what has a contrast of %.2f".format(seen))
    }

    private val shots = System.getProperty("shots")?.ifEmpty { null }

    private fun looked(vararg looks: Look) {
        // One of each place, but where all are asked for.
        val some = if (System.getProperty("all") == "yes") Gallery.all else Gallery.places
        val wrong = looks.flatMap { look -> Drawn.each(look, some, ::wrong).flatten() }
        assertEquals(wrong.joinToString("\n"), 0, wrong.size)
    }

    @Test fun `light, dark and full sun`() = looked(Look.LIGHT, Look.DARK, Look.SUN)

    @Test fun `text twice as large`() = looked(Look.LARGE, Look.SMALL_LARGE)

    @Test fun `right to left`() = looked(Look.RTL)

    @Test fun `a small phone and a tablet`() = looked(Look.SMALL, Look.TABLET)

    @Test fun `everything that can be pressed has a name, and what is read comes in the order of the parts`() {
        val seen = HashSet<String>()
        Drawn.each(Look.LIGHT, Gallery.all) { drawn ->
            seen += drawn.screen.place
            for (view in views(drawn.blocks).filter { it.isShown && it.isClickable && it !is EditText }) {
                val node = view.createAccessibilityNodeInfo()
                val name = node.contentDescription ?: node.text
                assertTrue("${drawn.name}: ${view.getTag(R.id.key)} has no name", !name.isNullOrBlank())
                assertTrue("${drawn.name}: $name is just a view", node.className != "android.view.View")
            }
            val keys = views(drawn.blocks).mapNotNull { (it.getTag(R.id.key) as? String)?.removeSuffix(".block") }
            val order = drawn.screen.parts.map { it.key }
            assertEquals(drawn.name, order, keys.filter { it in order }.distinct())
        }
        assertTrue("only these were seen: $seen", seen.size >= 25)
    }
}
