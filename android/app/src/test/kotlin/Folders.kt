// Folders for the books that tests write. Each goes when its test is done with it, and with the JVM at the latest.
package chalkface.app

import java.io.File
import java.nio.file.Files

object Folders {
    private val made = LinkedHashSet<File>()

    init {
        Runtime.getRuntime().addShutdownHook(Thread { synchronized(made) { made.forEach { it.deleteRecursively() } } })
    }

    fun make(name: String): File = Files.createTempDirectory("chalkface-$name-").toFile().also { synchronized(made) { made += it } }

    fun drop(folder: File) {
        folder.deleteRecursively()
        synchronized(made) { made -= folder }
    }
}
