// How everything looks: colours, sizes and the few shapes that all blocks are made of.
//
// The rule: values are those of core/decisions/009-looks.md; a test holds the colours against
// the desk's style sheet. Nothing but this file knows a colour or a size of text.
package chalkface.app

import android.content.Context
import android.content.res.Configuration
import android.graphics.Color
import android.graphics.Typeface
import android.util.TypedValue
import android.view.Gravity
import android.view.View
import android.widget.TextView

/** The colours of one theme. */
class Palette(
    val paper: Int, val surface: Int, val ink: Int, val muted: Int, val grid: Int, val line: Int,
    val press: Int, val onPress: Int, val held: Int, val flag: Int, val done: Int, val series: List<Int>,
) {
    /** The colour of a role of a drawing; nothing paints nothing. */
    fun role(name: String): Int? = when (name) {
        "paper" -> paper
        "ink" -> ink
        "muted" -> muted
        "grid" -> grid
        "surface" -> surface
        "flag" -> flag
        "code_dark" -> Color.BLACK
        "code_light" -> Color.WHITE
        else -> name.removePrefix("accent_").singleOrNull()?.let { series.getOrNull(it - 'a') }
    }

    companion object {
        private fun of(vararg hex: String) = hex.map(Color::parseColor)

        private fun palette(colours: List<Int>, series: List<Int>) = Palette(
            colours[0], colours[1], colours[2], colours[3], colours[4], colours[5],
            colours[6], colours[7], colours[8], colours[9], colours[10], series,
        )

        val LIGHT = palette(
            of("#fbfaf6", "#eeece4", "#1d2733", "#5a6570", "#d8d6cd", "#7c858d", "#0f5b8f", "#ffffff", "#dbe7f0", "#b02318", "#2b6a43"),
            of("#0f5b8f", "#a85400", "#2b7a4b", "#843f86", "#6a6a1a", "#6b5b52"),
        )
        val DARK = palette(
            of("#151b21", "#222b34", "#f1eee6", "#a9b3bc", "#37414b", "#8993a0", "#74c0f0", "#10161b", "#24394a", "#ff8f80", "#7fd69e"),
            of("#74c0f0", "#f5b25c", "#7fd69e", "#d9a2dc", "#d3d077", "#c9b8ac"),
        )
        val SUN = palette(
            of("#ffffff", "#f2f2ee", "#000000", "#2e3339", "#b0b4b8", "#2e3339", "#003a6b", "#ffffff", "#cfdfee", "#8e0c05", "#0b4a26"),
            of("#003a6b", "#6b3200", "#0b4a26", "#57155a", "#454500", "#42332a"),
        )
    }
}

/** The looks of one activity. */
class Looks(val context: Context, sun: Boolean) {
    private val night =
        context.resources.configuration.uiMode and Configuration.UI_MODE_NIGHT_MASK == Configuration.UI_MODE_NIGHT_YES
    val isDark = night && !sun
    val colours = if (sun) Palette.SUN else if (night) Palette.DARK else Palette.LIGHT
    val isWide = context.resources.configuration.screenWidthDp >= WIDE_DP
    val touch = dp(48)
    val gap = dp(16)
    val small = dp(8)
    val tiny = dp(4)

    fun dp(of: Int): Int = exact(of.toFloat()).toInt()

    fun exact(dp: Float): Float =
        TypedValue.applyDimension(TypedValue.COMPLEX_UNIT_DIP, dp, context.resources.displayMetrics)

    /** A text. Sizes are in sp, so that the system's text size multiplies them. */
    fun text(size: Float = RUNNING, weight: Int = 400, colour: Int = colours.ink): TextView = TextView(context).apply {
        setTextSize(TypedValue.COMPLEX_UNIT_SP, size)
        setTextColor(colour)
        setLineSpacing(0f, if (size > RUNNING) 1.05f else 1.2f)
        typeface = face(weight)
        textDirection = View.TEXT_DIRECTION_FIRST_STRONG
        textAlignment = View.TEXT_ALIGNMENT_VIEW_START
        gravity = Gravity.START or Gravity.CENTER_VERTICAL
        // Long words break rather than being cut.
        breakStrategy = android.text.Layout.BREAK_STRATEGY_SIMPLE
        hyphenationFrequency = android.text.Layout.HYPHENATION_FREQUENCY_NORMAL
    }

    fun face(weight: Int): Typeface = when {
        weight <= 400 -> Typeface.DEFAULT
        else -> Newer.face(weight)
    }

    companion object {
        /** What is drawn on a photograph, whose colours nobody knows: light strokes with a dark rim. */
        const val ON_PICTURE = 0xffffffff.toInt()
        const val END_ON_PICTURE = 0xffffd54a.toInt()
        const val RIM_ON_PICTURE = 0xff000000.toInt()

        const val WIDE_DP = 900
        const val COLUMN_DP = 480
        const val RUNNING = 17f
        const val TITLE = 24f
        const val HEADING = 18f
        const val SECOND = 15f
        const val NUMBER = 48f
        const val STRONG = 650
    }
}
