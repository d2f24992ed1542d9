// The one core of a process, and where it keeps its things.
package chalkface.app

import android.content.Context
import chalkface.Words
import chalkface.words
import java.io.File

object Hosts {
    private var host: CoreHost? = null

    /** How a host is made; tests give it another clock. */
    var make: (Context) -> CoreHost = { context ->
        val folder = File(context.noBackupFilesDir, "chalkface")
        takeBack(context, File(folder, CoreHost.BOOK))
        CoreHost(folder, KeyKeeper(folder))
    }

    val words: Words by lazy { words() }

    @Synchronized
    fun of(context: Context): CoreHost = host ?: make(context.applicationContext).also { host = it }

    /** The process ends, as far as the core is concerned. */
    @Synchronized
    fun end(): CoreHost? = host.also { host = null }

    /** Where the system's backup finds a whole copy of the book. */
    fun snapshot(context: Context) = File(context.filesDir, "snapshot/book")

    /** On a new phone the copy is all there is. */
    fun takeBack(context: Context, book: File) {
        val copy = snapshot(context)
        if (!book.exists() && copy.isFile) {
            book.parentFile?.mkdirs()
            copy.copyTo(book)
        }
    }
}
