// The one actor that owns the core, and what a start and an end of the process need.
//
// The rule: every call of the core comes from this actor's own thread, in the order in which
// things were told; a long computation runs beside it and holds nobody up; whatever fails comes
// out as words, and what was acknowledged before is kept.
import Chalkface
import Foundation

/// What a shell tells the core.
public enum Told: Sendable {
    /// Nothing: to open the book, and to see the first screen.
    case opened
    /// `seen` is the turn of the screen on which it happened.
    case event(Event, seen: UInt64?)
    /// The file that an effect asked for.
    case picked(effect: UInt64, FileBytes)
    /// A file that another program opened with this one.
    case handed(FileBytes)
}

/// What came of it.
public struct News: Sendable {
    /// The number of the last thing told that the screen knows of.
    public let upto: UInt64
    public var screen: Screen?
    /// Words that the person must write down.
    public var words: String?
    /// The safe place has lost the keys. Said once.
    public var keysLost = false
    /// What failed, in words.
    public var fault: String?
}

public actor CoreHost {
    private let worker = Worker()
    private let beside = Beside()
    private let book: URL
    private let keeper: any KeyKeeper
    private let place: any PlaceKeeper
    private let around: any Surroundings
    private let grace: any Grace
    private var core: Device?
    private var closed = false
    private var computing = false
    private var lost = false
    private var last: UInt64 = 0

    /// For a book at a place, which need not be there yet.
    public init(
        book: URL, place: any PlaceKeeper, keeper: any KeyKeeper,
        around: any Surroundings = SystemSurroundings(), grace: any Grace = NoGrace()
    ) {
        self.book = book
        self.place = place
        self.keeper = keeper
        self.around = around
        self.grace = grace
    }

    public nonisolated var unownedExecutor: UnownedSerialExecutor { worker.asUnownedSerialExecutor() }

    /// Takes in what was told under a number; with the screen that it led to, where that is wanted.
    public func take(_ told: Told, number: UInt64 = 0, shows: Bool = true) -> News {
        last = max(last, number)
        return news(shows: shows) { core in
            switch told {
            case .opened: break
            case .event(let event, let seen): try core.act(event: event, seen: seen, clock: around.stamp())
            case .picked(let effect, let file):
                try core.picked(effect: effect, name: file.name, bytes: file.bytes, clock: around.stamp())
            case .handed(let file): try core.handed(name: file.name, bytes: file.bytes, clock: around.stamp())
            }
        }
    }

    /// Does what the screen waits for. Nothing where it waits for nothing, or that is under way.
    public func compute() async -> News? {
        guard !computing, let core else { return nil }
        let ticket: Ticket
        do {
            guard let work = try core.work() else { return nil }
            ticket = work
        } catch {
            return failed(error)
        }
        computing = true
        let ran = await beside.run { try ticket.run() }
        computing = false
        return news(shows: true) { core in
            try ran.get()
            try core.finish(ticket: ticket)
        }
    }

    /// Rows of a long list after the one with a key.
    public func rows(key: String, after: String?, count: UInt32) throws -> RowsPage {
        try opened().rows(key: key, after: after, count: count)
    }

    /// A picture that the screen shows, as JPEG.
    public func picture(_ id: String) throws -> Data? { try opened().picture(id: id) }

    /// The bytes that an effect asks to share.
    public func content(of effect: UInt64) throws -> Data { try opened().content(effect: effect) }

    /// For what no screen does.
    public func ask<Answer: Sendable>(_ question: @Sendable (Device) throws -> Answer) throws -> Answer {
        try question(opened())
    }

    /// The words that are not on paper yet, to be shown again at each start.
    public func wordsKept() -> String? { keeper.words() }

    public func wordsWritten() { keeper.forgetWords() }

    /// A consistent copy of the book, in the place of an older one.
    public func snapshot(to copy: URL) throws {
        guard FileManager.default.fileExists(atPath: book.path) else { return }
        let fresh = copy.appendingPathExtension("new")
        try? FileManager.default.removeItem(at: fresh)
        try opened().snapshot(to: fresh.path)
        try? FileManager.default.removeItem(at: copy)
        try FileManager.default.moveItem(at: fresh, to: copy)
    }

    /// Ends it. Everything that was told before is done; every later call says that it is closed.
    public func close() {
        closed = true
        try? core?.end()
        core = nil
    }

    private func opened() throws -> Device {
        if closed { throw Fault.Closed }
        if let core { return core }
        try FileManager.default.createDirectory(at: book.deletingLastPathComponent(), withIntermediateDirectories: true)
        let opened = try Device.open(path: book.path, state: place.kept(), clock: around.stamp())
        core = opened
        return opened
    }

    /// After something was done: keys, the state on disk, the screen.
    private func news(shows: Bool, _ does: (Device) throws -> Void) -> News {
        grace.during {
            var news = News(upto: last)
            do {
                let core = try opened()
                // A call that failed has changed nothing: the screen that was there still holds.
                do { try does(core) } catch { news.fault = Self.text(error) }
                do { try keys(core, &news) } catch { news.fault = Self.text(error) }
                try place.keep(core.state())
                if shows { news.screen = try core.screen() }
            } catch {
                news.fault = Self.text(error)
            }
            return news
        }
    }

    /// A device gets its keys as soon as there is a book, and at each start.
    private func keys(_ core: Device, _ news: inout News) throws {
        switch try core.keysWanted() {
        case .none: break
        case .new:
            let text = try core.makeKeys(entropy: around.random(32))
            // Kept first: keys that a book knows and nobody has would be lost for good.
            try keeper.keep(text)
            let words = try core.beginKeys(text: text, root: around.random(16), clock: around.stamp())
            news.words = words
            try keeper.keepWords(words)
        case .kept:
            if let text = keeper.keys() {
                try core.giveKeys(text: text)
            } else if !lost {
                lost = true
                news.keysLost = true
            }
        }
    }

    private func failed(_ error: any Error) -> News {
        var news = News(upto: last)
        news.fault = Self.text(error)
        return news
    }

    static func text(_ error: any Error) -> String {
        (error as? Fault)?.description ?? error.localizedDescription
    }
}
