// Buttons of which one may be chosen.
package chalkface.app.blocks

import android.widget.TextView
import chalkface.Choosable
import chalkface.Event
import chalkface.app.Ground
import chalkface.app.Looks

class Options(private val stage: Stage) {
    private val looks = stage.looks
    private val buttons = LinkedHashMap<String, TextView>()
    val view = Flow(looks.context, looks.small)

    fun show(key: String, options: List<Choosable>, chosen: String?) {
        if (buttons.keys.toList() != options.map { it.key }) {
            view.removeAllViews()
            buttons.clear()
            for (option in options) {
                val button = looks.text()
                buttons[option.key] = button
                view.addView(button.keyed("$key/${option.key}"))
            }
        }
        for (option in options) {
            val button = buttons[option.key] ?: continue
            dress(button, option, option.key == chosen) { stage.tell(Event.Choose(key, option.key)) }
        }
    }

    private fun dress(button: TextView, option: Choosable, chosen: Boolean, does: () -> Unit) {
        val colours = looks.colours
        val ground = if (chosen) Ground(looks, colours.held, colours.press, width = 3f) else Ground(looks)
        button.pressed(looks, ground, "android.widget.RadioButton", { chosen }, does)
        button.setPaddingRelative(looks.dp(14), looks.small, looks.dp(14), looks.small)
        button.typeface = looks.face(if (chosen) Looks.STRONG else 400)
        button.line(if (chosen) "✓ ${option.name}" else option.name)
        button.named(option.name)
    }
}
