// What systems newer than Android 8.0 offer; each asks for the system's number first.
//
// The rule: only this file names what Android 8.0 lacks. The check of the API level, which
// android/build-apk runs, holds it.
package chalkface.app

import android.app.Activity
import android.app.UiModeManager
import android.content.Context
import android.content.Intent
import android.graphics.Typeface
import android.net.Uri
import android.os.Build
import android.view.HapticFeedbackConstants
import android.view.View
import android.view.Window
import android.view.WindowInsets
import android.view.WindowInsetsController
import android.widget.SeekBar
import android.window.OnBackInvokedCallback
import android.window.OnBackInvokedDispatcher
import chalkface.app.blocks.named

object Newer {
    private val system get() = Build.VERSION.SDK_INT

    /** Screen readers jump from heading to heading. */
    fun heading(view: View) {
        if (system >= 28) view.isAccessibilityHeading = true
    }

    fun paneTitle(view: View, title: String) {
        if (system >= 28) view.accessibilityPaneTitle = title
    }

    fun face(weight: Int): Typeface =
        if (system >= 28) Typeface.create(Typeface.DEFAULT, weight, false) else Typeface.DEFAULT_BOLD

    /** A slider's name, and what its place means. */
    fun state(slider: SeekBar, name: String, says: String) {
        if (system >= 30) {
            slider.contentDescription = name
            slider.stateDescription = says
        } else {
            slider.named(name, says)
        }
    }

    /** A buzz for what was done. */
    val done get() = if (system >= 30) HapticFeedbackConstants.CONFIRM else HapticFeedbackConstants.VIRTUAL_KEY

    /** Whether the system is asked for more contrast; from nought to one, as it counts, half is its "medium". */
    fun contrasts(context: Context) = system >= 34 && context.getSystemService(UiModeManager::class.java).contrast >= 0.5f

    /** Whether notices have to be asked for. */
    val asksForNotices get() = system >= 33

    /** The file that another program shares. */
    @Suppress("DEPRECATION")
    fun stream(intent: Intent): Uri? =
        if (system >= 33) intent.getParcelableExtra(Intent.EXTRA_STREAM, Uri::class.java) else intent.getParcelableExtra(Intent.EXTRA_STREAM)

    /** Back goes to `does`, so that the system shows no way out of the app; answers what [freeBack] takes. */
    fun takeBack(activity: Activity, does: () -> Unit): Any? {
        if (system < 33) return null
        val callback = OnBackInvokedCallback { does() }
        activity.onBackInvokedDispatcher.registerOnBackInvokedCallback(OnBackInvokedDispatcher.PRIORITY_DEFAULT, callback)
        return callback
    }

    fun freeBack(activity: Activity, callback: Any) {
        if (system >= 33) activity.onBackInvokedDispatcher.unregisterOnBackInvokedCallback(callback as OnBackInvokedCallback)
    }

    /** The screen reaches behind the system's bars; what is to be seen and touched does not. */
    fun edges(window: Window, root: View, keyboard: (Boolean) -> Unit) {
        if (system < 30) {
            root.fitsSystemWindows = true
            return
        }
        window.setDecorFitsSystemWindows(false)
        root.setOnApplyWindowInsetsListener { view, insets ->
            val all = WindowInsets.Type.systemBars() or WindowInsets.Type.displayCutout() or WindowInsets.Type.ime()
            val bars = insets.getInsets(all)
            view.setPadding(bars.left, bars.top, bars.right, bars.bottom)
            keyboard(insets.isVisible(WindowInsets.Type.ime()))
            WindowInsets.CONSUMED
        }
    }

    /** The bars' own signs, dark on a light ground. */
    @Suppress("DEPRECATION")
    fun icons(window: Window, dark: Boolean) {
        if (system >= 30) {
            val both = WindowInsetsController.APPEARANCE_LIGHT_STATUS_BARS or WindowInsetsController.APPEARANCE_LIGHT_NAVIGATION_BARS
            window.decorView.windowInsetsController?.setSystemBarsAppearance(if (dark) both else 0, both)
        } else {
            val both = View.SYSTEM_UI_FLAG_LIGHT_STATUS_BAR or View.SYSTEM_UI_FLAG_LIGHT_NAVIGATION_BAR
            window.decorView.systemUiVisibility = if (dark) both else 0
        }
    }
}
