// An amount: name and value over a slider of full width; the value answers while it is moved.
//
// The rule: while it is held it is the hand's; only its newest amount is told.
package chalkface.app.blocks

import android.content.res.ColorStateList
import android.graphics.drawable.GradientDrawable
import android.os.Bundle
import android.view.View
import android.view.accessibility.AccessibilityNodeInfo
import android.widget.LinearLayout
import android.widget.SeekBar
import chalkface.Event
import chalkface.Part
import chalkface.app.Looks
import chalkface.app.Newer
import java.math.BigDecimal
import java.math.RoundingMode

class AmountBlock(stage: Stage) : Block(stage) {
    private val name = looks.text(weight = 600)
    private val value = looks.text(weight = Looks.STRONG).apply { fontFeatureSettings = "tnum" }
    val slider = SeekBar(looks.context)
    private var key = ""
    private var low = BigDecimal.ZERO
    private var step = BigDecimal.ONE
    private var no = 0UL
    private var held = false
    private var told = 0L
    override val above get() = looks.dp(12)

    override val view = column().apply {
        val head = Flow(looks.context, looks.small)
        head.addView(name)
        head.addView(value)
        addView(head)
        addView(slider, LinearLayout.LayoutParams(MATCH, WRAP))
    }

    init {
        slider.minimumHeight = looks.touch
        slider.setPaddingRelative(looks.gap, looks.dp(12), looks.gap, looks.dp(12))
        slider.progressTintList = ColorStateList.valueOf(colours.press)
        slider.progressBackgroundTintList = ColorStateList.valueOf(colours.line)
        slider.thumb = GradientDrawable().apply {
            shape = GradientDrawable.OVAL
            setColor(colours.press)
            setSize(looks.dp(24), looks.dp(24))
        }
        slider.splitTrack = false
        slider.isSaveEnabled = false
        slider.setOnSeekBarChangeListener(object : SeekBar.OnSeekBarChangeListener {
            override fun onProgressChanged(bar: SeekBar, at: Int, byHand: Boolean) {
                if (byHand) moved(at)
            }

            override fun onStartTrackingTouch(bar: SeekBar) {
                held = true
            }

            override fun onStopTrackingTouch(bar: SeekBar) {
                held = false
            }
        })
        slider.accessibilityDelegate = object : View.AccessibilityDelegate() {
            override fun onInitializeAccessibilityNodeInfo(host: View, info: AccessibilityNodeInfo) {
                super.onInitializeAccessibilityNodeInfo(host, info)
                info.addAction(AccessibilityNodeInfo.AccessibilityAction.ACTION_SCROLL_FORWARD)
                info.addAction(AccessibilityNodeInfo.AccessibilityAction.ACTION_SCROLL_BACKWARD)
            }

            override fun performAccessibilityAction(host: View, action: Int, arguments: Bundle?): Boolean {
                val by = when (action) {
                    AccessibilityNodeInfo.ACTION_SCROLL_FORWARD -> 1
                    AccessibilityNodeInfo.ACTION_SCROLL_BACKWARD -> -1
                    else -> return super.performAccessibilityAction(host, action, arguments)
                }
                val to = (slider.progress + by).coerceIn(0, slider.max)
                if (to == slider.progress) return false
                slider.progress = to
                moved(to)
                return true
            }
        }
    }

    private fun moved(at: Int) {
        no += 1UL
        told = stage.tell(Event.Slide(key, (low + step * BigDecimal(at)).toDouble(), no))
    }

    override fun show(part: Part, upto: Long) {
        key = part.key
        view.keyed("${part.key}.block")
        slider.keyed(part.key)
        name.line(part.name)
        low = BigDecimal.valueOf(part.amount[1])
        step = BigDecimal.valueOf(part.amount[3])
        val steps = { of: Double -> (BigDecimal.valueOf(of) - low).divide(step, 0, RoundingMode.HALF_UP).toInt() }
        slider.max = steps(part.amount[2])
        if (upto < told) return
        no = maxOf(no, part.no)
        value.line(part.says)
        Newer.state(slider, part.name, part.says)
        if (!held) slider.progress = steps(part.amount[0])
    }
}
