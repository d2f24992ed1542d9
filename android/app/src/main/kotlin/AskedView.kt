// What the app is asked to do: a frame with the one thing to press, and "not now".
package chalkface.app

import android.view.View
import android.view.View.TEXT_ALIGNMENT_CENTER
import android.widget.LinearLayout
import android.widget.TextView
import chalkface.Answered
import chalkface.Effect
import chalkface.EffectKind
import chalkface.Event
import chalkface.app.blocks.MATCH
import chalkface.app.blocks.Stage
import chalkface.app.blocks.WRAP
import chalkface.app.blocks.keyed
import chalkface.app.blocks.named
import chalkface.app.blocks.pressed

class AskedView(private val stage: Stage, private val doer: Doer) {
    /** Who does it. */
    interface Doer {
        fun does(effect: Effect)

        fun copies(effect: Effect)
    }

    private val looks = stage.looks
    private var shown: List<Effect> = emptyList()
    val view = LinearLayout(looks.context).apply { orientation = LinearLayout.VERTICAL }

    fun show(effects: List<Effect>) {
        val wanted = effects.filter { it.kind != EffectKind.BUZZ }
        if (wanted == shown) return
        shown = wanted
        view.removeAllViews()
        for (effect in wanted) {
            view.addView(frame(effect), LinearLayout.LayoutParams(MATCH, WRAP).apply { topMargin = looks.dp(12) })
        }
    }

    private fun frame(effect: Effect): View {
        val frame = LinearLayout(looks.context).apply {
            orientation = LinearLayout.VERTICAL
            background = Ground(looks, null, looks.colours.press)
            setPadding(looks.dp(12), looks.tiny, looks.dp(12), looks.dp(12))
        }
        if (effect.name.isNotEmpty()) frame.addView(looks.text().apply { text = effect.name })
        add(frame, "asked.${effect.id}.do", effect.does, main = true) { doer.does(effect) }
        if (effect.copies.isNotEmpty()) add(frame, "asked.${effect.id}.copy", effect.copies) { doer.copies(effect) }
        if (effect.did.isNotEmpty()) {
            add(frame, "asked.${effect.id}.done", effect.did) { stage.tell(Event.Answer(effect.id, Answered.Done)) }
        }
        add(frame, "asked.${effect.id}.not_now", effect.notNow) { stage.tell(Event.Answer(effect.id, Answered.GivenUp)) }
        return frame
    }

    private fun add(frame: LinearLayout, key: String, name: String, main: Boolean = false, does: () -> Unit) {
        val colours = looks.colours
        val button: TextView = looks.text(weight = if (main) Looks.STRONG else 500, colour = if (main) colours.onPress else colours.ink)
        button.pressed(looks, if (main) Ground(looks, colours.press, null, pressed = colours.ink) else Ground(looks), does = does)
        button.setPaddingRelative(looks.dp(14), looks.small, looks.dp(14), looks.small)
        button.gravity = android.view.Gravity.CENTER
        button.textAlignment = TEXT_ALIGNMENT_CENTER
        button.text = name
        button.keyed(key).named(name)
        frame.addView(button, LinearLayout.LayoutParams(MATCH, WRAP).apply { topMargin = looks.small })
    }
}
