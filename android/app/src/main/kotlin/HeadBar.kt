// The title over a line of ink: back at its start, undo as words at its end. At home, where
// there is no back, the switch to the colours of full sun.
package chalkface.app

import android.view.Gravity
import android.view.View
import android.widget.FrameLayout
import android.widget.LinearLayout
import chalkface.Event
import chalkface.Screen
import chalkface.app.blocks.Arrow
import chalkface.app.blocks.MATCH
import chalkface.app.blocks.Stage
import chalkface.app.blocks.Sun
import chalkface.app.blocks.WRAP
import chalkface.app.blocks.keyed
import chalkface.app.blocks.line
import chalkface.app.blocks.named
import chalkface.app.blocks.pressed

class HeadBar(private val stage: Stage, sun: () -> Unit) {
    private val looks = stage.looks
    private val title = looks.text(Looks.TITLE, Looks.STRONG).keyed("title").apply {
        Newer.heading(this)
    }
    private val subtitle = looks.text(Looks.SECOND, colour = looks.colours.muted)
    private val back = FrameLayout(looks.context).keyed("back").apply {
        addView(Arrow(looks, back = true, colour = looks.colours.ink), FrameLayout.LayoutParams(looks.touch, looks.touch))
        pressed(looks, Ground(looks, null, null)) { stage.tell(Event.Back) }
    }
    private val sunny = Sun(looks).keyed("sun").apply {
        pressed(looks, Ground(looks, null, null), "android.widget.Switch", { looks.colours === Palette.SUN }, sun)
        named(stage.words.sun)
    }
    private val undo = looks.text(Looks.SECOND, 500).keyed("undo").apply {
        pressed(looks, Ground(looks, null, looks.colours.line, under = true)) { stage.tell(Event.Undo) }
        setPaddingRelative(looks.small, looks.tiny, looks.small, looks.tiny)
        maxWidth = looks.dp(200)
    }
    private val words = LinearLayout(looks.context).apply {
        orientation = LinearLayout.VERTICAL
        gravity = Gravity.CENTER_VERTICAL
        minimumHeight = looks.touch
        addView(title)
        addView(subtitle)
    }
    val view = LinearLayout(looks.context).apply {
        orientation = LinearLayout.VERTICAL
        val first = LinearLayout(looks.context).apply { gravity = Gravity.CENTER_VERTICAL }
        first.addView(back)
        first.addView(words, LinearLayout.LayoutParams(0, WRAP, 1f))
        first.addView(sunny)
        addView(first, LinearLayout.LayoutParams(MATCH, WRAP))
        // Undo says what it takes back; it stands at the end, on a line of its own.
        val second = LinearLayout(looks.context).apply { gravity = Gravity.END }
        second.addView(undo)
        addView(second, LinearLayout.LayoutParams(MATCH, WRAP))
        addView(View(looks.context).apply { setBackgroundColor(looks.colours.ink) }, LinearLayout.LayoutParams(MATCH, looks.dp(2)).apply {
            topMargin = looks.tiny
        })
        setPaddingRelative(0, looks.dp(6), 0, 0)
    }

    fun show(screen: Screen) {
        title.line(screen.title)
        subtitle.line(screen.subtitle)
        back.visibility = if (screen.back == null) View.GONE else View.VISIBLE
        back.named(screen.back.orEmpty())
        sunny.visibility = if (screen.back == null) View.VISIBLE else View.GONE
        undo.line(screen.undo.orEmpty())
    }
}
