// Hands the one file that is being shared to whoever was granted it, read only.
//
// The rule: there is one file at a time, under a name that nobody can guess; the provider is not
// exported, so that only a grant opens it; whatever else is asked for isn't there.
package chalkface.app

import android.content.ContentProvider
import android.content.ContentValues
import android.content.Context
import android.database.Cursor
import android.database.MatrixCursor
import android.net.Uri
import android.os.ParcelFileDescriptor
import android.provider.OpenableColumns
import java.io.File
import java.io.FileNotFoundException
import java.util.UUID

class SharedFiles : ContentProvider() {
    override fun onCreate() = true

    private fun fileOf(uri: Uri): File {
        val segments = uri.pathSegments
        val folder = folder(context ?: throw FileNotFoundException())
        val file = folder.listFiles()?.singleOrNull()?.takeIf { it.name == segments.firstOrNull() }?.listFiles()?.singleOrNull()
        if (segments.size != 2 || file == null || file.name != segments[1]) throw FileNotFoundException(uri.toString())
        return file
    }

    override fun openFile(uri: Uri, mode: String): ParcelFileDescriptor {
        if (uri.pathSegments.firstOrNull() == PICTURE) return openSlot(uri)
        if (mode != "r") throw FileNotFoundException("read only")
        return ParcelFileDescriptor.open(fileOf(uri), ParcelFileDescriptor.MODE_READ_ONLY)
    }

    /** The camera writes into the one place that it was granted. */
    private fun openSlot(uri: Uri): ParcelFileDescriptor {
        val slot = slots(context ?: throw FileNotFoundException()).listFiles()?.singleOrNull()
        if (uri.pathSegments.size != 2 || slot?.name != uri.lastPathSegment) throw FileNotFoundException(uri.toString())
        return ParcelFileDescriptor.open(slot, ParcelFileDescriptor.MODE_READ_WRITE or ParcelFileDescriptor.MODE_TRUNCATE)
    }

    override fun query(uri: Uri, columns: Array<out String>?, where: String?, args: Array<out String>?, order: String?): Cursor {
        val file = fileOf(uri)
        return MatrixCursor(arrayOf(OpenableColumns.DISPLAY_NAME, OpenableColumns.SIZE)).apply {
            addRow(arrayOf<Any>(file.name, file.length()))
        }
    }

    override fun getType(uri: Uri) = TYPE

    override fun insert(uri: Uri, values: ContentValues?): Uri? = null

    override fun delete(uri: Uri, where: String?, args: Array<out String>?) = 0

    override fun update(uri: Uri, values: ContentValues?, where: String?, args: Array<out String>?) = 0

    companion object {
        const val TYPE = "application/octet-stream"

        fun authority(context: Context) = "${context.packageName}.files"

        private const val PICTURE = "picture"

        private fun slots(context: Context) = File(context.cacheDir, "pictures")

        /** An empty place for one picture; there is no other. */
        fun slot(context: Context): Uri {
            slots(context).deleteRecursively()
            val token = UUID.randomUUID().toString()
            slots(context).apply { mkdirs() }.resolve(token).createNewFile()
            return Uri.Builder().scheme("content").authority(authority(context)).appendPath(PICTURE).appendPath(token).build()
        }

        /** The picture that was taken, so many bytes at most. It is not kept. */
        fun taken(context: Context, most: Int): ByteArray {
            val slot = slots(context).listFiles()?.singleOrNull() ?: throw FileNotFoundException()
            try {
                if (slot.length() == 0L || slot.length() > most) throw FileNotFoundException()
                return slot.readBytes()
            } finally {
                slots(context).deleteRecursively()
            }
        }

        private fun folder(context: Context) = File(context.cacheDir, "shared")

        /** From now on this is the file, and there is no other. */
        fun put(context: Context, name: String, bytes: ByteArray): Uri {
            folder(context).deleteRecursively()
            val token = UUID.randomUUID().toString()
            val plain = name.replace('/', '-')
            File(folder(context), token).apply { mkdirs() }.resolve(plain).writeBytes(bytes)
            return Uri.Builder().scheme("content").authority(authority(context)).appendPath(token).appendPath(plain).build()
        }
    }
}
