// What a renderer shows: the current screen, its parts by key, what is asked of the person.
//
// The rule: it decides nothing. What is done is told in the order in which it was done; of a
// text or amount that goes on changing only the newest value; each effect is answered once.
import Foundation
import Observation

@MainActor @Observable public final class ScreenModel {
    public private(set) var screen: Screen?
    /// The parts, and those that stand beside them where there is room.
    public private(set) var main: [BlockModel] = []
    public private(set) var beside: [BlockModel] = []
    /// What the person is asked to do; never a buzz.
    public private(set) var asked: [Effect] = []
    /// Words to be written down before anything else.
    public private(set) var words: String?
    /// What failed outside any screen, in words.
    public var trouble: String?
    /// Parts that were made, and that were there and changed, since the start.
    @ObservationIgnored public private(set) var made = 0
    @ObservationIgnored public private(set) var changed = 0

    @ObservationIgnored public let host: CoreHost
    /// How long somebody who writes may rest before it is told.
    @ObservationIgnored public let pause: Duration
    @ObservationIgnored private let doer: any EffectDoer
    @ObservationIgnored private var blocks: [String: BlockModel] = [:]
    @ObservationIgnored private var queue: [(told: Told, number: UInt64)] = []
    @ObservationIgnored private var numbers: UInt64 = 0
    @ObservationIgnored private var answered: Set<UInt64> = []
    @ObservationIgnored private var fresh = true
    @ObservationIgnored private var draining: Task<Void, Never>?
    @ObservationIgnored private var computing: Task<Void, Never>?
    @ObservationIgnored private var doing: [UInt64: Task<Void, Never>] = [:]

    public init(host: CoreHost, doer: any EffectDoer, pause: Duration = .milliseconds(400)) {
        self.host = host
        self.doer = doer
        self.pause = pause
    }

    /// Opens the book and shows where the person was.
    public func start() {
        add(.opened)
        Task { [weak self, host] in
            if let kept = await host.wordsKept() { self?.words = kept }
        }
    }

    /// Tells what happened on the screen that is shown. Answers its number.
    @discardableResult public func tell(_ event: Event) -> UInt64 {
        switch event {
        case .write(let key, _, _), .slide(let key, _, _):
            // Never past something else that waits: a text that is written after a press belongs behind it.
            let behind = queue.lastIndex { Self.key(of: $0.told) == nil }.map { $0 + 1 } ?? 0
            if let at = queue[behind...].firstIndex(where: { Self.key(of: $0.told) == key }) {
                queue[at].told = .event(event, seen: nil)
                return queue[at].number
            }
            return add(.event(event, seen: nil))
        default:
            flush()
            return add(.event(event, seen: screen?.turn))
        }
    }

    /// Another program opened a file with this one.
    public func handed(_ file: FileBytes) { add(.handed(file)) }

    /// The same, from where it lies.
    @discardableResult public func opened(_ url: URL) -> Task<Void, Never> {
        Task { [weak self] in
            switch await SharedFile.read(url) {
            case .file(let file): self?.handed(file)
            case .failed(let why): self?.trouble = why
            case .done, .notNow: break
            }
        }
    }

    /// Tells what is half written.
    public func flush() {
        for block in main + beside { block.flush() }
    }

    /// What an effect's button does.
    public func does(_ effect: Effect) { begin(effect, Self.ending) }

    /// Copies the text of what could be shared.
    public func copies(_ effect: Effect) { begin(effect, Self.copying) }

    /// A second press while it is under way does nothing.
    private func begin(_ effect: Effect, _ way: @escaping @MainActor (Effect, any EffectDoer, CoreHost) async -> Ending) {
        guard doing[effect.id] == nil else { return }
        flush()
        doing[effect.id] = Task { [weak self, doer, host] in
            let ending = await way(effect, doer, host)
            self?.doing[effect.id] = nil
            self?.ended(effect, ending)
        }
    }

    /// The person says that it was done elsewhere.
    public func did(_ effect: Effect) { tell(.answer(effect: effect.id, how: .done)) }

    public func notNow(_ effect: Effect) { tell(.answer(effect: effect.id, how: .givenUp)) }

    public func wordsWritten() {
        words = nil
        Task { [host] in await host.wordsWritten() }
    }

    /// Until all that was told is in the book. It waits for no person who is taking a picture.
    public func toldAll() async {
        while let task = draining { await task.value }
    }

    /// Until nothing is told, computed or done any more.
    public func settled() async {
        while let task = draining ?? computing ?? doing.values.first { await task.value }
    }

    @discardableResult func add(_ told: Told) -> UInt64 {
        numbers += 1
        queue.append((told, numbers))
        // One at a time takes from the queue, so that order is kept whatever runs when.
        if draining == nil { draining = Task { await self.drain() } }
        return numbers
    }

    private func drain() async {
        while !queue.isEmpty {
            let (told, number) = queue.removeFirst()
            take(await host.take(told, number: number, shows: queue.isEmpty))
        }
        draining = nil
        compute()
    }

    private func compute() {
        guard computing == nil else { return }
        // A long computation must not keep a screen alive that nobody sees any more.
        computing = Task { [weak self, host] in
            let news = await host.compute()
            self?.computing = nil
            guard let self, let news else { return }
            self.take(news)
            self.compute()
        }
    }

    private static func key(of told: Told) -> String? {
        switch told {
        case .event(.write(let key, _, _), _), .event(.slide(let key, _, _), _): key
        default: nil
        }
    }

    private func take(_ news: News) {
        if let said = news.words { words = said }
        if news.keysLost { trouble = shellWords.keysLost }
        if let fault = news.fault { trouble = fault }
        if let next = news.screen { show(next, upto: news.upto) }
    }

    private func show(_ next: Screen, upto: UInt64) {
        // What is held goes with the screen that it was held on.
        if screen?.place != next.place { blocks = [:] }
        var known: [String: BlockModel] = [:]
        var columns: (main: [BlockModel], beside: [BlockModel]) = ([], [])
        for part in next.parts {
            let block: BlockModel
            if let there = blocks[part.key], there.part.kind == part.kind {
                block = there
                if there.show(part, upto: upto) { changed += 1 }
            } else {
                block = BlockModel(part, self)
                made += 1
            }
            known[part.key] = block
            if part.beside { columns.beside.append(block) } else { columns.main.append(block) }
        }
        blocks = known
        // A list of the same parts is not set again, so that only a part that changed is drawn again.
        if !main.elementsEqual(columns.main, by: ===) { main = columns.main }
        if !beside.elementsEqual(columns.beside, by: ===) { beside = columns.beside }
        let wanted = next.effects.filter { $0.kind != .buzz }
        if asked != wanted { asked = wanted }
        if screen != next { screen = next }
        buzz(next.effects)
    }

    private func buzz(_ effects: [Effect]) {
        for effect in effects where effect.kind == .buzz && answered.insert(effect.id).inserted {
            // Whether one of the process's last life was felt, nobody knows.
            if !fresh { doer.buzz() }
            add(.event(.answer(effect: effect.id, how: fresh ? .lost : .done), seen: nil))
        }
        fresh = false
    }

    private static func ending(of effect: Effect, _ doer: any EffectDoer, _ host: CoreHost) async -> Ending {
        switch effect.kind {
        case .share:
            do {
                return await doer.share(FileBytes(name: effect.name, bytes: try await host.content(of: effect.id)))
            } catch {
                return .failed(CoreHost.text(error))
            }
        case .pickFile: return await doer.pickFile(endings: effect.endings)
        case .takePicture: return await doer.takePicture()
        case .buzz:
            doer.buzz()
            return .done
        }
    }

    private static func copying(of effect: Effect, _ doer: any EffectDoer, _ host: CoreHost) async -> Ending {
        do {
            doer.copy(String(decoding: try await host.content(of: effect.id), as: UTF8.self))
            return .done
        } catch {
            return .failed(CoreHost.text(error))
        }
    }

    private func ended(_ effect: Effect, _ ending: Ending) {
        switch ending {
        case .done: did(effect)
        case .file(let file): add(.picked(effect: effect.id, file))
        case .notNow: break
        case .failed(let why): tell(.answer(effect: effect.id, how: .failed(why: why)))
        }
    }
}
