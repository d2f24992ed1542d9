// What the app hands to the kit so that it can be run: colours, geometry, files, where things lie.
import Foundation
import Testing

@testable import ChalkfaceKit

@MainActor @Suite struct ShellTests {
    let folder: Folder

    init() throws { folder = try Folder() }

    /// The desk's style sheet, which core/decisions/009-looks.md calls its first rendering.
    @Test("colours are those of the desk's style sheet")
    func colours() throws {
        let sheet = Story.repository.appendingPathComponent("desk/src/serve/style.css")
        let blocks = try String(contentsOf: sheet, encoding: .utf8).components(separatedBy: ":root").dropFirst().prefix(3)
        let themes: [Palette] = [.light, .dark, .sun]
        #expect(blocks.count == themes.count)
        for (block, palette) in zip(blocks, themes) {
            let named = [
                ("paper", palette.paper), ("surface", palette.surface), ("ink", palette.ink), ("muted", palette.muted),
                ("grid", palette.grid), ("line", palette.line), ("press", palette.press), ("on-press", palette.onPress),
                ("held", palette.held), ("flag", palette.flag), ("done", palette.done),
            ]
            for (name, colour) in named + zip(["a", "b", "c", "d", "e", "f"], palette.series) {
                let hex = String(colour, radix: 16)
                let value = "--\(name): #" + String(repeating: "0", count: 6 - hex.count) + hex
                #expect(block.contains(value), "\(value)")
            }
        }
    }

    @Test("every role that a drawing of the stories uses has a colour, and an unknown one has none")
    func roles() async throws {
        for role in ["paper", "ink", "muted", "grid", "surface", "flag", "accent_a", "accent_f", "code_dark", "code_light"] {
            #expect(Palette.sun.role(role) != nil)
        }
        #expect(Palette.light.role("") == nil && Palette.light.role("accent_g") == nil)
        #expect(Palette.light.role("accent_b") == Palette.light.series[1])
    }

    @Test("a row breaks where there is no more room, and the next line stands under its highest")
    func flow() {
        let sizes = [CGSize(width: 60, height: 10), CGSize(width: 30, height: 40), CGSize(width: 20, height: 5)]
        let placed = flowed(sizes, wide: 100, gap: 8)
        #expect(placed.map(\.origin) == [CGPoint(x: 0, y: 0), CGPoint(x: 68, y: 0), CGPoint(x: 0, y: 48)])
        #expect(flowed([CGSize(width: 300, height: 1)], wide: 100, gap: 8).first?.origin == .zero)
    }

    private func shape(_ numbers: [Double]) -> DrawingShape {
        DrawingShape(
            kind: .path, numbers: numbers, fill: "", fillOpacity: 1, stroke: "ink", strokeMm: 1, dash: [], text: "", anchor: "")
    }

    @Test("a path's numbers are its steps; one that is cut short ends without harm")
    func steps() {
        let whole: [Double] = [0, 1, 2, 1, 3, 4, 2, 1, 1, 2, 2, 5, 6, 3]
        let steps: [DrawingStep] = [
            .move(CGPoint(x: 1, y: 2)), .line(CGPoint(x: 3, y: 4)),
            .curve(to: CGPoint(x: 5, y: 6), CGPoint(x: 1, y: 1), CGPoint(x: 2, y: 2)), .close,
        ]
        #expect(shape(whole).steps == steps)
        for length in 0..<whole.count { #expect(shape(Array(whole.prefix(length))).steps.count < steps.count) }
        #expect(shape([9, 1, 1]).steps.isEmpty)
    }

    @Test("a thumb beside a drawing meant its edge")
    func edges() {
        let drawing = Drawing(title: "", alt: "", widthMm: 120, heightMm: 60, shapes: [], groups: [])
        #expect(drawing.millimetres(CGPoint(x: 120, y: 30), scale: 2) == (60, 15))
        #expect(drawing.millimetres(CGPoint(x: -5, y: 500), scale: 2) == (0, 60))
    }

    @Test("a point of a picture is found where it is shown, and dragged to where the thumb is")
    func picture() throws {
        let frame = try #require(PictureFrame([400, 300, 100, 50, 200, 100], wide: 400))
        let near = Point(key: "mark0", name: "", xPx: 150, yPx: 100, look: "new", no: 0)
        let far = Point(key: "mark1", name: "", xPx: 250, yPx: 100, look: "new", no: 0)
        #expect(frame.scale == 2 && frame.place(near) == CGPoint(x: 100, y: 100))
        #expect(frame.pixels(frame.place(near)) == CGPoint(x: 150, y: 100))
        #expect(frame.nearest([far, near], to: CGPoint(x: 110, y: 90), within: 24)?.key == "mark0")
        #expect(frame.nearest([far, near], to: CGPoint(x: 200, y: 100), within: 24) == nil)
        #expect(frame.whole == CGRect(x: -200, y: -100, width: 800, height: 600))
        #expect(PictureFrame([], wide: 400) == nil)
    }

    private func clock(_ endsMs: Int64) -> Part {
        Part(
            kind: .clock, key: "rest", beside: false, name: "Rest", text: "", look: "", hint: "", problem: nil, says: "",
            unit: "", on: false, no: 0, amount: [], count: 0, of: nil, endsMs: endsMs, seconds: 60, options: [], chosen: nil,
            columns: ["Ball", "Carry"], names: [], rows: [], picture: "", points: [], scene: nil)
    }

    private func screen(_ parts: [Part]) -> Screen {
        Screen(
            place: "today", turn: 1, title: "", subtitle: "", back: nil, tabs: [], parts: parts, notices: [], undo: nil,
            says: "", busy: nil, effects: [])
    }

    @Test("a clock shows whole seconds down to over, and the one that ends next rings")
    func clocks() {
        let part = clock(61_000)
        #expect([1_000, 1_001, 60_999, 61_000, 99_000].map { part.secondsLeft(at: $0) } == [60, 60, 1, 0, 0])
        #expect(wordsLeft(seconds: 60) == "60 s" && wordsLeft(seconds: 0) == "over")
        let both = screen([clock(90_000), part])
        #expect(both.nextEnd(after: 0) == part && both.nextEnd(after: 61_000)?.endsMs == 90_000)
        #expect(both.nextEnd(after: 90_000) == nil && both.rests && both.waits && !screen([]).waits)
    }

    @Test("a cell is said under its column's head")
    func cells() {
        #expect(clock(0).said("200", column: 1) == "Carry: 200" && clock(0).said("x", column: 2) == "x")
        #expect(together("a", nil, "", "b") == "a, b")
    }

    @Test("a file is read as far as it can be taken in, and a byte more")
    func files() async throws {
        let (some, large) = (folder("some.chalk"), folder("large.chalk"))
        try Data("some".utf8).write(to: some)
        try Data(count: mostBytes + 10).write(to: large)
        #expect(await SharedFile.read(some) == .file(FileBytes(name: "some.chalk", bytes: Data("some".utf8))))
        guard case .file(let cut) = await SharedFile.read(large) else {
            Issue.record("not read")
            return
        }
        #expect(cut.bytes.count == mostBytes + 1)
        #expect(await SharedFile.read(folder("none")) == .failed(shellWords.unreadable))
        #expect(await SharedFile.read(URL(string: "https://example.org/x.chalk")!) == .failed(shellWords.unreadable))
    }

    @Test("on a new device the copy becomes the book, and never in the place of one")
    func home() throws {
        let home = Home(in: folder.url)
        try home.prepare()
        #expect(!FileManager.default.fileExists(atPath: home.book.path))
        try Data("copy".utf8).write(to: home.copy)
        try home.prepare()
        #expect(try Data(contentsOf: home.book) == Data("copy".utf8))
        try Data("newer".utf8).write(to: home.copy)
        try home.prepare()
        #expect(try Data(contentsOf: home.book) == Data("copy".utf8))
    }

    @Test("of several answers only the first counts")
    func once() async {
        let once = Once()
        once.say("before anything was asked")
        let found = await once.wait {
            once.say(1)
            once.say(2)
        }
        #expect(found as? Int == 1)
    }
}
