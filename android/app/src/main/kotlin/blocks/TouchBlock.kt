// A drawing to touch: a loupe above the thumb while it is down, the place in words, and nine
// zones by name for who can't see or aim.
package chalkface.app.blocks

import android.view.View
import android.view.accessibility.AccessibilityManager
import android.widget.LinearLayout
import chalkface.Event
import chalkface.Part
import chalkface.app.Ground
import chalkface.app.Looks
import chalkface.app.SceneView

class TouchBlock(stage: Stage) : Block(stage) {
    private val says = looks.text(Looks.HEADING, Looks.STRONG)
    private val open = looks.text(colour = colours.press)
    private val zones = Options(stage)
    private val pad = SceneView(looks)
    private var key = ""

    /** Whether the zones are shown. */
    var isOpen = reader()
        set(value) {
            field = value
            zones.view.visibility = if (value) View.VISIBLE else View.GONE
        }
    override val view = column().apply {
        val head = line()
        head.addView(says, LinearLayout.LayoutParams(0, WRAP, 1f))
        head.addView(open)
        addView(head)
        addView(zones.view, LinearLayout.LayoutParams(MATCH, WRAP).apply { bottomMargin = looks.small })
        addView(pad)
    }

    init {
        open.pressed(looks, Ground(looks, null, null)) { isOpen = !isOpen }
        open.setPaddingRelative(looks.small, looks.small, looks.small, looks.small)
        open.text = stage.words.zones
        isOpen = isOpen
        pad.onTouch = { x, y -> stage.tell(Event.Touch(key, x, y)) }
        pad.onPlace = { place -> stage.tell(Event.Choose(key, place)) }
    }

    private fun reader() =
        looks.context.getSystemService(AccessibilityManager::class.java)?.isTouchExplorationEnabled == true

    override fun show(part: Part, upto: Long) {
        key = part.key
        view.keyed("$key.block")
        pad.keyed(key)
        open.keyed("$key.zones")
        says.line(part.says.ifEmpty { part.name })
        pad.places = part.options
        pad.label = listOf(part.name, part.says)
        pad.scene = part.scene
        zones.show(key, part.options, null)
    }
}
