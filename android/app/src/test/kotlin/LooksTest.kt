// The app holds no colour but those of the looks, no word but its name, and asks for one permission.
package chalkface.app

import android.Manifest
import android.content.pm.PackageManager
import org.junit.Assert.assertEquals
import org.junit.Assert.assertTrue
import org.junit.Test
import org.junit.runner.RunWith
import org.robolectric.RobolectricTestRunner
import org.robolectric.RuntimeEnvironment
import java.io.File

@RunWith(RobolectricTestRunner::class)
class LooksTest {
    private val sources = File(repository, "android/app/src/main/kotlin").walk().filter { it.extension == "kt" }.toList()

    @Test fun `colours are those of the desk's page`() {
        val css = File(repository, "desk/src/serve/style.css").readText()
        val themes = css.split(":root {").drop(1).map { block ->
            Regex("--([a-z-]+): *(#[0-9a-f]{6})").findAll(block.substringBefore('}')).associate { it.groupValues[1] to android.graphics.Color.parseColor(it.groupValues[2]) }
        }
        for ((palette, theme) in listOf(Palette.LIGHT, Palette.DARK, Palette.SUN).zip(themes)) {
            val ours = mapOf(
                "paper" to palette.paper, "surface" to palette.surface, "ink" to palette.ink, "muted" to palette.muted,
                "grid" to palette.grid, "line" to palette.line, "press" to palette.press, "on-press" to palette.onPress,
                "held" to palette.held, "flag" to palette.flag, "done" to palette.done,
            ) + listOf("a", "b", "c", "d", "e", "f").zip(palette.series)
            for ((name, colour) in ours) assertEquals(name, theme[name], colour)
        }
    }

    @Test fun `the app has no words of its own but its name`() {
        assertTrue(sources.size > 25)
        val prose = Regex("\"[A-Z][a-z]+( [a-z]+)+[^\"]*\"")
        for (file in sources) {
            val found = file.readLines().filter { line -> !line.trim().startsWith("//") && !line.trim().startsWith("*") && "Log." !in line }.flatMap { prose.findAll(it) }
            assertEquals("${file.name}: ${found.map { it.value }}", 0, found.size)
        }
        val strings = File(repository, "android/app/src/main/res/values/strings.xml").readText()
        assertEquals(listOf("app_name"), Regex("name=\"([a-z_]+)\"").findAll(strings).map { it.groupValues[1] }.toList())
    }

    @Test fun `every file opens with what it is and stays short`() {
        for (file in sources) {
            val lines = file.readLines()
            assertTrue("${file.name} has no header", lines.first().startsWith("// "))
            assertTrue("${file.name} has ${lines.size} lines", lines.size <= 400)
        }
    }

    @Test fun `one permission is asked for, and no network`() {
        val app = RuntimeEnvironment.getApplication()
        val asked = app.packageManager.getPackageInfo(app.packageName, PackageManager.GET_PERMISSIONS).requestedPermissions
        assertEquals(listOf(Manifest.permission.POST_NOTIFICATIONS), asked.toList())
    }
}
