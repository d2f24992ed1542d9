// Not Apple's: for the type check only (see SwiftUI.swift).
import Foundation

public struct UNAuthorizationOptions: OptionSet, Sendable {
    public let rawValue: UInt
    public init(rawValue: UInt) { self.rawValue = rawValue }
    public static let sound = Self(rawValue: 2), alert = Self(rawValue: 4)
}
public final class UNNotificationSound: NSObject, @unchecked Sendable {
    public class var `default`: UNNotificationSound { UNNotificationSound() }
}
open class UNNotificationContent: NSObject {}
public final class UNMutableNotificationContent: UNNotificationContent {
    public var title = "", body = ""
    public var sound: UNNotificationSound?
}
open class UNNotificationTrigger: NSObject {}
public final class UNTimeIntervalNotificationTrigger: UNNotificationTrigger {
    public init(timeInterval: TimeInterval, repeats: Bool) {}
}
public final class UNNotificationRequest: NSObject {
    public init(identifier: String, content: UNNotificationContent, trigger: UNNotificationTrigger?) {}
}
public final class UNUserNotificationCenter: NSObject, @unchecked Sendable {
    public class func current() -> UNUserNotificationCenter { UNUserNotificationCenter() }
    public func requestAuthorization(options: UNAuthorizationOptions = []) async throws -> Bool { false }
    public func add(_ request: UNNotificationRequest, withCompletionHandler: (@Sendable ((any Error)?) -> Void)? = nil) {}
    public func removePendingNotificationRequests(withIdentifiers: [String]) {}
    public func removeDeliveredNotifications(withIdentifiers: [String]) {}
}
