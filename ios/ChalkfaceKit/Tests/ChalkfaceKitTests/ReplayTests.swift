// Every story once more through the bindings and the actor that owns the core: screens, state
// and digests are Rust's, also where the process ends after every event.
import Foundation
import Testing

@testable import ChalkfaceKit

/// One device of a story.
private final class Played {
    let clock: StoryClock
    let keys: FakeKeys
    var host: CoreHost
    var handedOver = Data()
    private let open: () -> CoreHost

    init(_ no: Int, in folder: Folder) {
        let (clock, place) = (StoryClock(device: no), PlaceFile(folder("\(no).place")))
        let (keys, book) = (FakeKeys(clock), folder("\(no).book"))
        self.clock = clock
        self.keys = keys
        open = { CoreHost(book: book, place: place, keeper: keys, around: clock) }
        host = open()
    }

    func take(_ told: Told, at stamp: Stamp) async -> News {
        clock.set(stamp)
        return await finished(host.take(told))
    }

    /// With all that the screen waits for.
    private func finished(_ news: News) async -> News {
        var news = news
        while let next = await host.compute() {
            if let fault = next.fault { Issue.record("a computation failed: \(fault)") }
            news.screen = next.screen
        }
        return news
    }

    func kill() async {
        await host.close()
        host = open()
        _ = await finished(host.take(.opened))
    }
}

@Suite struct ReplayTests {
    @Test("a story shows, keeps and holds what it does in Rust", arguments: Story.names, [false, true])
    func story(_ name: String, endedAfterEveryEvent: Bool) async throws {
        let (folder, meetBefore) = (try Folder(), try Story.meetBefore(name))
        var (devices, order, at) = ([String: Played](), [Played](), -1)
        for step in try Story.told(name) {
            if !step.isBuzz { at += 1 }
            if at == meetBefore && !step.isBuzz { try await meet(order) }
            var device = devices[step.device]
            if device == nil {
                let new = Played(order.count, in: folder)
                (devices[step.device], device) = (new, new)
                order.append(new)
                _ = await new.take(.opened, at: step.stamp)
            }
            guard let device else { continue }
            let news = try await does(step, device, devices)
            let what = "\(name), step \(at)"
            if let fault = news.fault { Issue.record("\(what): \(fault)") }
            Agree(what: what).screen(step.screen, try #require(news.screen))
            let (state, digests) = try await device.host.ask { (try $0.state(), try $0.digests()) }
            if state != step.state { Issue.record("\(what): another state") }
            Agree(what: what).same("digests", step.digests, digests)
            if endedAfterEveryEvent { await device.kill() }
        }
        #expect(at > 3)
    }

    private func does(_ step: Step, _ device: Played, _ devices: [String: Played]) async throws -> News {
        let does = step.does
        if does["picked"].isThere {
            let file = FileBytes(name: "news.chalk", bytes: devices[does["from"].text]?.handedOver ?? Data())
            return await device.take(.picked(effect: does["picked"].number, file), at: step.stamp)
        }
        if does["given"].isThere {
            let file = Story.replays.appendingPathComponent(does["file"].text)
            let bytes = FileBytes(name: file.lastPathComponent, bytes: try Data(contentsOf: file))
            return await device.take(.picked(effect: does["given"].number, bytes), at: step.stamp)
        }
        if does["hand_over"].isThere {
            let effect = does["hand_over"].number
            device.handedOver = try await device.host.content(of: effect)
            return await device.take(.event(.answer(effect: effect, how: .done), seen: nil), at: step.stamp)
        }
        let told = does["event"]
        if told["outcome"]["outcome"].text == "file" {
            let file = FileBytes(name: told["outcome"]["name"].text, bytes: told["outcome"]["bytes"].hex)
            return await device.take(.picked(effect: told["effect"].number, file), at: step.stamp)
        }
        let seen = told["seen"]
        return await device.take(.event(try event(told), seen: seen.isThere ? seen.number : nil), at: step.stamp)
    }

    private func meet(_ devices: [Played]) async throws {
        var cards: [String] = []
        for device in devices {
            let own = device.clock.own
            cards.append(try await device.host.ask { try $0.card(clock: own).text })
        }
        for (device, card) in zip(devices, cards.reversed()) { _ = try await device.host.ask { try $0.meet(card: card) } }
    }

    @Test("the stories show every kind of block but the clock, and both roles")
    func kinds() throws {
        var (kinds, places) = (Set<String>(), Set<String>())
        for name in Story.names {
            for step in try Story.told(name) {
                places.insert(step.screen["place"].text)
                for part in step.screen["parts"].list { kinds.insert(part["block"].maybe ?? part["control"].text) }
            }
        }
        let all: [Kind] = [
            .heading, .text, .table, .chart, .items, .steps, .caution, .action, .choice, .switch, .field, .amount, .touch,
            .picture, .cells, .counter, .rows,
        ]
        #expect(all.map { "\($0)" }.filter { !kinds.contains($0) } == [])
        #expect(places.contains("students") && places.contains("today"), "places: \(places.sorted())")
    }
}
