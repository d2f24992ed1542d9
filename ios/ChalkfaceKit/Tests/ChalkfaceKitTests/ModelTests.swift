// The stories driven as a renderer drives them: through the model of the screen and its parts.
// Each event goes the way that a hand goes, where the part is there; what is shown is Rust's.
import Foundation
import Testing

@testable import ChalkfaceKit

@MainActor private final class Phone {
    let clock: StoryClock
    let device = FakePhone()
    let model: ScreenModel

    init(_ no: Int, in folder: Folder) {
        clock = StoryClock(device: no)
        let host = CoreHost(
            book: folder("\(no).book"), place: PlaceFile(folder("\(no).place")), keeper: FakeKeys(clock), around: clock)
        model = ScreenModel(host: host, doer: device, pause: .seconds(3600))
    }

    /// As a hand does it; what no hand can do any more (an older text, a part that is gone) is told as it is.
    func hand(_ event: Event, seen: UInt64?) {
        if let seen { model.add(.event(event, seen: seen)) } else if !byHand(event) { model.tell(event) }
    }

    private func block(_ key: String) -> BlockModel? { (model.main + model.beside).first { $0.id == key } }

    private func byHand(_ event: Event) -> Bool {
        switch event {
        case .press(let key):
            guard let block = block(key) else { return false }
            block.press()
        case .choose(let key, let option):
            guard let block = block(key) else { return false }
            block.choose(option)
        case .switch(let key, let on):
            guard let block = block(key), block.part.on != on else { return false }
            block.flip()
        case .write(let key, let text, let no):
            guard let block = block(key), no == block.no + 1, text != block.text else { return false }
            block.write(text)
            block.flush()
        case .slide(let key, let value, let no):
            guard let block = block(key), no == block.no + 1, value != block.value else { return false }
            // A thumb is never quite on a step.
            block.slide(near: value + block.part.amount[3] * 0.3)
        case .touch(let key, let xMm, let yMm):
            guard let block = block(key) else { return false }
            block.touch(xMm: xMm, yMm: yMm)
        case .open(let key, let row):
            guard let block = block(key), let row = block.part.rows.first(where: { $0.key == row }) else { return false }
            block.open(row)
        case .drag(let key, let point, let xPx, let yPx, let no):
            guard let block = block(key), let point = block.points.first(where: { $0.key == point && $0.no + 1 == no }) else {
                return false
            }
            block.drag(point, xPx: xPx - 1, yPx: yPx, lifted: false)
            block.drag(point, xPx: xPx, yPx: yPx, lifted: true)
        case .answer(let effect, let how):
            guard let effect = model.asked.first(where: { $0.id == effect }) else { return false }
            switch how {
            case .done: model.did(effect)
            case .givenUp: model.notNow(effect)
            case .failed, .lost: return false
            }
        case .wake, .go, .back, .undo, .dismiss: return false
        }
        return true
    }

    /// Presses what an effect offers, and answers it with a file.
    func pick(_ effect: UInt64, _ file: FileBytes) {
        device.next = .file(file)
        guard let wish = model.asked.first(where: { $0.id == effect }) else { return }
        model.does(wish)
    }
}

@MainActor @Suite struct ModelTests {
    @Test("a story that is driven by hand shows and keeps what it does in Rust", arguments: Story.names)
    func story(_ name: String) async throws {
        var buzzes = 0
        let phones = try await play(name) { phone, step, what, answers in
            buzzes += answers
            if let trouble = phone.model.trouble { Issue.record("\(what): \(trouble)") }
            let screen = try #require(phone.model.screen)
            Agree(what: what).screen(step.screen, screen)
            #expect(phone.model.main.map(\.part) == screen.parts.filter { !$0.beside }, "\(what)")
            #expect(phone.model.beside.map(\.part) == screen.parts.filter(\.beside), "\(what)")
            try await self.fetch(phone.model.all, what)
            let (state, digests) = try await phone.model.host.ask { (try $0.state(), try $0.digests()) }
            if state != step.state { Issue.record("\(what): another state") }
            Agree(what: what).same("digests", step.digests, digests)
            return true
        }
        #expect(phones.reduce(0) { $0 + $1.device.buzzes } == buzzes)
    }

    /// What comes only when it is asked for: pictures, and further rows of long lists.
    private func fetch(_ blocks: [BlockModel], _ what: String) async throws {
        for block in blocks where block.part.kind == .picture {
            await block.look()
            #expect(block.picture?.starts(with: [0xFF, 0xD8]) == true, "\(what): no JPEG")
        }
        for block in blocks where block.part.kind == .rows && UInt64(block.part.rows.count) < block.part.count {
            await block.more()
            let rows = block.part.rows + block.further
            #expect(UInt64(rows.count) == min(block.part.count, UInt64(block.part.rows.count) + 100), "\(what)")
            #expect(Set(rows.map(\.key)).count == rows.count, "\(what): a row came twice")
        }
    }

    /// The one kind of block that no story shows.
    @Test("after a set comes a rest, whose clock carries its end")
    func rest() async throws {
        var seen = false
        _ = try await play("two-devices") { phone, step, _, _ in
            guard let set = phone.model.all.first(where: { $0.id.hasPrefix("do.set.") }) else { return true }
            phone.clock.set(step.stamp)
            set.press()
            await phone.model.settled()
            let screen = try #require(phone.model.screen)
            let clock = try #require(screen.nextEnd(after: step.stamp.utcMs), "no clock: \(screen.says)")
            #expect(clock.secondsLeft(at: step.stamp.utcMs) == clock.seconds && clock.seconds > 0 && screen.rests)
            seen = true
            return false
        }
        #expect(seen)
    }

    /// Plays a story by hand until `each` says that it is enough. It sees every step with the answers to
    /// its buzz, which the model gives itself: then the screen is that of the answer's own step.
    private func play(
        _ name: String, each: @MainActor (_ phone: Phone, _ step: Step, _ what: String, _ answers: Int) async throws -> Bool
    ) async throws -> [Phone] {
        let (folder, meetBefore, told) = (try Folder(), try Story.meetBefore(name), try Story.told(name))
        var (phones, order, at) = ([String: Phone](), [Phone](), -1)
        for (n, step) in told.enumerated() where !step.isBuzz {
            at += 1
            if at == meetBefore { try await meet(order) }
            var phone = phones[step.device]
            if phone == nil {
                let new = Phone(order.count, in: folder)
                (phones[step.device], phone) = (new, new)
                order.append(new)
                new.clock.set(step.stamp)
                new.model.start()
                await new.model.settled()
            }
            guard let phone else { continue }
            phone.clock.set(step.stamp)
            try does(step, phone, phones)
            await phone.model.settled()
            let answers = told[(n + 1)...].prefix { $0.isBuzz }
            guard try await each(phone, answers.last ?? step, "\(name), step \(at)", answers.count) else { break }
        }
        return order
    }

    private func does(_ step: Step, _ phone: Phone, _ phones: [String: Phone]) throws {
        let does = step.does
        if does["picked"].isThere {
            let file = phones[does["from"].text]?.device.shared.last
            phone.pick(does["picked"].number, FileBytes(name: "news.chalk", bytes: file?.bytes ?? Data()))
        } else if does["given"].isThere {
            let file = Story.replays.appendingPathComponent(does["file"].text)
            phone.pick(does["given"].number, FileBytes(name: file.lastPathComponent, bytes: try Data(contentsOf: file)))
        } else if does["hand_over"].isThere {
            let wish = phone.model.asked.first { $0.id == does["hand_over"].number }
            phone.model.does(try #require(wish))
        } else if does["event"]["outcome"]["outcome"].text == "file" {
            let file = does["event"]["outcome"]
            phone.pick(does["event"]["effect"].number, FileBytes(name: file["name"].text, bytes: file["bytes"].hex))
        } else {
            let seen = does["event"]["seen"]
            phone.hand(try event(does["event"]), seen: seen.isThere ? seen.number : nil)
        }
    }

    private func meet(_ phones: [Phone]) async throws {
        var cards: [String] = []
        for phone in phones {
            let own = phone.clock.own
            cards.append(try await phone.model.host.ask { try $0.card(clock: own).text })
        }
        for (phone, card) in zip(phones, cards.reversed()) { _ = try await phone.model.host.ask { try $0.meet(card: card) } }
    }
}
