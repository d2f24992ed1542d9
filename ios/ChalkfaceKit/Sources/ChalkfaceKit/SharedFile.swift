// A file of another program: read off the main thread, never more of it than is taken in.
import Foundation

public enum SharedFile {
    public static func read(_ url: URL) async -> Ending {
        await Task.detached {
            #if !os(Linux)
                let scoped = url.startAccessingSecurityScopedResource()
                defer { if scoped { url.stopAccessingSecurityScopedResource() } }
            #endif
            guard url.isFileURL, let file = try? FileHandle(forReadingFrom: url) else { return .failed(shellWords.unreadable) }
            defer { try? file.close() }
            // One byte more is enough to be told that it is too large.
            guard let bytes = try? file.read(upToCount: mostBytes + 1) else { return .failed(shellWords.unreadable) }
            return .file(FileBytes(name: String(url.lastPathComponent.prefix(200)), bytes: bytes))
        }.value
    }
}
