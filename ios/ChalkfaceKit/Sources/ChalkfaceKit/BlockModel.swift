// One part of a screen, for as long as its key is there, and what a hand holds of it: a text
// being written, an amount being slid, a point being dragged.
//
// The rule: while a hand has it, it is the hand's. The core's value is shown again once it
// knows of the newest that was told.
import Foundation
import Observation

@MainActor @Observable public final class BlockModel: Identifiable {
    public nonisolated let id: String
    public private(set) var part: Part
    /// What a field shows.
    public private(set) var text: String
    /// What an amount stands at.
    public private(set) var value: Double
    /// Where the points of a picture are.
    public private(set) var points: [Point]
    /// Rows that were asked for behind those which came with the screen.
    public private(set) var further: [Row] = []
    public private(set) var picture: Data?

    @ObservationIgnored private weak var model: ScreenModel?
    /// The number of the latest text or amount.
    @ObservationIgnored private(set) var no: UInt64 = 0
    @ObservationIgnored private var told: UInt64 = 0
    @ObservationIgnored private var pending = false
    @ObservationIgnored private var held = false
    @ObservationIgnored private var pause: Task<Void, Never>?

    init(_ part: Part, _ model: ScreenModel) {
        id = part.key
        self.part = part
        self.model = model
        text = part.text
        value = part.amount.first ?? 0
        points = part.points
        no = part.no
    }

    /// Shows a part as it was after what was told under number `upto`. Answers whether anything changed.
    func show(_ next: Part, upto: UInt64) -> Bool {
        if part.rows != next.rows || part.count != next.count { further = [] }
        let changed = part != next
        if part.picture != next.picture { picture = nil }
        if changed { part = next }
        if pending || held || upto < told { return changed }
        no = max(no, next.no)
        if text != next.text { text = next.text }
        if let amount = next.amount.first, amount != value { value = amount }
        if points != next.points { points = next.points }
        return changed
    }

    // What is done to it.

    public func press() { model?.tell(.press(key: id)) }

    public func choose(_ option: String) { model?.tell(.choose(key: id, option: option)) }

    public func flip() { model?.tell(.switch(key: id, on: !part.on)) }

    public func touch(xMm: Double, yMm: Double) { model?.tell(.touch(key: id, xMm: xMm, yMm: yMm)) }

    public func open(_ row: Row) { model?.tell(.open(key: id, row: row.key)) }

    /// It is told at pauses, on leaving, and before anything else is told.
    public func write(_ text: String) {
        guard text != self.text else { return }
        self.text = text
        pending = true
        pause?.cancel()
        guard let wait = model?.pause else { return }
        pause = Task { [weak self] in
            try? await Task.sleep(for: wait)
            if !Task.isCancelled { self?.flush() }
        }
    }

    /// Tells what is half written.
    public func flush() {
        guard pending else { return }
        pending = false
        pause?.cancel()
        no += 1
        told = model?.tell(.write(key: id, text: text, no: no)) ?? told
    }

    /// A thumb is on the slider, or was lifted.
    public func hold(_ on: Bool) { held = on }

    /// Moves to the step that is nearest: the amount that its decimal digits say, not one that was added up.
    public func slide(near value: Double) {
        guard part.amount.count == 4, let low = Decimal(string: "\(part.amount[1])"),
            let step = Decimal(string: "\(part.amount[3])")
        else { return }
        let steps = ((value - part.amount[1]) / part.amount[3]).rounded()
        guard let on = Double("\(low + step * Decimal(steps))") else { return }
        slide(to: min(max(on, part.amount[1]), part.amount[2]))
    }

    func slide(to value: Double) {
        guard value != self.value else { return }
        self.value = value
        no += 1
        told = model?.tell(.slide(key: id, value: value, no: no)) ?? told
    }

    /// A point is somewhere else under the thumb; it is told once that is lifted.
    public func drag(_ point: Point, xPx: Double, yPx: Double, lifted: Bool) {
        let within = (min(max(xPx, 0), part.amount.first ?? 0), min(max(yPx, 0), part.amount.dropFirst().first ?? 0))
        points = points.map { of in
            guard of.key == point.key else { return of }
            return Point(key: of.key, name: of.name, xPx: within.0, yPx: within.1, look: of.look, no: of.no)
        }
        held = !lifted
        guard lifted else { return }
        told = model?.tell(.drag(key: id, point: point.key, xPx: within.0, yPx: within.1, no: point.no + 1)) ?? told
    }

    /// The next rows of a long list.
    public func more() async {
        guard let host = model?.host, let after = (further.last ?? part.rows.last)?.key else { return }
        guard let page = try? await host.rows(key: id, after: after, count: 100) else { return }
        // The list may have become another one meanwhile.
        if (further.last ?? part.rows.last)?.key == after { further += page.rows }
    }

    /// Fetches the picture that the part names.
    public func look() async {
        let id = part.picture
        guard picture == nil, !id.isEmpty, let host = model?.host else { return }
        let bytes = try? await host.picture(id)
        if part.picture == id { picture = bytes ?? nil }
    }
}
