// The word for what is not plainly measured, in a broken frame behind the text.
package chalkface.app.blocks

import android.graphics.Canvas
import android.graphics.DashPathEffect
import android.graphics.Paint
import android.graphics.RectF
import android.text.SpannableStringBuilder
import android.text.Spanned
import android.text.style.ReplacementSpan
import chalkface.app.Looks

class Tag private constructor(private val looks: Looks) : ReplacementSpan() {
    private val paint = Paint(Paint.ANTI_ALIAS_FLAG)
    private val box = RectF()
    private val side = looks.exact(6f)

    private fun small(of: Paint) = paint.apply {
        set(of)
        textSize = of.textSize * SHARE
        color = looks.colours.muted
        style = Paint.Style.FILL
        pathEffect = null
        typeface = looks.face(400)
    }

    override fun getSize(of: Paint, text: CharSequence, start: Int, end: Int, metrics: Paint.FontMetricsInt?): Int {
        if (metrics != null) of.getFontMetricsInt(metrics)
        return (small(of).measureText(text, start, end) + 2 * side).toInt()
    }

    override fun draw(
        canvas: Canvas, text: CharSequence, start: Int, end: Int, x: Float, top: Int, y: Int, bottom: Int, of: Paint,
    ) {
        val wide = small(of).measureText(text, start, end)
        canvas.drawText(text, start, end, x + side, y.toFloat(), paint)
        val metrics = paint.fontMetrics
        box.set(x + 1, y + metrics.ascent - 1, x + wide + 2 * side - 1, y + metrics.descent + 1)
        paint.style = Paint.Style.STROKE
        paint.strokeWidth = looks.exact(1f)
        paint.pathEffect = DashPathEffect(floatArrayOf(looks.exact(3f), looks.exact(2f)), 0f)
        canvas.drawRoundRect(box, box.height() / 3, box.height() / 3, paint)
    }

    companion object {
        private const val SHARE = 0.8f

        /** A text with a word behind it; just the text where there is none. */
        fun behind(text: String, word: String, looks: Looks): CharSequence {
            if (word.isEmpty()) return text
            return SpannableStringBuilder(text).append(" ").append(word, Tag(looks), Spanned.SPAN_EXCLUSIVE_EXCLUSIVE)
        }
    }
}
