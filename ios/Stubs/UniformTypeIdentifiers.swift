// Not Apple's: for the type check only (see SwiftUI.swift).
import UIKit

public struct UTType: Hashable, Sendable {
    public static let image = UTType(), item = UTType()
    init() {}
    public init?(filenameExtension: String) {}
    public var identifier: String { "" }
    public func conforms(to: UTType) -> Bool { false }
}
extension UIDocumentPickerViewController {
    public convenience init(forOpeningContentTypes: [UTType], asCopy: Bool) { self.init() }
}
