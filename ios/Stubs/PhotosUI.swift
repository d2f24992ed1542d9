// Not Apple's: for the type check only (see SwiftUI.swift).
import UIKit

public struct PHPickerFilter: Sendable { public static let images = PHPickerFilter() }
public struct PHPickerConfiguration {
    public init() {}
    public var filter: PHPickerFilter?
}
public struct PHPickerResult { public let itemProvider: NSItemProvider }
@MainActor public protocol PHPickerViewControllerDelegate: AnyObject {
    func picker(_ picker: PHPickerViewController, didFinishPicking results: [PHPickerResult])
}
@MainActor public final class PHPickerViewController: UIViewController {
    public init(configuration: PHPickerConfiguration) {}
    public weak var delegate: (any PHPickerViewControllerDelegate)?
}
