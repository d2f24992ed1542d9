// Says that a rest is over while the app is out of sight.
//
// The rule: it needs no permission but that for notices, which may be refused; the alarm is the
// system's listener for this process alone. If the process ends during a rest, no notice comes;
// the clock itself goes on, because it carries its end.
package chalkface.app

import android.app.AlarmManager
import android.app.Notification
import android.app.NotificationChannel
import android.app.NotificationManager
import android.app.PendingIntent
import android.content.Context
import android.content.Intent
import android.os.Handler
import android.os.Looper
import chalkface.Kind
import chalkface.Part
import chalkface.clockLeft

class RestAlarm(private val context: Context) {
    private val alarms = context.getSystemService(AlarmManager::class.java)
    private var waiting: AlarmManager.OnAlarmListener? = null

    /** For the first clock that still runs. */
    fun set(parts: List<Part>, nowMs: Long) {
        cancel()
        val clock = parts.filter { it.kind == Kind.CLOCK && it.endsMs > nowMs }.minByOrNull { it.endsMs } ?: return
        val listener = AlarmManager.OnAlarmListener { ring(clock.name) }
        waiting = listener
        alarms.setExact(AlarmManager.RTC_WAKEUP, clock.endsMs, "rest", listener, Handler(Looper.getMainLooper()))
    }

    fun cancel() {
        waiting?.let(alarms::cancel)
        waiting = null
        context.getSystemService(NotificationManager::class.java).cancel(ID)
    }

    private fun ring(name: String) {
        waiting = null
        val notices = context.getSystemService(NotificationManager::class.java)
        val title = context.getString(R.string.app_name)
        notices.createNotificationChannel(NotificationChannel(CHANNEL, title, NotificationManager.IMPORTANCE_HIGH))
        val back = Intent(context, MainActivity::class.java).addFlags(Intent.FLAG_ACTIVITY_SINGLE_TOP)
        val notice = Notification.Builder(context, CHANNEL)
            .setSmallIcon(R.drawable.ic_notice)
            .setContentTitle(name)
            .setContentText(clockLeft(0u))
            .setContentIntent(PendingIntent.getActivity(context, 0, back, PendingIntent.FLAG_IMMUTABLE))
            .setAutoCancel(true)
            .build()
        notices.notify(ID, notice)
    }

    private companion object {
        const val CHANNEL = "rest"
        const val ID = 1
    }
}
