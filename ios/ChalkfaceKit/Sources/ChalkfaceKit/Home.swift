// Where a device keeps its book, and the copy of it that goes into the system's backup.
//
// The rule: the live book, which may be in the middle of a write, is in no backup; a whole copy
// is, made on leaving. On a new device the copy is all there is, and becomes the book.
import Foundation

public struct Home: Sendable {
    public let book: URL
    public let place: PlaceFile
    public let copy: URL

    /// In a folder of the app's own; nothing of it is shared with another process.
    public init(in folder: URL) {
        let own = folder.appendingPathComponent("chalkface")
        book = own.appendingPathComponent("book")
        place = PlaceFile(own.appendingPathComponent("place"))
        copy = folder.appendingPathComponent("copy")
    }

    /// Makes the folder, and takes the copy back where there is no book.
    public func prepare() throws {
        let files = FileManager.default
        let own = book.deletingLastPathComponent()
        #if os(iOS)
            // Readable once the phone was unlocked: a write may end, and a rest too, while it is locked.
            let guarded: [FileAttributeKey: Any] = [.protectionKey: FileProtectionType.completeUntilFirstUserAuthentication]
        #else
            let guarded: [FileAttributeKey: Any]? = nil
        #endif
        try files.createDirectory(at: own, withIntermediateDirectories: true, attributes: guarded)
        #if !os(Linux)
            var (live, values) = (own, URLResourceValues())
            values.isExcludedFromBackup = true
            try live.setResourceValues(values)
        #endif
        if !files.fileExists(atPath: book.path) && files.fileExists(atPath: copy.path) {
            try files.copyItem(at: copy, to: book)
        }
    }
}
