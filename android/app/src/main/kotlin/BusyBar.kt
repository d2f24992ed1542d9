// What is being worked out, with a ring that turns; it stands still where less motion is asked for.
package chalkface.app

import android.animation.ValueAnimator
import android.graphics.Canvas
import android.graphics.Paint
import android.os.SystemClock
import android.view.Gravity
import android.view.View
import android.widget.LinearLayout
import chalkface.app.blocks.Stage
import chalkface.app.blocks.WRAP
import chalkface.app.blocks.keyed
import chalkface.app.blocks.line
import chalkface.app.blocks.silent

class BusyBar(stage: Stage) {
    private val looks = stage.looks
    private val text = looks.text(colour = looks.colours.muted).keyed("busy")
    val view = LinearLayout(looks.context).apply {
        gravity = Gravity.CENTER_VERTICAL
        setPaddingRelative(0, looks.small, 0, looks.small)
        addView(Ring(looks), LinearLayout.LayoutParams(looks.dp(20), looks.dp(20)).apply { marginEnd = looks.dp(12) })
        addView(text, LinearLayout.LayoutParams(0, WRAP, 1f))
        visibility = View.GONE
    }

    fun show(busy: String?) {
        text.line(busy.orEmpty())
        view.visibility = if (busy == null) View.GONE else View.VISIBLE
    }
}

private class Ring(private val looks: Looks) : View(looks.context) {
    private val paint = Paint(Paint.ANTI_ALIAS_FLAG).apply {
        style = Paint.Style.STROKE
        strokeWidth = looks.exact(3f)
    }

    init {
        silent()
    }

    override fun onDraw(canvas: Canvas) {
        val moves = ValueAnimator.areAnimatorsEnabled()
        val turn = if (moves) SystemClock.uptimeMillis() % TURN_MS * 360f / TURN_MS else 0f
        val in_ = looks.exact(2f)
        paint.color = looks.colours.grid
        canvas.drawArc(in_, in_, width - in_, height - in_, 0f, 360f, false, paint)
        paint.color = looks.colours.press
        canvas.drawArc(in_, in_, width - in_, height - in_, turn - 90, 90f, false, paint)
        if (moves && isShown) postInvalidateOnAnimation()
    }

    private companion object {
        const val TURN_MS = 1000L
    }
}
