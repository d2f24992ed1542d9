// The one renderer: a screen of the core as native views.
//
// The rule: a view lives as long as its block's key. What changes is told to the view that is
// there; so focus, caret, scroll and a slider that is being moved survive every screen.
package chalkface.app

import android.annotation.SuppressLint
import android.graphics.Rect
import android.os.Bundle
import android.view.View
import android.view.ViewGroup
import android.view.ViewTreeObserver
import android.widget.EditText
import android.widget.LinearLayout
import android.widget.ScrollView
import chalkface.Kind
import chalkface.Part
import chalkface.Screen
import chalkface.app.blocks.Block
import chalkface.app.blocks.FieldBlock
import chalkface.app.blocks.MATCH
import chalkface.app.blocks.Stage
import chalkface.app.blocks.TouchBlock
import chalkface.app.blocks.WRAP

@SuppressLint("ViewConstructor")
class BlocksView(private val stage: Stage, asked: AskedView.Doer, sun: () -> Unit) : LinearLayout(stage.looks.context) {
    private val looks = stage.looks
    private val head = HeadBar(stage, sun)
    private val notices = NoticesView(stage)
    private val busy = BusyBar(stage)
    private val effects = AskedView(stage, asked)
    private val tabs = TabsBar(stage)
    private val columns = Columns(looks)
    private val scroll = ScrollView(context).apply {
        isFillViewport = true
        clipToPadding = false
        addView(columns, ViewGroup.LayoutParams(MATCH, WRAP))
    }
    private val blocks = HashMap<String, Block>()
    private val kinds = HashMap<String, Kind>()
    private var shown: Screen? = null
    private var waiting: Bundle? = null

    /** Views made and kept since it was set to nothing, for measuring. */
    var made = 0
    var kept = 0

    init {
        orientation = VERTICAL
        setBackgroundColor(looks.colours.paper)
        val rest = LayoutParams(MATCH, 0, 1f)
        if (looks.isWide) {
            addView(tabs.view, LayoutParams(MATCH, WRAP))
            addView(scroll, rest)
        } else {
            addView(scroll, rest)
            addView(tabs.view, LayoutParams(MATCH, WRAP))
        }
        for (view in listOf(head.view, notices.view, busy.view, effects.view)) {
            columns.head.addView(view, LayoutParams(MATCH, WRAP))
        }
    }

    /** Shows a screen as it was after the thing told under number `upto`. */
    fun show(screen: Screen, upto: Long) {
        val before = shown
        shown = screen
        val same = before?.place == screen.place
        if (same) hold() else clear()
        head.show(screen)
        val told = notices.show(screen.notices)
        busy.show(screen.busy)
        effects.show(screen.effects)
        tabs.show(screen.tabs)
        val wide = looks.isWide && screen.parts.any { it.beside }
        columns.split = wide
        place(columns.main, screen.parts.filter { !(wide && it.beside) }, upto)
        place(columns.beside, screen.parts.filter { wide && it.beside }, upto)
        drop(screen.parts)
        restore(screen)
        // What was told stands at the top, and so does what comes next.
        if (before != null && (!same || told && screen.says != before.says)) scroll.scrollTo(0, 0)
        if (!same) Newer.paneTitle(this, screen.title)
        if (screen.says.isNotEmpty() && screen.says != before?.says) say(screen.says)
    }

    /** What is in sight stays where it is, whatever comes or goes above it. */
    private fun hold() {
        val from = scroll.scrollY
        if (from == 0) return
        fun top(of: View): Int? = (of.parent as? View)?.let { it.top + of.top }
        fun end(of: View) = (top(of) ?: 0) + of.height
        val first = blocks.values.map { it.view }.filter { end(it) > from }.minByOrNull(::end) ?: return
        val was = top(first) ?: return
        beforeDrawn {
            val moved = (top(first) ?: was) - was
            if (moved != 0 && scroll.scrollY == from) scroll.scrollBy(0, moved)
        }
    }

    /** Once, when all has been measured anew. */
    private fun beforeDrawn(does: () -> Unit) = scroll.viewTreeObserver.addOnPreDrawListener(object : ViewTreeObserver.OnPreDrawListener {
        override fun onPreDraw(): Boolean {
            scroll.viewTreeObserver.removeOnPreDrawListener(this)
            does()
            return true
        }
    })

    @Suppress("DEPRECATION")
    private fun say(text: String) = announceForAccessibility(text)

    /** Tells what is half written. */
    fun flush() = blocks.values.forEach { it.flush() }

    private fun clear() {
        // Their text goes with the screen that it was written on.
        blocks.clear()
        kinds.clear()
        columns.main.removeAllViews()
        columns.beside.removeAllViews()
    }

    private fun place(list: LinearLayout, parts: List<Part>, upto: Long) {
        for ((n, part) in parts.withIndex()) {
            val known = blocks[part.key]?.takeIf { kinds[part.key] == part.kind }
            if (known == null) blocks.remove(part.key)?.view?.let(::detach)
            val block = known ?: Block.of(part.kind, stage).also {
                blocks[part.key] = it
                kinds[part.key] = part.kind
            }
            if (known == null) made++ else kept++
            block.show(part, upto)
            put(list, n, block)
        }
        while (list.childCount > parts.size) list.removeViewAt(parts.size)
    }

    /** Puts a block's view at a place of a list. One that somebody writes in is never moved. */
    private fun put(list: LinearLayout, n: Int, block: Block) {
        val view = block.view
        if (view.parent === list && view.hasFocus()) {
            while (list.indexOfChild(view) > n) list.removeViewAt(n)
        }
        if (list.getChildAt(n) !== view) {
            detach(view)
            list.addView(view, n, LayoutParams(MATCH, WRAP))
        }
        (view.layoutParams as LayoutParams).let { if (it.topMargin != block.above) { it.topMargin = block.above; view.layoutParams = it } }
    }

    private fun detach(view: View) {
        (view.parent as? ViewGroup)?.removeView(view)
    }

    private fun drop(parts: List<Part>) {
        val there = parts.mapTo(HashSet()) { it.key }
        for (key in blocks.keys.filter { it !in there }) {
            blocks.remove(key)?.view?.let(::detach)
            kinds.remove(key)
        }
    }

    /** Focus, caret, scroll, and which zones are open: what a new activity can't know. */
    fun save(): Bundle = Bundle().apply {
        putString(PLACE, shown?.place)
        putInt(SCROLL, scroll.scrollY)
        val focused = findFocus()
        putString(FOCUS, focused?.getTag(R.id.key) as? String)
        if (focused is EditText) putIntArray(CARET, intArrayOf(focused.selectionStart, focused.selectionEnd))
        putStringArrayList(OPEN, ArrayList(blocks.filterValues { it is TouchBlock && it.isOpen }.keys))
    }

    fun restoreLater(saved: Bundle?) {
        waiting = saved
    }

    private fun restore(screen: Screen) {
        val saved = waiting ?: return
        waiting = null
        if (saved.getString(PLACE) != screen.place) return
        saved.getStringArrayList(OPEN)?.forEach { (blocks[it] as? TouchBlock)?.isOpen = true }
        val block = blocks[saved.getString(FOCUS)]
        if (block is FieldBlock) {
            block.input.requestFocus()
            val (from, to) = saved.getIntArray(CARET)?.map { it.coerceIn(0, block.input.length()) } ?: listOf(0, 0)
            block.input.setSelection(from, to)
        } else {
            find(saved.getString(FOCUS))?.requestFocus()
        }
        val at = saved.getInt(SCROLL)
        beforeDrawn { scroll.scrollTo(0, at) }
    }

    /** The view of a key. */
    fun find(key: String?): View? = key?.let { find(this, it) }

    private fun find(of: View, key: String): View? {
        if (of.getTag(R.id.key) == key) return of
        if (of !is ViewGroup) return null
        return (0 until of.childCount).firstNotNullOfOrNull { find(of.getChildAt(it), key) }
    }

    /** The keyboard came up, or went: what is written in comes back into what is to be seen. */
    fun keyboard(up: Boolean) {
        if (!looks.isWide) tabs.view.visibility = if (up || shown?.tabs.isNullOrEmpty()) View.GONE else View.VISIBLE
        if (up) post(::reveal)
    }

    private fun reveal() {
        val focused = findFocus() ?: return
        focused.requestRectangleOnScreen(Rect(0, 0, focused.width, focused.height), true)
    }

    private companion object {
        const val PLACE = "place"
        const val SCROLL = "scroll"
        const val FOCUS = "focus"
        const val CARET = "caret"
        const val OPEN = "open"
    }
}
