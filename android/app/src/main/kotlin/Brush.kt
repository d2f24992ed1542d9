// Paints a drawing: shapes in millimetres, in the order in which they come.
package chalkface.app

import android.graphics.Canvas
import android.graphics.DashPathEffect
import android.graphics.Paint
import android.graphics.Path
import android.graphics.RectF
import android.graphics.Typeface
import android.util.Log
import chalkface.Scene
import chalkface.Shape
import chalkface.ShapeKind

class Brush(private val looks: Looks) {
    private val paint = Paint(Paint.ANTI_ALIAS_FLAG or Paint.SUBPIXEL_TEXT_FLAG or Paint.LINEAR_TEXT_FLAG)
    private val path = Path()
    private val box = RectF()
    private val plain = font(looks, R.font.atkinson_regular)
    private val bold = font(looks, R.font.atkinson_bold)

    fun draw(canvas: Canvas, scene: Scene, scale: Float) {
        for (shape in scene.shapes) {
            if (shape.kind == ShapeKind.TEXT) {
                text(canvas, shape, scale)
            } else {
                canvas.save()
                canvas.scale(scale, scale)
                shape(canvas, shape)
                canvas.restore()
            }
        }
    }

    private fun shape(canvas: Canvas, shape: Shape) {
        val at = FloatArray(shape.numbers.size) { shape.numbers[it].toFloat() }
        path.rewind()
        when (shape.kind) {
            ShapeKind.LINE -> { path.moveTo(at[0], at[1]); path.lineTo(at[2], at[3]) }
            ShapeKind.PATH -> steps(at)
            ShapeKind.RECT -> {
                box.set(at[0], at[1], at[0] + at[2], at[1] + at[3])
                path.addRoundRect(box, at[4], at[4], Path.Direction.CW)
            }
            ShapeKind.ELLIPSE -> {
                canvas.save()
                canvas.rotate(at[4], at[0], at[1])
                box.set(at[0] - at[2], at[1] - at[3], at[0] + at[2], at[1] + at[3])
                path.addOval(box, Path.Direction.CW)
            }
            ShapeKind.TEXT -> return
        }
        looks.colours.role(shape.fill)?.let { colour ->
            paint.style = Paint.Style.FILL
            paint.pathEffect = null
            paint.color = colour
            paint.alpha = Math.round(255 * shape.fillOpacity).toInt()
            canvas.drawPath(path, paint)
            paint.alpha = 255
        }
        looks.colours.role(shape.stroke)?.let { colour ->
            paint.style = Paint.Style.STROKE
            paint.color = colour
            val wide = shape.strokeMm.toFloat()
            paint.strokeWidth = wide
            paint.strokeCap = Paint.Cap.ROUND
            paint.strokeJoin = Paint.Join.ROUND
            val dash = shape.dash
            paint.pathEffect = if (dash.isEmpty()) null else DashPathEffect(FloatArray(dash.size) { dash[it].toFloat() * wide }, 0f)
            canvas.drawPath(path, paint)
            paint.pathEffect = null
        }
        if (shape.kind == ShapeKind.ELLIPSE) canvas.restore()
    }

    /** 0 x y begins, 1 x y draws a line, 2 and six numbers a cubic curve, 3 closes. */
    private fun steps(at: FloatArray) {
        var n = 0
        while (n < at.size) {
            when (at[n].toInt()) {
                0 -> { path.moveTo(at[n + 1], at[n + 2]); n += 3 }
                1 -> { path.lineTo(at[n + 1], at[n + 2]); n += 3 }
                2 -> { path.cubicTo(at[n + 1], at[n + 2], at[n + 3], at[n + 4], at[n + 5], at[n + 6]); n += 7 }
                else -> { path.close(); n += 1 }
            }
        }
    }

    /** In the canvas's own size: letters that are drawn small and made larger stand at wrong distances. */
    private fun text(canvas: Canvas, shape: Shape, scale: Float) {
        val words = shape.anchor.split(' ')
        paint.typeface = if ("bold" in words) bold else plain
        paint.textSize = shape.numbers[2].toFloat() * scale
        paint.textAlign = when (words.first()) {
            "middle" -> Paint.Align.CENTER
            "end" -> Paint.Align.RIGHT
            else -> Paint.Align.LEFT
        }
        val (x, y) = shape.numbers[0].toFloat() * scale to shape.numbers[1].toFloat() * scale
        if ("halo" in words) {
            paint.style = Paint.Style.STROKE
            paint.strokeWidth = paint.textSize * HALO
            paint.color = looks.colours.paper
            canvas.drawText(shape.text, x, y, paint)
        }
        paint.style = Paint.Style.FILL
        paint.color = looks.colours.role(shape.fill) ?: return
        canvas.drawText(shape.text, x, y, paint)
    }

    private companion object {
        /** The rim of paper, in sizes of the text; as the core's own pictures have it. */
        const val HALO = 0.3f

        fun font(looks: Looks, id: Int): Typeface = try {
            looks.context.resources.getFont(id)
        } catch (missing: Exception) {
            Log.w("chalkface", "the font of drawings can't be read", missing)
            Typeface.DEFAULT
        }
    }
}
