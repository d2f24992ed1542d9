// The stories of tests/replays, and what Rust made of each step (its `REPLAYS_INTO`).
package chalkface.app

import chalkface.Effect
import chalkface.EffectKind
import chalkface.Kind
import chalkface.Part
import chalkface.Row
import chalkface.Scene
import chalkface.Screen
import org.json.JSONArray
import org.json.JSONObject
import org.junit.Assert.assertEquals
import java.io.File

val repository: File = generateSequence(File("").absoluteFile) { it.parentFile }.first { File(it, "tests/replays").isDirectory }

fun stories(): List<String> = File(repository, "tests/replays").listFiles()!!.map { it.name }.filter { it.endsWith(".json") }.sorted().map { it.removeSuffix(".json") }

fun story(name: String) = JSONObject(File(repository, "tests/replays/$name.json").readText())

/** What Rust did and showed, step by step. */
fun told(name: String): List<JSONObject> {
    val file = File(System.getProperty("replays") ?: "${repository}/target/replays", "$name.json")
    check(file.isFile) {
        "$file is missing; make it: REPLAYS_INTO=target/replays cargo test --release -p chalkface-tests --lib -- replays::every_story"
    }
    return JSONArray(file.readText()).objects()
}

fun JSONArray.objects(): List<JSONObject> = (0 until length()).map { getJSONObject(it) }

fun JSONArray.strings(): List<String> = (0 until length()).map { get(it).toString() }

fun JSONObject.text(key: String): String = if (isNull(key)) "" else getString(key)

fun hex(text: String): ByteArray = ByteArray(text.length / 2) { text.substring(2 * it, 2 * it + 2).toInt(16).toByte() }

fun JSONObject.bytes(key: String): ByteArray = getJSONArray(key).let { of -> ByteArray(of.length()) { of.getInt(it).toByte() } }

/** Whether a screen that crossed the bindings says what the core's own says. */
fun assertSame(what: String, core: JSONObject, screen: Screen) {
    fun same(name: String, a: Any?, b: Any?) = assertEquals("$what: $name", a, b)
    same("place", core.getString("place"), screen.place)
    same("turn", core.getLong("turn"), screen.turn.toLong())
    same("title", core.getString("title"), screen.title)
    same("subtitle", core.getString("subtitle"), screen.subtitle)
    same("back", core.text("back"), screen.back.orEmpty())
    same("undo", core.text("undo"), screen.undo.orEmpty())
    same("says", core.getString("says"), screen.says)
    same("busy", if (core.isNull("busy")) "" else core.getJSONObject("busy").getString("text"), screen.busy.orEmpty())
    same("tabs", core.getJSONArray("tabs").objects().map { Triple(it.getString("key"), it.getString("name"), it.getBoolean("here")) }, screen.tabs.map { Triple(it.key, it.name, it.here) })
    same("notices", core.getJSONArray("notices").objects().map { Triple(it.getLong("id"), it.getString("tone") == "problem", it.getString("text")) }, screen.notices.map { Triple(it.id.toLong(), it.problem, it.text) })
    same("effects", core.getJSONArray("effects").objects().map { it.getLong("id") to it.getString("effect") + it.optString("name") }, screen.effects.map { it.id.toLong() to word(it) + it.name })
    val parts = core.getJSONArray("parts").objects().filter { it.optString("block") != "markup" }
    val crossed = screen.parts.filter { part -> parts.any { it.getString("key") == part.key } }
    same("keys", parts.map { it.getString("key") }, crossed.map { it.key })
    for ((of, part) in parts.zip(crossed)) part("$what: ${part.key}", of, part)
}

private fun word(effect: Effect) = when (effect.kind) {
    EffectKind.SHARE -> "share"
    EffectKind.PICK_FILE -> "pick_file"
    EffectKind.TAKE_PICTURE -> "take_picture"
    EffectKind.BUZZ -> "buzz"
}

private fun part(what: String, of: JSONObject, part: Part) {
    fun same(name: String, a: Any?, b: Any?) = assertEquals("$what: $name", a, b)
    same("kind", of.optString("block").ifEmpty { of.getString("control") }, part.kind.name.lowercase())
    same("column", of.getString("column") == "beside", part.beside)
    when (part.kind) {
        Kind.HEADING, Kind.CAUTION -> same("text", of.getString("text"), part.text)
        Kind.TEXT -> { same("text", of.getString("text"), part.text); same("basis", of.getString("basis"), part.look) }
        Kind.TABLE -> {
            same("alt", of.getString("alt"), part.name)
            same("columns", of.getJSONArray("columns").strings(), part.columns)
            same("rows", of.getJSONArray("rows").objects().map { Triple(it.getString("name"), it.getString("basis"), it.getJSONArray("cells").strings()) }, part.rows.map { Triple(it.name, it.look, it.cells) })
        }
        Kind.CHART -> scene(what, of.getJSONObject("scene"), part.scene!!)
        Kind.ITEMS, Kind.STEPS -> same("items", of.getJSONArray("items").strings(), part.columns)
        else -> {
            same("name", of.getString("name"), part.name)
            control(what, of, part)
        }
    }
}

private fun control(what: String, of: JSONObject, part: Part) {
    fun same(name: String, a: Any?, b: Any?) = assertEquals("$what: $name", a, b)
    fun options(key: String) = of.getJSONArray(key).objects().map { it.getString("key") to it.getString("name") }
    val choices = part.options.map { it.key to it.name }
    when (part.kind) {
        Kind.ACTION -> { same("look", of.getString("look"), part.look); same("hint", of.getString("hint"), part.hint) }
        Kind.CHOICE -> { same("options", options("options"), choices); same("chosen", of.text("chosen"), part.chosen.orEmpty()) }
        Kind.SWITCH -> same("on", of.getBoolean("on"), part.on)
        Kind.FIELD -> {
            same("text", of.getString("text"), part.text)
            same("no", of.getLong("no"), part.no.toLong())
            same("kind", of.getString("kind"), part.look)
            same("unit", of.getString("unit"), part.unit)
            same("problem", of.text("problem"), part.problem.orEmpty())
        }
        Kind.AMOUNT -> {
            same("amount", listOf("value", "low", "high", "step").map { of.getDouble(it) }, part.amount)
            same("says", of.getString("says"), part.says)
        }
        Kind.TOUCH -> {
            same("places", options("places"), choices)
            same("says", of.getString("says"), part.says)
            scene(what, of.getJSONObject("scene"), part.scene!!)
        }
        Kind.CELLS -> {
            same("cells", options("cells"), choices)
            same("columns", of.getJSONArray("columns").strings(), part.columns)
            same("rows", of.getJSONArray("rows").strings(), part.names)
            same("chosen", of.text("chosen"), part.chosen.orEmpty())
        }
        // Rust's file was read and written once more on the way, which may cost a number its last bit.
        Kind.PICTURE -> {
            same("points", of.getJSONArray("points").objects().map { listOf(it.getString("key"), it.getString("name"), "%.9f %.9f".format(it.getDouble("x_px"), it.getDouble("y_px")), it.getString("look"), it.getLong("no")) }, part.points.map { listOf(it.key, it.name, "%.9f %.9f".format(it.xPx, it.yPx), it.look, it.no.toLong()) })
            same("id", of.getJSONObject("picture").getString("id"), part.picture)
            same("chosen", of.text("chosen"), part.chosen.orEmpty())
            same("says", of.getString("says"), part.says)
        }
        Kind.COUNTER -> { same("count", of.getLong("count"), part.count.toLong()); same("says", of.getString("says"), part.says) }
        Kind.CLOCK -> { same("ends", of.getLong("ends_ms"), part.endsMs); same("seconds", of.getInt("seconds"), part.seconds.toInt()) }
        Kind.ROWS -> {
            same("total", of.getLong("total"), part.count.toLong())
            fun row(it: JSONObject) = listOf("key", "name", "detail", "figure", "flag").map(it::getString)
            fun row(it: Row) = listOf(it.key, it.name, it.detail, it.figure, it.flag)
            same("rows", of.getJSONArray("rows").objects().map(::row), part.rows.map(::row))
        }
        else -> error("$what is no control")
    }
}

private fun scene(what: String, of: JSONObject, scene: Scene) {
    fun count(items: JSONArray): Pair<Int, List<String>> {
        var (shapes, groups) = 0 to emptyList<String>()
        for (item in items.objects()) {
            if (item.getString("kind") == "group") {
                val inside = count(item.getJSONArray("items"))
                shapes += inside.first
                groups = groups + inside.second + item.getString("alt")
            } else {
                shapes++
            }
        }
        return shapes to groups
    }
    val (shapes, groups) = count(of.getJSONArray("items"))
    assertEquals("$what: alt", of.getString("alt"), scene.alt)
    assertEquals("$what: width", of.getDouble("width_mm"), scene.widthMm, 0.0)
    assertEquals("$what: shapes", shapes, scene.shapes.size)
    assertEquals("$what: groups", groups, scene.groups.map { it.alt })
}
