// A picture with points to drag: a loupe above the thumb while one moves; a point that is only
// pressed is chosen.
package chalkface.app.blocks

import android.graphics.BitmapFactory
import android.widget.LinearLayout
import chalkface.Event
import chalkface.Part
import chalkface.app.Looks
import chalkface.app.PictureView

class PictureBlock(stage: Stage) : Block(stage) {
    private val says = looks.text(Looks.HEADING, Looks.STRONG)
    private val pad = PictureView(looks)
    private var key = ""
    private var shown = ""
    override val above get() = looks.dp(12)
    override val view = column().apply {
        addView(says)
        addView(pad, LinearLayout.LayoutParams(MATCH, WRAP).apply { topMargin = looks.tiny })
    }

    init {
        pad.onDrag = { point, x, y, no -> stage.tell(Event.Drag(key, point, x, y, no)) }
        pad.onChoose = { point -> stage.tell(Event.Choose(key, point)) }
    }

    override fun show(part: Part, upto: Long) {
        key = part.key
        view.keyed("$key.block")
        pad.keyed(key).named(part.name, part.says)
        says.line(part.says)
        pad.show(part.amount, part.points, part.chosen, upto)
        if (shown == part.picture) return
        shown = part.picture
        val id = shown
        stage.picture(id) { bytes ->
            if (id == shown) pad.bitmap = BitmapFactory.decodeByteArray(bytes, 0, bytes.size)
        }
    }
}
