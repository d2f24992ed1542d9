// The stories of tests/replays, and what Rust made of each step (its `REPLAYS_INTO`).
import Foundation

@testable import ChalkfaceKit

/// A value of a JSON file, read without types of our own.
struct Json {
    let of: Any?

    subscript(key: String) -> Json { Json(of: (of as? [String: Any])?[key]) }

    var isThere: Bool { of != nil && !(of is NSNull) }
    var text: String { of as? String ?? "" }
    var maybe: String? { of as? String }
    var int: Int64 { (of as? NSNumber)?.int64Value ?? 0 }
    var number: UInt64 { (of as? NSNumber)?.uint64Value ?? 0 }
    /// By its digits: what Foundation reads may be a decimal number, whose own way to a double misses the last bit.
    var double: Double { (of as? NSNumber).flatMap { Double($0.stringValue) } ?? .nan }
    var bool: Bool { (of as? NSNumber)?.boolValue ?? false }
    var list: [Json] { (of as? [Any] ?? []).map(Json.init) }
    var texts: [String] { list.map(\.text) }
    var bytes: Data { Data(list.map { UInt8(clamping: $0.int) }) }
    var hex: Data { Data(hex: text) }
}

extension Data {
    init(hex: String) {
        let digits = hex.utf8.map { $0 < 58 ? $0 - 48 : $0 - 87 }
        self.init(stride(from: 0, to: digits.count, by: 2).map { digits[$0] << 4 | digits[$0 + 1] })
    }
}

enum Story {
    static let repository: URL = {
        var folder = URL(fileURLWithPath: #filePath)
        while !FileManager.default.fileExists(atPath: folder.appendingPathComponent("tests/replays").path) {
            folder.deleteLastPathComponent()
        }
        return folder
    }()

    static let replays = repository.appendingPathComponent("tests/replays")

    static let names: [String] = {
        let files = (try? FileManager.default.contentsOfDirectory(atPath: replays.path)) ?? []
        return files.filter { $0.hasSuffix(".json") }.map { String($0.dropLast(5)) }.sorted()
    }()

    static func read(_ file: URL) throws -> Json {
        Json(of: try JSONSerialization.jsonObject(with: Data(contentsOf: file)))
    }

    /// The step before which both devices take in each other's cards.
    static func meetBefore(_ name: String) throws -> Int {
        let at = try read(replays.appendingPathComponent("\(name).json"))["meet_before"]
        return at.isThere ? Int(at.int) : -1
    }

    /// What Rust did and showed, step by step.
    static func told(_ name: String) throws -> [Step] {
        let folder =
            ProcessInfo.processInfo.environment["REPLAYS_TOLD"].map { URL(fileURLWithPath: $0) }
            ?? repository.appendingPathComponent("target/replays")
        return try read(folder.appendingPathComponent("\(name).json")).list.map(Step.init)
    }
}

/// One step as Rust told it.
struct Step {
    let of: Json

    var device: String { of["device"].text }
    var does: Json { of["does"] }
    var screen: Json { of["screen"] }
    var stamp: Stamp {
        Stamp(utcMs: of["utc_ms"].int, offsetMin: Int16(clamping: of["offset_min"].int), entropy: of["entropy"].bytes)
    }
    /// Answers to a buzz are steps of their own, and none in the story.
    var isBuzz: Bool { stamp.entropy.last != 0 }
    var state: Data { of["state"].hex }
    var digests: [String] { of["digests"].texts }
}

struct NoSuch: Error { let what: String }

/// An event as the core writes it.
func event(_ of: Json) throws -> Event {
    let key = of["key"].text
    switch of["event"].text {
    case "wake": return .wake
    case "press": return .press(key: key)
    case "choose": return .choose(key: key, option: of["option"].text)
    case "switch": return .switch(key: key, on: of["on"].bool)
    case "write": return .write(key: key, text: of["text"].text, no: of["no"].number)
    case "slide": return .slide(key: key, value: of["value"].double, no: of["no"].number)
    case "touch": return .touch(key: key, xMm: of["x_mm"].double, yMm: of["y_mm"].double)
    case "open": return .open(key: key, row: of["row"].text)
    case "drag":
        return .drag(
            key: key, point: of["point"].text, xPx: of["x_px"].double, yPx: of["y_px"].double, no: of["no"].number)
    case "go": return .go(tab: of["tab"].text)
    case "back": return .back
    case "undo": return .undo
    case "dismiss": return .dismiss(notice: of["notice"].number)
    case "answer": return .answer(effect: of["effect"].number, how: try answered(of["outcome"]))
    case let other: throw NoSuch(what: other)
    }
}

private func answered(_ of: Json) throws -> Answered {
    switch of["outcome"].text {
    case "done": return .done
    case "given_up": return .givenUp
    case "failed": return .failed(why: of["why"].text)
    case "lost": return .lost
    case let other: throw NoSuch(what: other)
    }
}
