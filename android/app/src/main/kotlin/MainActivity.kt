// The one activity: holds the renderer, hands on what the system says, and comes back from
// rotation, split screen and the end of its process to where the person was.
package chalkface.app

import android.app.Activity
import android.app.AlertDialog
import android.content.Intent
import android.content.pm.PackageManager
import android.os.Bundle
import android.view.WindowManager
import android.widget.FrameLayout
import android.widget.Toast
import chalkface.Event
import chalkface.Kind
import chalkface.RowsPage
import chalkface.Screen
import chalkface.Words
import chalkface.app.blocks.Stage

class MainActivity : Activity(), CoreHost.Listener {
    lateinit var host: CoreHost
        private set
    lateinit var blocks: BlocksView
        private set
    private lateinit var root: FrameLayout
    private lateinit var effects: Effects
    private val alarm by lazy { RestAlarm(this) }
    private var screen: Screen? = null
    private var dialog: AlertDialog? = null
    private var leaves: Any? = null
    private val settings get() = getSharedPreferences("looks", MODE_PRIVATE)

    override fun onCreate(state: Bundle?) {
        super.onCreate(state)
        host = Hosts.of(this)
        effects = Effects(this, host, state)
        root = FrameLayout(this)
        Newer.edges(window, root) { blocks.keyboard(it) }
        setContentView(root)
        build(state?.getBundle(VIEWS))
        host.listener = this
        if (state == null) effects.opened(intent)
    }

    /** The renderer in the looks of now. */
    private fun build(saved: Bundle?) {
        val looks = Looks(this, settings.getBoolean(SUN, false) || Newer.contrasts(this))
        blocks = BlocksView(Here(looks), effects, ::toggleSun)
        blocks.restoreLater(saved)
        root.removeAllViews()
        root.addView(blocks)
        root.setBackgroundColor(looks.colours.paper)
        Newer.icons(window, dark = !looks.isDark)
    }

    private fun toggleSun() {
        settings.edit().putBoolean(SUN, !settings.getBoolean(SUN, false)).apply()
        val saved = blocks.save()
        build(saved)
        host.shown?.let(::shown)
    }

    override fun onNewIntent(intent: Intent) {
        super.onNewIntent(intent)
        effects.opened(intent)
    }

    override fun onStart() {
        super.onStart()
        alarm.cancel()
        host.listener = this
        if (screen != null) host.tell(Event.Wake)
    }

    override fun onPause() {
        blocks.flush()
        super.onPause()
    }

    override fun onStop() {
        super.onStop()
        screen?.let { alarm.set(it.parts, host.around.utcMs()) }
        if (!isChangingConfigurations) host.snapshot(Hosts.snapshot(this))
    }

    override fun onSaveInstanceState(out: Bundle) {
        super.onSaveInstanceState(out)
        blocks.flush()
        out.putBundle(VIEWS, blocks.save())
        effects.save(out)
    }

    override fun onDestroy() {
        dialog?.dismiss()
        if (host.listener === this) host.listener = null
        super.onDestroy()
    }

    @Suppress("OVERRIDE_DEPRECATION")
    override fun onActivityResult(request: Int, result: Int, data: Intent?) = effects.came(request, result, data)

    // What the core says.

    override fun shown(shown: Shown) {
        val next = shown.screen
        screen = next
        title = next.title
        blocks.show(next, shown.upto)
        effects.shown(next, blocks)
        back(next.back != null)
        awake(next.parts.any { it.kind == Kind.CLOCK || it.kind == Kind.COUNTER })
        if (next.parts.any { it.kind == Kind.CLOCK }) askForNotices()
    }

    override fun words(text: String) {
        if (dialog?.isShowing == true) return
        val made = AlertDialog.Builder(this).setMessage(text).setCancelable(false)
            .setPositiveButton(Hosts.words.writtenDown) { _, _ -> host.wordsWritten() }
            .create()
        // Nobody else's picture of the screen holds them.
        made.window?.setFlags(WindowManager.LayoutParams.FLAG_SECURE, WindowManager.LayoutParams.FLAG_SECURE)
        dialog = made
        made.show()
    }

    override fun keysLost() {
        dialog = AlertDialog.Builder(this).setMessage(Hosts.words.keysLost).setPositiveButton(android.R.string.ok, null).show()
    }

    override fun fault(text: String) = Toast.makeText(this, text, Toast.LENGTH_LONG).show()

    // What the system says.

    /** Back is ours where the screen leads back; else it is the system's, and shows where it leads. */
    private fun back(ours: Boolean) {
        if ((leaves != null) == ours) return
        leaves?.let { Newer.freeBack(this, it) }
        leaves = if (ours) Newer.takeBack(this, ::goBack) else null
    }

    private fun goBack() {
        blocks.flush()
        host.tell(Event.Back, screen?.turn?.toLong())
    }

    @Deprecated("for systems before 13")
    @Suppress("DEPRECATION", "GestureBackNavigation")
    override fun onBackPressed() {
        if (screen?.back != null) goBack() else super.onBackPressed()
    }

    private fun awake(on: Boolean) {
        val flag = WindowManager.LayoutParams.FLAG_KEEP_SCREEN_ON
        if (on) window.addFlags(flag) else window.clearFlags(flag)
    }

    /** Once, at the first rest; a no is a no. */
    private fun askForNotices() {
        val permission = "android.permission.POST_NOTIFICATIONS"
        if (!Newer.asksForNotices || settings.getBoolean(ASKED, false)) return
        settings.edit().putBoolean(ASKED, true).apply()
        if (checkSelfPermission(permission) != PackageManager.PERMISSION_GRANTED) requestPermissions(arrayOf(permission), 1)
    }

    private inner class Here(override val looks: Looks) : Stage {
        override val words: Words get() = Hosts.words

        override fun tell(event: Event): Long {
            // What is half written belongs before whatever comes next.
            if (event !is Event.Write && event !is Event.Slide) blocks.flush()
            return host.tell(event, screen?.turn?.toLong())
        }

        override fun rows(key: String, after: String, count: Int, then: (RowsPage) -> Unit) = host.rows(key, after, count, then)

        override fun picture(id: String, then: (ByteArray) -> Unit) = host.picture(id, then)

        override fun utcMs() = host.around.utcMs()
    }

    private companion object {
        const val VIEWS = "views"
        const val SUN = "sun"
        const val ASKED = "asked"
    }
}
