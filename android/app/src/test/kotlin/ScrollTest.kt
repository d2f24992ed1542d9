// What somebody is looking at stays where it is when something comes or goes above it.
package chalkface.app

import android.app.Activity
import android.view.ViewGroup
import android.widget.ScrollView
import chalkface.Kind
import chalkface.Part
import chalkface.Screen
import org.junit.Assert.assertEquals
import org.junit.Test
import org.junit.runner.RunWith
import org.robolectric.Robolectric
import org.robolectric.RobolectricTestRunner
import org.robolectric.Shadows.shadowOf
import java.time.Duration

@RunWith(RobolectricTestRunner::class)
class ScrollTest {
    private fun text(key: String, words: String) = Part(
        Kind.TEXT, key, false, "", words, "", "", null, "", "", false, 0UL, emptyList(), 0UL, null, 0L, 0u,
        emptyList(), null, emptyList(), emptyList(), emptyList(), "", emptyList(), null,
    )

    private fun screen(vararg first: String) = Screen(
        "a place", 1UL, "A place", "", null, emptyList(),
        first.map { text("first.$it", "$it, and so on for a line or two, until there is no more of it to be read") } + (1..60).map { text("line.$it", "Line $it") },
        emptyList(), null, "", null, emptyList(),
    )

    @Test fun `lines above come and go, and what is looked at stays`() {
        val activity = Robolectric.buildActivity(Activity::class.java).setup().get()
        val blocks = BlocksView(Still(Looks(activity, sun = false)), NoDoer, {})
        activity.setContentView(blocks, ViewGroup.LayoutParams(ViewGroup.LayoutParams.MATCH_PARENT, ViewGroup.LayoutParams.MATCH_PARENT))
        fun layOut() = shadowOf(android.os.Looper.getMainLooper()).idleFor(Duration.ofMillis(50))
        fun at(key: String) = IntArray(2).also { blocks.find(key)!!.getLocationInWindow(it) }[1]
        fun shows(vararg first: String) { blocks.show(screen(*first), 0); layOut() }
        shows("one")
        val scroll = (0 until blocks.childCount).map { blocks.getChildAt(it) }.first { it is ScrollView } as ScrollView
        scroll.scrollTo(0, 700)
        layOut()
        val seen = (1..60).map { "line.$it" }.first { at(it) > 200 }
        val before = at(seen)
        shows("one", "two", "three")
        assertEquals("two have come", before, at(seen))
        shows()
        assertEquals("all have gone", before, at(seen))
        scroll.scrollTo(0, 0)
        shows("one")
        assertEquals("the top is the top", 0, scroll.scrollY)
        activity.finish()
    }
}
