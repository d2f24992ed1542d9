// Something to be careful about: a bar at its start, its word first.
package chalkface.app.blocks

import android.graphics.Typeface
import android.text.SpannableStringBuilder
import android.text.Spanned
import android.text.style.StyleSpan
import chalkface.Part

class CautionBlock(stage: Stage) : Block(stage) {
    override val view = looks.text().apply {
        background = Bar(looks, colours.series[1], colours.surface)
        setPaddingRelative(looks.dp(18), looks.small, looks.dp(12), looks.small)
    }

    override fun show(part: Part, upto: Long) {
        val text = SpannableStringBuilder(part.name).append(" ").append(part.text)
        text.setSpan(StyleSpan(Typeface.BOLD), 0, part.name.length, Spanned.SPAN_EXCLUSIVE_EXCLUSIVE)
        view.keyed(part.key).line(text)
    }
}
