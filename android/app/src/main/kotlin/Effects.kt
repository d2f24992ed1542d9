// What only a phone can do, as the core asks for it: share a file or copy it, pick one, buzz; and files that
// other programs open with this one.
//
// The rule: an effect is answered once, with what became of it; whatever another program hands
// over is read off the main thread, never more of it than is taken in.
package chalkface.app

import android.app.Activity
import android.content.ActivityNotFoundException
import android.content.ClipData
import android.content.ClipboardManager
import android.content.ContentResolver
import android.content.Intent
import android.net.Uri
import android.os.Bundle
import android.provider.MediaStore
import android.provider.OpenableColumns
import android.view.View
import android.webkit.MimeTypeMap
import chalkface.Answered
import chalkface.Effect
import chalkface.EffectKind
import chalkface.Event
import chalkface.Screen
import chalkface.mostFileBytes
import java.io.ByteArrayOutputStream
import java.io.FileNotFoundException
import java.nio.ByteBuffer

class Effects(private val activity: Activity, private val host: CoreHost, state: Bundle?) : AskedView.Doer {
    private var picking = state?.getLong(PICKING, NONE) ?: NONE
    private val answered = HashSet<ULong>()

    fun save(out: Bundle) = out.putLong(PICKING, picking)

    /** What a screen asks for without being pressed. */
    fun shown(screen: Screen, view: View) {
        for (effect in screen.effects) {
            if (effect.kind == EffectKind.BUZZ && answered.add(effect.id)) {
                // The system decides whether it is felt, and needs no permission for it.
                view.performHapticFeedback(Newer.done)
                host.tell(Event.Answer(effect.id, Answered.Done))
            }
        }
    }

    /** What was pressed. */
    override fun does(effect: Effect) = when (effect.kind) {
        EffectKind.SHARE -> share(effect)
        EffectKind.PICK_FILE -> pick(effect)
        EffectKind.TAKE_PICTURE -> take(effect)
        EffectKind.BUZZ -> Unit
    }

    /** What the core then says tells that it was done. */
    override fun copies(effect: Effect) = host.content(effect.id.toLong()) { bytes ->
        val board = activity.getSystemService(ClipboardManager::class.java)
        board.setPrimaryClip(ClipData.newPlainText(effect.name, bytes.decodeToString()))
        host.tell(Event.Answer(effect.id, Answered.Done))
    }

    private fun share(effect: Effect) = host.content(effect.id.toLong()) { bytes ->
        val uri = SharedFiles.put(activity, effect.name, bytes)
        val send = Intent(Intent.ACTION_SEND).setType(SharedFiles.TYPE)
            .putExtra(Intent.EXTRA_STREAM, uri)
            .addFlags(Intent.FLAG_GRANT_READ_URI_PERMISSION)
        send.clipData = ClipData.newUri(activity.contentResolver, effect.name, uri)
        start(effect) { activity.startActivity(Intent.createChooser(send, effect.does)) }
    }

    private fun pick(effect: Effect) {
        // Not every ending has a type with the system; what doesn't fit is told by the core.
        val types = effect.endings.map { MimeTypeMap.getSingleton().getMimeTypeFromExtension(it) }
        val open = Intent(Intent.ACTION_OPEN_DOCUMENT).addCategory(Intent.CATEGORY_OPENABLE).setType("*/*")
        if (types.isNotEmpty() && null !in types) open.putExtra(Intent.EXTRA_MIME_TYPES, types.distinct().toTypedArray())
        picking = effect.id.toLong()
        @Suppress("DEPRECATION")
        start(effect) { activity.startActivityForResult(open, PICK) }
    }

    /** By the camera's own program: this one needs no permission for it. */
    private fun take(effect: Effect) {
        val into = SharedFiles.slot(activity)
        val take = Intent(MediaStore.ACTION_IMAGE_CAPTURE).putExtra(MediaStore.EXTRA_OUTPUT, into)
            .addFlags(Intent.FLAG_GRANT_WRITE_URI_PERMISSION or Intent.FLAG_GRANT_READ_URI_PERMISSION)
        take.clipData = ClipData.newUri(activity.contentResolver, effect.does, into)
        picking = effect.id.toLong()
        @Suppress("DEPRECATION")
        start(effect) { activity.startActivityForResult(take, TAKE) }
    }

    private fun start(effect: Effect, start: () -> Unit) {
        try {
            start()
        } catch (none: ActivityNotFoundException) {
            host.tell(Event.Answer(effect.id, Answered.Failed(Hosts.words.noProgram)))
        }
    }

    /** A picked file came, or none did: then it can be pressed again. */
    fun came(request: Int, result: Int, data: Intent?) {
        if (request == TAKE && result == Activity.RESULT_OK && picking != NONE) {
            val context = activity.applicationContext
            host.file(picking, Hosts.words.unreadable) { "" to direct(SharedFiles.taken(context, mostFileBytes().toInt())) }
            picking = NONE
            return
        }
        val uri = data?.data
        if (request != PICK || result != Activity.RESULT_OK || uri == null || picking == NONE) return
        read(picking, uri)
        picking = NONE
    }

    /** A file that another program opened with this one, or shared with it. */
    fun opened(intent: Intent?) {
        if (intent == null || intent.flags and Intent.FLAG_ACTIVITY_LAUNCHED_FROM_HISTORY != 0) return
        val uri = when (intent.action) {
            Intent.ACTION_VIEW -> intent.data
            Intent.ACTION_SEND -> stream(intent)
            else -> null
        }
        if (uri != null) read(null, uri)
    }

    private fun stream(intent: Intent): Uri? = try {
        Newer.stream(intent)
    } catch (hostile: RuntimeException) {
        null
    }

    private fun read(effect: Long?, uri: Uri) {
        val resolver = activity.applicationContext.contentResolver
        host.file(effect, Hosts.words.unreadable) { name(resolver, uri) to bytes(resolver, uri) }
    }

    private fun name(resolver: ContentResolver, uri: Uri): String {
        val told = try {
            resolver.query(uri, arrayOf(OpenableColumns.DISPLAY_NAME), null, null, null)?.use {
                if (it.moveToFirst()) it.getString(0) else null
            }
        } catch (odd: RuntimeException) {
            null
        }
        return (told ?: uri.lastPathSegment.orEmpty()).take(MOST_NAME)
    }

    private fun bytes(resolver: ContentResolver, uri: Uri): ByteBuffer {
        // Only what other programs hand over: no path, and nothing of our own.
        val own = uri.authority?.substringAfterLast('@') == SharedFiles.authority(activity)
        if (uri.scheme != ContentResolver.SCHEME_CONTENT || own) throw FileNotFoundException(uri.toString())
        val most = mostFileBytes().toInt() + 1
        val stream = resolver.openInputStream(uri) ?: throw FileNotFoundException(uri.toString())
        stream.use {
            val all = ByteArrayOutputStream()
            val some = ByteArray(SOME)
            while (all.size() < most) {
                val read = it.read(some, 0, minOf(SOME, most - all.size()))
                if (read < 0) break
                all.write(some, 0, read)
            }
            return direct(all.toByteArray())
        }
    }

    private companion object {
        const val PICKING = "picking"
        const val NONE = -1L
        const val PICK = 7
        const val TAKE = 8
        const val SOME = 64 * 1024
        const val MOST_NAME = 200
    }
}
