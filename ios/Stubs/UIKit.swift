// Not UIKit: the few names of it that the app uses, for the type check only (see SwiftUI.swift).
@_exported import Foundation
import SwiftUI

@MainActor open class UIResponder: NSObject {}
@MainActor public final class UIApplication: UIResponder {
    public static var shared: UIApplication { fatalError() }
    public var isIdleTimerDisabled: Bool { get { false } set {} }
    public var connectedScenes: Set<UIScene> { [] }
    // From any thread, as Apple's documentation says of these two.
    public nonisolated func beginBackgroundTask(
        withName: String?, expirationHandler: (@MainActor @Sendable () -> Void)? = nil
    ) -> UIBackgroundTaskIdentifier { fatalError() }
    public nonisolated func endBackgroundTask(_ of: UIBackgroundTaskIdentifier) {}
}
public struct UIBackgroundTaskIdentifier: RawRepresentable, Hashable, Sendable {
    public let rawValue: Int
    public init(rawValue: Int) { self.rawValue = rawValue }
}
@MainActor open class UIScene: UIResponder {
    public enum ActivationState: Sendable { case unattached, foregroundActive, foregroundInactive, background }
    public var activationState: ActivationState { fatalError() }
}
@MainActor public final class UIWindowScene: UIScene { public var keyWindow: UIWindow? { nil } }
@MainActor open class UIView: UIResponder {}
@MainActor public final class UIWindow: UIView { public var rootViewController: UIViewController? { get { nil } set {} } }
@MainActor open class UIViewController: UIResponder {
    public var view: UIView! { get { nil } set {} }
    public var presentedViewController: UIViewController? { nil }
    public var presentationController: UIPresentationController? { nil }
    public var popoverPresentationController: UIPopoverPresentationController? { nil }
    public func present(_ other: UIViewController, animated: Bool, completion: (() -> Void)? = nil) {}
    public func dismiss(animated: Bool, completion: (() -> Void)? = nil) {}
}
@MainActor open class UIPresentationController: NSObject {
    public weak var delegate: (any UIAdaptivePresentationControllerDelegate)?
}
@MainActor public final class UIPopoverPresentationController: UIPresentationController { public var sourceView: UIView? }
@MainActor public protocol UIAdaptivePresentationControllerDelegate: AnyObject {
    func presentationControllerDidDismiss(_ controller: UIPresentationController)
}
@MainActor public final class UIActivityViewController: UIViewController {
    public struct ActivityType: Hashable, Sendable {}
    public init(activityItems: [Any], applicationActivities: [Any]?) {}
    public var completionWithItemsHandler: ((ActivityType?, Bool, [Any]?, (any Error)?) -> Void)?
}
@MainActor public protocol UIDocumentPickerDelegate: AnyObject {
    func documentPicker(_ controller: UIDocumentPickerViewController, didPickDocumentsAt urls: [URL])
    func documentPickerWasCancelled(_ controller: UIDocumentPickerViewController)
}
@MainActor public final class UINavigationController: UIViewController {}
@MainActor public protocol UINavigationControllerDelegate: AnyObject {}
@MainActor public protocol UIImagePickerControllerDelegate: AnyObject {
    func imagePickerController(
        _ picker: UIImagePickerController, didFinishPickingMediaWithInfo info: [UIImagePickerController.InfoKey: Any])
    func imagePickerControllerDidCancel(_ picker: UIImagePickerController)
}
@MainActor public final class UIImagePickerController: UIViewController {
    public enum SourceType: Sendable { case camera }
    public struct InfoKey: Hashable, Sendable { public static let originalImage = InfoKey() }
    public static func isSourceTypeAvailable(_ of: SourceType) -> Bool { false }
    public override init() {}
    public var sourceType: SourceType = .camera
    public weak var delegate: (any UIImagePickerControllerDelegate & UINavigationControllerDelegate)?
}
public final class UIImage: NSObject, @unchecked Sendable {
    public init?(data: Data) {}
    public func jpegData(compressionQuality: CGFloat) -> Data? { nil }
}
public final class UIPasteboard: NSObject {
    public class var general: UIPasteboard { UIPasteboard() }
    public var string: String?
}

@MainActor public final class UINotificationFeedbackGenerator: NSObject {
    public enum FeedbackType: Sendable { case success, warning, error }
    public func notificationOccurred(_ of: FeedbackType) {}
}
public enum UIAccessibility {
    public struct Notification: Sendable { public static let announcement = Notification() }
    @MainActor public static func post(notification: Notification, argument: Any?) {}
}
public final class NSItemProvider: NSObject {
    @discardableResult public func loadDataRepresentation(
        forTypeIdentifier: String, completionHandler: @escaping @Sendable (Data?, (any Error)?) -> Void
    ) -> Progress { fatalError() }
}
public enum UIKeyboardType: Sendable { case `default`, numbersAndPunctuation }
public struct UITextContentType: Hashable, Sendable { public static let name = UITextContentType() }
public struct TextInputAutocapitalization: Sendable { public static let never = Self(), words = Self(), sentences = Self() }

extension Image { public init(uiImage: UIImage) { self.init(systemName: "") } }
extension View {
    public func keyboardType(_ type: UIKeyboardType) -> some View { self }
    public func textContentType(_ type: UITextContentType?) -> some View { self }
    public func textInputAutocapitalization(_ of: TextInputAutocapitalization?) -> some View { self }
}
@MainActor public final class UIDocumentPickerViewController: UIViewController {
    public weak var delegate: (any UIDocumentPickerDelegate)?
}
