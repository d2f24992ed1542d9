// Says that a rest is over while the app is out of sight, even where the process ended. Asked for at the first rest.
import ChalkfaceKit
import Foundation
import UserNotifications

@MainActor struct RestAlarm {
    private static let id = "rest"

    /// Once, at the first rest; the system remembers the answer.
    static func ask() {
        Task { _ = try? await UNUserNotificationCenter.current().requestAuthorization(options: [.alert, .sound]) }
    }

    /// For the clock that ends next.
    func set(_ screen: Screen) {
        let now = SystemSurroundings().utcMs()
        guard let clock = screen.nextEnd(after: now) else { return }
        let content = UNMutableNotificationContent()
        content.title = clock.name
        content.body = wordsLeft(seconds: 0)
        content.sound = .default
        let trigger = UNTimeIntervalNotificationTrigger(timeInterval: Double(clock.endsMs - now) / 1000, repeats: false)
        let request = UNNotificationRequest(identifier: Self.id, content: content, trigger: trigger)
        UNUserNotificationCenter.current().add(request, withCompletionHandler: nil)
    }

    func cancel() {
        let center = UNUserNotificationCenter.current()
        center.removePendingNotificationRequests(withIdentifiers: [Self.id])
        center.removeDeliveredNotifications(withIdentifiers: [Self.id])
    }
}
