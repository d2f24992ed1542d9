// Lines of a list, or steps in their order, counted from 1.
package chalkface.app.blocks

import chalkface.Part

class ItemsBlock(stage: Stage, private val numbered: Boolean) : Block(stage) {
    override val view = column()
    private var lines: List<String> = emptyList()

    override fun show(part: Part, upto: Long) {
        view.keyed(part.key)
        if (part.columns == lines) return
        lines = part.columns
        view.removeAllViews()
        for ((n, text) in lines.withIndex()) {
            val row = line().apply { gravity = android.view.Gravity.TOP }
            val sign = looks.text(colour = colours.muted).apply { this.text = if (numbered) "${n + 1}." else "•"; silent() }
            sign.minWidth = looks.dp(20)
            val said = looks.text().apply {
                this.text = text
                contentDescription = if (numbered) "${n + 1}. $text" else text
            }
            row.addView(sign, android.widget.LinearLayout.LayoutParams(WRAP, WRAP).apply { marginEnd = looks.tiny })
            row.addView(said, android.widget.LinearLayout.LayoutParams(0, WRAP, 1f))
            view.addView(row, android.widget.LinearLayout.LayoutParams(MATCH, WRAP).apply { topMargin = looks.tiny })
        }
    }
}
