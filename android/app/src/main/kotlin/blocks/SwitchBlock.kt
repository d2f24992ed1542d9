// Yes or no: the whole row is the target; the knob moves in 0.12 s.
package chalkface.app.blocks

import android.animation.ValueAnimator
import android.graphics.Canvas
import android.graphics.Paint
import android.view.View
import android.widget.LinearLayout
import chalkface.Event
import chalkface.Part
import chalkface.app.Ground
import chalkface.app.Looks

class SwitchBlock(stage: Stage) : Block(stage) {
    private val knob = Knob(looks)
    private val name = looks.text().apply { silent() }
    private val hint = looks.text(Looks.SECOND, colour = colours.muted).apply { silent() }
    private val words = column().apply { addView(name); addView(hint) }
    private var on = false
    private var known = false
    override val view = line().apply {
        addView(knob, LinearLayout.LayoutParams(looks.dp(48), looks.dp(28)).apply { marginEnd = looks.dp(14) })
        addView(words, LinearLayout.LayoutParams(0, WRAP, 1f))
        setPaddingRelative(looks.dp(14), looks.small, looks.dp(14), looks.small)
    }

    override fun show(part: Part, upto: Long) {
        if (!known) view.pressed(looks, Ground(looks), "android.widget.Switch", { on }) { stage.tell(Event.Switch(part.key, !on)) }
        name.line(part.name)
        hint.line(part.hint)
        view.keyed(part.key).named(part.name, part.hint)
        knob.set(part.on, moving = known && part.on != on)
        on = part.on
        known = true
    }
}

/** The knob of a switch. */
class Knob(private val looks: Looks) : View(looks.context) {
    private val paint = Paint(Paint.ANTI_ALIAS_FLAG)
    private var at = 0f
    private var on = false

    init {
        silent()
    }

    fun set(to: Boolean, moving: Boolean) {
        on = to
        val end = if (to) 1f else 0f
        // The animator stands still where the system asks for less motion.
        if (moving && ValueAnimator.areAnimatorsEnabled() && isAttachedToWindow) {
            ValueAnimator.ofFloat(at, end).setDuration(MOVE_MS).apply {
                addUpdateListener { at = it.animatedValue as Float; invalidate() }
            }.start()
        } else {
            at = end
            invalidate()
        }
    }

    override fun onDraw(canvas: Canvas) {
        val colours = looks.colours
        val line = looks.exact(2f)
        val round = height / 2f
        paint.style = Paint.Style.FILL
        paint.color = if (on) colours.press else colours.surface
        canvas.drawRoundRect(line / 2, line / 2, width - line / 2, height - line / 2, round, round, paint)
        paint.style = Paint.Style.STROKE
        paint.strokeWidth = line
        paint.color = if (on) colours.press else colours.line
        canvas.drawRoundRect(line / 2, line / 2, width - line / 2, height - line / 2, round, round, paint)
        paint.style = Paint.Style.FILL
        paint.color = if (on) colours.onPress else colours.muted
        val share = if (layoutDirection == LAYOUT_DIRECTION_RTL) 1 - at else at
        canvas.drawCircle(round + share * (width - 2 * round), round, looks.exact(8f), paint)
    }

    private companion object {
        const val MOVE_MS = 120L
    }
}
