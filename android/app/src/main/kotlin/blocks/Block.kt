// What every kind of block is: one view that shows one part, and goes on showing it as it changes.
//
// The rule: a block draws what the part says and tells what was done to it; it decides nothing.
package chalkface.app.blocks

import android.view.View
import android.view.accessibility.AccessibilityNodeInfo
import android.widget.LinearLayout
import android.widget.TextView
import chalkface.Event
import chalkface.Kind
import chalkface.Part
import chalkface.RowsPage
import chalkface.Words
import chalkface.app.Ground
import chalkface.app.Looks
import chalkface.app.R

/** What blocks stand on. */
interface Stage {
    val looks: Looks
    val words: Words

    /** Tells an event of the screen that is shown; texts that are half told go first. Answers its number. */
    fun tell(event: Event): Long

    fun rows(key: String, after: String, count: Int, then: (RowsPage) -> Unit)

    /** The bytes of a picture of the screen, as JPEG. */
    fun picture(id: String, then: (ByteArray) -> Unit)

    /** Milliseconds since 1970-01-01 UTC. */
    fun utcMs(): Long
}

/** A block of a kind. Its view stays the same for as long as its key is there. */
abstract class Block(val stage: Stage) {
    protected val looks get() = stage.looks
    protected val colours get() = stage.looks.colours
    abstract val view: View

    /** Shows a part, as it was after the thing told under number `upto`. */
    abstract fun show(part: Part, upto: Long)

    /** Tells what is half written. */
    open fun flush() = Unit

    /** Space above it. */
    open val above: Int get() = looks.small

    protected fun column(): LinearLayout = LinearLayout(looks.context).apply { orientation = LinearLayout.VERTICAL }

    protected fun line(): LinearLayout = LinearLayout(looks.context).apply {
        orientation = LinearLayout.HORIZONTAL
        gravity = android.view.Gravity.CENTER_VERTICAL
    }

    companion object {
        fun of(kind: Kind, stage: Stage): Block = when (kind) {
            Kind.HEADING -> HeadingBlock(stage)
            Kind.TEXT -> TextBlock(stage)
            Kind.TABLE -> TableBlock(stage)
            Kind.CHART -> ChartBlock(stage)
            Kind.ITEMS -> ItemsBlock(stage, numbered = false)
            Kind.STEPS -> ItemsBlock(stage, numbered = true)
            Kind.CAUTION -> CautionBlock(stage)
            Kind.ACTION -> ActionBlock(stage)
            Kind.CHOICE -> ChoiceBlock(stage)
            Kind.SWITCH -> SwitchBlock(stage)
            Kind.FIELD -> FieldBlock(stage)
            Kind.AMOUNT -> AmountBlock(stage)
            Kind.TOUCH -> TouchBlock(stage)
            Kind.CELLS -> CellsBlock(stage)
            Kind.COUNTER -> CounterBlock(stage)
            Kind.CLOCK -> ClockBlock(stage)
            Kind.ROWS -> RowsBlock(stage)
            Kind.PICTURE -> PictureBlock(stage)
        }
    }
}

const val MATCH = LinearLayout.LayoutParams.MATCH_PARENT
const val WRAP = LinearLayout.LayoutParams.WRAP_CONTENT

/** Names a view for tests, and for where focus was. */
fun <T : View> T.keyed(key: String): T = apply { setTag(R.id.key, key) }

/** Shows or takes away a line of text. */
fun TextView.line(of: CharSequence) {
    if (text?.toString() != of.toString()) text = of
    visibility = if (of.isEmpty()) View.GONE else View.VISIBLE
}

/**
 * A view that is pressed: a target large enough, a ground, a role that a screen reader says, and
 * for one that is chosen or switched whether it is (asked when it is read).
 */
fun <T : View> T.pressed(
    looks: Looks,
    ground: Ground,
    role: String = "android.widget.Button",
    checked: (() -> Boolean)? = null,
    does: () -> Unit,
): T = apply {
    background = ground
    minimumHeight = looks.touch
    minimumWidth = looks.touch
    isClickable = true
    isFocusable = true
    defaultFocusHighlightEnabled = false
    setOnClickListener { does() }
    accessibilityDelegate = object : View.AccessibilityDelegate() {
        override fun onInitializeAccessibilityNodeInfo(host: View, info: AccessibilityNodeInfo) {
            super.onInitializeAccessibilityNodeInfo(host, info)
            info.className = role
            info.isCheckable = checked != null
            info.isChecked = checked?.invoke() == true
        }
    }
}

/** A screen reader takes it as one thing with this name. */
fun View.named(vararg words: CharSequence) {
    val name = words.filter { it.isNotEmpty() }.joinToString(", ")
    if (contentDescription?.toString() != name) contentDescription = name
}

fun View.silent(): View = apply { importantForAccessibility = View.IMPORTANT_FOR_ACCESSIBILITY_NO }

/** Says that it is chosen, by more than colour. */
fun View.chosen(is_: Boolean) {
    isSelected = is_
}
