// Whether a screen that crossed the bindings says what the core's own says.
import Foundation
import Testing

@testable import ChalkfaceKit

struct Agree {
    let what: String

    func same<Value: Equatable>(_ name: String, _ core: Value, _ crossed: Value) {
        if core != crossed { Issue.record("\(what): \(name): Rust has \(core), Swift has \(crossed)") }
    }

    func screen(_ of: Json, _ screen: Screen) {
        same("place", of["place"].text, screen.place)
        same("turn", of["turn"].number, screen.turn)
        same("title", of["title"].text, screen.title)
        same("subtitle", of["subtitle"].text, screen.subtitle)
        same("back", of["back"].maybe, screen.back)
        same("undo", of["undo"].maybe, screen.undo)
        same("says", of["says"].text, screen.says)
        same("busy", of["busy"]["text"].maybe, screen.busy)
        same(
            "tabs", of["tabs"].list.map { [$0["key"].text, $0["name"].text, "\($0["here"].bool)"] },
            screen.tabs.map { [$0.key, $0.name, "\($0.here)"] })
        same(
            "notices", of["notices"].list.map { "\($0["id"].int) \($0["tone"].text == "problem") \($0["text"].text)" },
            screen.notices.map { "\($0.id) \($0.problem) \($0.text)" })
        same(
            "effects", of["effects"].list.map { "\($0["id"].int) \($0["effect"].text)" },
            screen.effects.map { "\($0.id) \(Self.word($0.kind))" })
        // A text in markup crosses as the plain parts that it stands for.
        let parts = of["parts"].list.filter { $0["block"].text != "markup" }
        let keys = parts.map { $0["key"].text }
        let known = Set(keys)
        let crossed = screen.parts.filter { known.contains($0.key) }
        same("keys", keys, crossed.map(\.key))
        for (of, part) in zip(parts, crossed) { Agree(what: "\(what): \(part.key)").part(of, part) }
    }

    private static func word(_ kind: EffectKind) -> String {
        switch kind {
        case .share: "share"
        case .pickFile: "pick_file"
        case .takePicture: "take_picture"
        case .buzz: "buzz"
        }
    }

    private func part(_ of: Json, _ part: Part) {
        same("kind", of["block"].maybe ?? of["control"].text, "\(part.kind)")
        same("column", of["column"].text == "beside", part.beside)
        let name = { same("name", of["name"].text, part.name) }
        let says = { same("says", of["says"].text, part.says) }
        let choices = part.options.map { [$0.key, $0.name] }
        func options(_ key: String) -> [[String]] { of[key].list.map { [$0["key"].text, $0["name"].text] } }
        switch part.kind {
        case .heading, .caution: same("text", of["text"].text, part.text)
        case .text:
            same("text", of["text"].text, part.text)
            same("basis", of["basis"].text, part.look)
        case .table:
            same("alt", of["alt"].text, part.name)
            same("columns", of["columns"].texts, part.columns)
            same(
                "rows", of["rows"].list.map { [$0["name"].text, $0["basis"].text] + $0["cells"].texts },
                part.rows.map { [$0.name, $0.look] + $0.cells })
        case .chart: scene(of["scene"], part.scene)
        case .items, .steps: same("lines", of["items"].texts, part.columns)
        case .action:
            name()
            same("look", of["look"].text, part.look)
            same("hint", of["hint"].text, part.hint)
        case .choice:
            name()
            same("options", options("options"), choices)
            same("chosen", of["chosen"].maybe, part.chosen)
        case .switch:
            name()
            same("on", of["on"].bool, part.on)
        case .field:
            name()
            same("text", of["text"].text, part.text)
            same("no", of["no"].number, part.no)
            same("kind of field", of["kind"].text, part.look)
            same("unit", of["unit"].text, part.unit)
            same("problem", of["problem"].maybe, part.problem)
        case .amount:
            name()
            says()
            same("amount", ["value", "low", "high", "step"].map { of[$0].double }, part.amount)
        case .touch:
            name()
            says()
            same("places", options("places"), choices)
            scene(of["scene"], part.scene)
        case .cells:
            name()
            same("cells", options("cells"), choices)
            same("columns", of["columns"].texts, part.columns)
            same("rows", of["rows"].texts, part.names)
            same("chosen", of["chosen"].maybe, part.chosen)
        case .picture:
            name()
            says()
            let points = of["points"].list
            same(
                "points", points.map { "\($0["key"].text) \($0["name"].text) \($0["look"].text) \($0["no"].int)" },
                part.points.map { "\($0.key) \($0.name) \($0.look) \($0.no)" })
            same(
                "places of points", points.flatMap { [$0["x_px"].double, $0["y_px"].double] },
                part.points.flatMap { [$0.xPx, $0.yPx] })
            same("picture", of["picture"]["id"].text, part.picture)
            same("chosen", of["chosen"].maybe, part.chosen)
        case .counter:
            name()
            says()
            same("count", of["count"].number, part.count)
        case .clock:
            name()
            same("end", of["ends_ms"].int, part.endsMs)
            same("seconds", of["seconds"].number, UInt64(part.seconds))
        case .rows:
            name()
            same("total", of["total"].number, part.count)
            same(
                "rows", of["rows"].list.map { row in ["key", "name", "detail", "figure", "flag"].map { row[$0].text } },
                part.rows.map { [$0.key, $0.name, $0.detail, $0.figure, $0.flag] })
        }
    }

    private func scene(_ of: Json, _ scene: Drawing?) {
        guard let scene else { return same("drawing", true, false) }
        let (shapes, groups) = Self.count(of["items"])
        same("alt", of["alt"].text, scene.alt)
        same("size", [of["width_mm"].double, of["height_mm"].double], [scene.widthMm, scene.heightMm])
        same("shapes", shapes, scene.shapes.count)
        same("groups", groups, scene.groups.map(\.alt))
    }

    private static func count(_ items: Json) -> (Int, [String]) {
        var (shapes, groups) = (0, [String]())
        for item in items.list {
            guard item["kind"].text == "group" else {
                shapes += 1
                continue
            }
            let inside = count(item["items"])
            shapes += inside.0
            groups += inside.1 + [item["alt"].text]
        }
        return (shapes, groups)
    }
}
