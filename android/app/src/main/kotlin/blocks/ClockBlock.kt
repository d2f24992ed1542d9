// A clock that runs down. It carries its end; the seconds are counted here.
package chalkface.app.blocks

import android.view.HapticFeedbackConstants
import android.view.View
import android.widget.LinearLayout
import chalkface.Part
import chalkface.app.Looks
import chalkface.clockLeft

class ClockBlock(stage: Stage) : Block(stage) {
    private val name = looks.text(20f, Looks.STRONG)
    private val remaining = looks.text(20f, Looks.STRONG).apply { fontFeatureSettings = "tnum" }
    private val bar = Bar(looks, colours.series[1], null)
    private var endsMs = 0L
    private var running = false
    private val tick = object : Runnable {
        override fun run() {
            val seconds = count()
            if (seconds > 0) view.postDelayed(this, TICK_MS)
            if (running && seconds == 0L) view.performHapticFeedback(HapticFeedbackConstants.LONG_PRESS)
            running = seconds > 0
        }
    }
    override val view: LinearLayout = line().apply {
        background = bar
        setPaddingRelative(looks.dp(18), looks.small, looks.dp(12), looks.small)
        minimumHeight = looks.touch
        addView(name.apply { silent() }, LinearLayout.LayoutParams(WRAP, WRAP).apply { marginEnd = looks.dp(12) })
        addView(remaining.apply { silent() }, LinearLayout.LayoutParams(0, WRAP, 1f))
        addOnAttachStateChangeListener(object : View.OnAttachStateChangeListener {
            override fun onViewAttachedToWindow(of: View) = start()

            override fun onViewDetachedFromWindow(of: View) {
                of.removeCallbacks(tick)
            }
        })
    }

    private fun start() {
        view.removeCallbacks(tick)
        tick.run()
    }

    private fun count(): Long {
        val seconds = maxOf(0L, (endsMs - stage.utcMs() + 999) / 1000)
        remaining.line(clockLeft(seconds.toUInt()))
        bar.bar = if (seconds > 0) colours.series[1] else colours.done
        view.named(name.text, remaining.text)
        return seconds
    }

    override fun show(part: Part, upto: Long) {
        view.keyed(part.key).isFocusable = true
        name.line(part.name)
        endsMs = part.endsMs
        start()
    }

    private companion object {
        const val TICK_MS = 250L
    }
}
