// What a renderer reads off a screen and its parts, so that no view has to think.
import Foundation

/// Words as a screen reader says them together; empty ones are left out.
public func together(_ words: String?...) -> String {
    words.compactMap { $0 }.filter { !$0.isEmpty }.joined(separator: ", ")
}

extension Screen {
    /// A rest is under way, or was.
    public var rests: Bool { parts.contains { $0.kind == .clock } }

    /// It is looked at from afar: the display stays on.
    public var waits: Bool { rests || parts.contains { $0.kind == .counter } }

    /// The clock that ends next, of those that still run.
    public func nextEnd(after utcMs: Int64) -> Part? {
        parts.filter { $0.kind == .clock && $0.endsMs > utcMs }.min { $0.endsMs < $1.endsMs }
    }
}

extension Part {
    /// Seconds that a clock has left; one that has just begun shows all of them.
    public func secondsLeft(at utcMs: Int64) -> UInt32 { UInt32(clamping: max(0, endsMs - utcMs + 999) / 1000) }

    /// A cell of a table as a screen reader says it: under the head of its column, where that has one.
    public func said(_ cell: String, column: Int) -> String {
        column < columns.count ? "\(columns[column]): \(cell)" : cell
    }
}

extension ScreenModel {
    /// All parts in the core's order, for where they stand in one column.
    public var all: [BlockModel] {
        let known = Dictionary((main + beside).map { ($0.id, $0) }) { first, _ in first }
        return screen?.parts.compactMap { known[$0.key] } ?? []
    }
}

/// Waits for one answer out of several that may come; only the first counts.
@MainActor public final class Once {
    public private(set) var found: Any?
    private var end: CheckedContinuation<Void, Never>?

    public init() {}

    /// Begins what leads to an answer, and waits for that.
    public func wait(_ begin: () -> Void) async -> Any? {
        await withCheckedContinuation { end in
            self.end = end
            begin()
        }
        return found
    }

    public func say(_ found: Any?) {
        guard let end else { return }
        self.end = nil
        self.found = found
        end.resume()
    }
}
