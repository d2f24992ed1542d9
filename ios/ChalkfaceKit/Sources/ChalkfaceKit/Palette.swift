// The colours of each theme, as numbers; what each is for is said in core/decisions/009-looks.md.
//
// The rule: they are those of the desk's style sheet, against which a test holds them.

public struct Palette: Sendable, Equatable {
    public let paper, surface, ink, muted, grid, line, press, onPress, held, flag, done: UInt32
    /// The six series of charts.
    public let series: [UInt32]

    public static let light = Palette(
        [0xFBFAF6, 0xEEECE4, 0x1D2733, 0x5A6570, 0xD8D6CD, 0x7C858D, 0x0F5B8F, 0xFFFFFF, 0xDBE7F0, 0xB02318, 0x2B6A43],
        [0x0F5B8F, 0xA85400, 0x2B7A4B, 0x843F86, 0x6A6A1A, 0x6B5B52])
    public static let dark = Palette(
        [0x151B21, 0x222B34, 0xF1EEE6, 0xA9B3BC, 0x37414B, 0x8993A0, 0x74C0F0, 0x10161B, 0x24394A, 0xFF8F80, 0x7FD69E],
        [0x74C0F0, 0xF5B25C, 0x7FD69E, 0xD9A2DC, 0xD3D077, 0xC9B8AC])
    public static let sun = Palette(
        [0xFFFFFF, 0xF2F2EE, 0x000000, 0x2E3339, 0xB0B4B8, 0x2E3339, 0x003A6B, 0xFFFFFF, 0xCFDFEE, 0x8E0C05, 0x0B4A26],
        [0x003A6B, 0x6B3200, 0x0B4A26, 0x57155A, 0x454500, 0x42332A])

    private init(_ of: [UInt32], _ series: [UInt32]) {
        (paper, surface, ink, muted) = (of[0], of[1], of[2], of[3])
        (grid, line, press, onPress) = (of[4], of[5], of[6], of[7])
        (held, flag, done) = (of[8], of[9], of[10])
        self.series = series
    }

    /// The colour of a role of a drawing; nothing paints nothing.
    public func role(_ name: String) -> UInt32? {
        switch name {
        case "paper": paper
        case "ink": ink
        case "muted": muted
        case "grid": grid
        case "surface": surface
        case "flag": flag
        case "code_dark": 0x000000
        case "code_light": 0xFFFFFF
        default: ["accent_a", "accent_b", "accent_c", "accent_d", "accent_e", "accent_f"].firstIndex(of: name).map { series[$0] }
        }
    }
}
