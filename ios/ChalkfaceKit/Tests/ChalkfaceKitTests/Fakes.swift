// Stand-ins for what a phone has: a clock that a story sets, keys in memory, files and pictures.
import Foundation

@testable import ChalkfaceKit

/// The clock of a story. A stamp is used once; after it come those of the device's own entropy.
final class StoryClock: Surroundings, @unchecked Sendable {
    private let lock = NSLock()
    private let device: UInt8
    private var next: Stamp?
    private var now = Stamp(utcMs: 0, offsetMin: 0, entropy: Data())
    private var keysNext = false

    init(device: Int) { self.device = UInt8(device) }

    /// The clock of a step; the answer to its buzz has its entropy too, the last byte 1.
    func set(_ stamp: Stamp) { lock.withLock { (next, now) = (stamp, stamp) } }

    /// The stamp that is asked for next is for new keys.
    func keysCome() { lock.withLock { keysNext = true } }

    var own: Stamp { lock.withLock { ownStamp } }

    private var ownStamp: Stamp {
        Stamp(utcMs: now.utcMs, offsetMin: now.offsetMin, entropy: Data(repeating: device, count: 16))
    }

    func stamp() -> Stamp {
        lock.withLock {
            if keysNext {
                keysNext = false
                return ownStamp
            }
            if let step = next {
                next = nil
                return step
            }
            return Stamp(utcMs: now.utcMs, offsetMin: now.offsetMin, entropy: now.entropy.prefix(15) + [1])
        }
    }

    func random(_ count: Int) -> Data { Data(repeating: device + 1, count: count) }

    func utcMs() -> Int64 { lock.withLock { now.utcMs } }
}

/// Keys in memory.
final class FakeKeys: KeyKeeper, @unchecked Sendable {
    private let lock = NSLock()
    private let clock: StoryClock?
    private var kept: String?
    private var said: String?
    private let full: Bool

    init(_ clock: StoryClock? = nil, full: Bool = false) {
        self.clock = clock
        self.full = full
    }

    func keep(_ keys: String) throws {
        if full { throw NoSuch(what: "room in the key store") }
        lock.withLock { kept = keys }
        clock?.keysCome()
    }

    func keys() -> String? { lock.withLock { kept } }

    func lose() { lock.withLock { kept = nil } }

    func keepWords(_ words: String) throws { lock.withLock { said = words } }

    func words() -> String? { lock.withLock { said } }

    func forgetWords() { lock.withLock { said = nil } }
}

/// What a person does with an effect.
@MainActor final class FakePhone: EffectDoer {
    var shared: [FileBytes] = []
    var next: Ending = .notNow
    var buzzes = 0
    var asked: [[String]] = []

    /// How long somebody takes to hand a file over.
    var takes = Duration.zero

    func share(_ file: FileBytes) async -> Ending {
        try? await Task.sleep(for: takes)
        shared.append(file)
        return .done
    }

    var copied: [String] = []

    func copy(_ text: String) { copied.append(text) }

    func pickFile(endings: [String]) async -> Ending {
        asked.append(endings)
        return next
    }

    func takePicture() async -> Ending { next }

    func buzz() { buzzes += 1 }
}

/// A folder that is gone with the test.
final class Folder: Sendable {
    let url = FileManager.default.temporaryDirectory.appendingPathComponent("chalkface-\(UUID().uuidString)")

    init() throws { try FileManager.default.createDirectory(at: url, withIntermediateDirectories: true) }

    deinit { try? FileManager.default.removeItem(at: url) }

    func callAsFunction(_ name: String) -> URL { url.appendingPathComponent(name) }
}
