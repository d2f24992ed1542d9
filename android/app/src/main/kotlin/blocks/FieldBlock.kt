// A text to write: the name over it, the unit behind it, what is wrong under it in words.
//
// The rule: while somebody writes, the text is theirs. It is told at pauses, on leaving, and
// before anything else is told; the core's text is shown only where nothing is on its way.
package chalkface.app.blocks

import android.os.Handler
import android.os.Looper
import android.text.Editable
import android.text.InputType
import android.text.TextWatcher
import android.util.TypedValue
import android.view.Gravity
import android.view.View
import android.view.inputmethod.EditorInfo
import android.widget.EditText
import android.widget.LinearLayout
import chalkface.Event
import chalkface.Part
import chalkface.app.Ground
import chalkface.app.Looks

class FieldBlock(stage: Stage) : Block(stage) {
    private val name = looks.text(weight = 600)
    val input = EditText(looks.context)
    private val unit = looks.text(colour = colours.muted)
    private val hint = looks.text(Looks.SECOND, colour = colours.muted)
    private val problem = looks.text(Looks.SECOND, weight = 500, colour = colours.flag)
    private val pause = Handler(Looper.getMainLooper())
    private val tell = Runnable { flush() }
    private var key = ""
    private var no = 0UL
    private var pending = false
    private var showing = false
    private var told = 0L
    private var wrong: Boolean? = null
    override val above get() = looks.dp(12)

    override val view = column().apply {
        addView(name)
        val line = line()
        line.addView(input, LinearLayout.LayoutParams(0, WRAP, 1f))
        line.addView(unit, LinearLayout.LayoutParams(WRAP, WRAP).apply { marginStart = looks.small })
        addView(line, LinearLayout.LayoutParams(MATCH, WRAP).apply { topMargin = looks.tiny; bottomMargin = looks.tiny })
        addView(hint)
        addView(problem)
    }

    init {
        input.id = View.generateViewId()
        name.labelFor = input.id
        input.apply {
            minimumHeight = looks.touch
            setTextSize(TypedValue.COMPLEX_UNIT_SP, Looks.RUNNING)
            setTextColor(colours.ink)
            setPaddingRelative(looks.dp(12), looks.small, looks.dp(12), looks.small)
            textDirection = View.TEXT_DIRECTION_FIRST_STRONG
            textAlignment = View.TEXT_ALIGNMENT_VIEW_START
            gravity = Gravity.START or Gravity.CENTER_VERTICAL
            importantForAutofill = View.IMPORTANT_FOR_AUTOFILL_NO
            defaultFocusHighlightEnabled = false
            isSaveEnabled = false
            addTextChangedListener(object : TextWatcher {
                override fun beforeTextChanged(text: CharSequence?, start: Int, count: Int, after: Int) = Unit

                override fun onTextChanged(text: CharSequence?, start: Int, before: Int, count: Int) = Unit

                override fun afterTextChanged(text: Editable) = written()
            })
            setOnFocusChangeListener { _, focused -> if (!focused) flush() }
            setOnEditorActionListener { _, _, _ -> flush(); false }
        }
    }

    private fun written() {
        if (showing) return
        pending = true
        pause.removeCallbacks(tell)
        pause.postDelayed(tell, PAUSE_MS)
    }

    override fun flush() {
        if (!pending) return
        pending = false
        pause.removeCallbacks(tell)
        no += 1UL
        told = stage.tell(Event.Write(key, input.text.toString(), no))
    }

    override fun show(part: Part, upto: Long) {
        if (key != part.key) {
            key = part.key
            // To change what kind of text it takes changes the text, as far as the system is concerned.
            showing = true
            dress(part)
            showing = false
        }
        view.keyed("${part.key}.block")
        input.keyed(part.key)
        name.line(part.name)
        unit.line(part.unit)
        hint.line(part.hint)
        problem.line(part.problem.orEmpty())
        if (wrong != (part.problem != null)) {
            wrong = part.problem != null
            input.background = if (wrong == true) {
                Ground(looks, edge = colours.flag, width = 3f, pressed = colours.paper)
            } else {
                Ground(looks, pressed = colours.paper)
            }
        }
        input.error = null
        // An answer from before the newest text knows nothing of it.
        if (pending || upto < told) return
        no = maxOf(no, part.no)
        if (input.text.toString() != part.text) {
            showing = true
            input.setText(part.text)
            input.setSelection(part.text.length)
            showing = false
        }
    }

    private fun dress(part: Part) {
        val lines = part.look == "lines"
        input.inputType = when (part.look) {
            "name" -> InputType.TYPE_CLASS_TEXT or InputType.TYPE_TEXT_VARIATION_PERSON_NAME or InputType.TYPE_TEXT_FLAG_CAP_WORDS
            // A sign may stand before a number, which not every keyboard for numbers has.
            "number", "day" -> InputType.TYPE_CLASS_PHONE
            "lines" -> InputType.TYPE_CLASS_TEXT or InputType.TYPE_TEXT_FLAG_MULTI_LINE or InputType.TYPE_TEXT_FLAG_CAP_SENTENCES
            else -> InputType.TYPE_CLASS_TEXT
        }
        input.imeOptions = EditorInfo.IME_FLAG_NO_FULLSCREEN or EditorInfo.IME_FLAG_NO_EXTRACT_UI
        if (!lines) {
            // One line to write, but all of it to be seen.
            input.setHorizontallyScrolling(false)
            input.maxLines = MOST_LINES
        }
        if (part.look == "search") input.imeOptions = input.imeOptions or EditorInfo.IME_ACTION_SEARCH
        if (lines) {
            input.minLines = 4
            input.gravity = Gravity.START or Gravity.TOP
        }
    }

    private companion object {
        const val PAUSE_MS = 400L
        const val MOST_LINES = 8
    }
}
