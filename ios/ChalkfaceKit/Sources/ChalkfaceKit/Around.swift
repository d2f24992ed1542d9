// What the core needs of a device, behind small protocols: time and chance, a safe place for
// keys, a place for the state, time to finish a write. Tests bring their own.
import Foundation

/// Where time and chance come from.
public protocol Surroundings: Sendable {
    /// Now, with sixteen unpredictable bytes.
    func stamp() -> Stamp
    /// So many unpredictable bytes.
    func random(_ count: Int) -> Data
    /// Milliseconds since 1970-01-01 UTC.
    func utcMs() -> Int64
}

/// The system's clock, time zone and generator.
public struct SystemSurroundings: Surroundings {
    public init() {}

    public func stamp() -> Stamp {
        let now = Date()
        let minutes = TimeZone.current.secondsFromGMT(for: now) / 60
        return Stamp(utcMs: Self.ms(now), offsetMin: Int16(clamping: minutes), entropy: random(16))
    }

    public func random(_ count: Int) -> Data {
        // The system's generator is meant for secrets, on every platform that Swift names it for.
        var generator = SystemRandomNumberGenerator()
        return Data((0..<count).map { _ in UInt8.random(in: .min ... .max, using: &generator) })
    }

    public func utcMs() -> Int64 { Self.ms(Date()) }

    private static func ms(_ of: Date) -> Int64 { Int64((of.timeIntervalSince1970 * 1000).rounded(.down)) }
}

/// Keeps the device's keys, and the twelve words until they are on paper.
public protocol KeyKeeper: Sendable {
    func keep(_ keys: String) throws
    /// Nothing where they are lost.
    func keys() -> String?
    func keepWords(_ words: String) throws
    func words() -> String?
    func forgetWords()
}

/// Keeps the bytes that say where the person is.
public protocol PlaceKeeper: Sendable {
    func kept() -> Data?
    func keep(_ state: Data) throws
}

/// In a file that is replaced as a whole.
public struct PlaceFile: PlaceKeeper {
    private let file: URL

    public init(_ file: URL) { self.file = file }

    public func kept() -> Data? { try? Data(contentsOf: file) }

    public func keep(_ state: Data) throws {
        #if os(iOS)
            try state.write(to: file, options: [.atomic, .completeFileProtectionUntilFirstUserAuthentication])
        #else
            try state.write(to: file, options: .atomic)
        #endif
    }
}

/// Asks the system not to stop the process while something is written.
public protocol Grace: Sendable {
    func during<Result>(_ write: () -> Result) -> Result
}

/// For where the system stops nobody.
public struct NoGrace: Grace {
    public init() {}

    public func during<Result>(_ write: () -> Result) -> Result { write() }
}

/// A file as it comes in or goes out.
public struct FileBytes: Sendable, Equatable {
    public let name: String
    public let bytes: Data

    public init(name: String, bytes: Data) {
        self.name = name
        self.bytes = bytes
    }
}

/// How an effect ended.
public enum Ending: Sendable, Equatable {
    case done
    case file(FileBytes)
    /// The person went back: it can be pressed again.
    case notNow
    case failed(String)
}

/// Does what only a phone can do. Every one that can fail says how it ended.
@MainActor public protocol EffectDoer: AnyObject {
    func share(_ file: FileBytes) async -> Ending
    /// Puts text where it can be pasted from.
    func copy(_ text: String)
    func pickFile(endings: [String]) async -> Ending
    func takePicture() async -> Ending
    func buzz()
}
