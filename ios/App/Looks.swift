// How everything looks: sizes, and the grounds that all blocks are made of. Nothing else knows a size of text.
import ChalkfaceKit
import SwiftUI

/// The colours of a theme (the kit's `Palette`), and the sizes of core/decisions/009-looks.md.
@dynamicMemberLookup struct Looks: Equatable {
    let palette: Palette

    static let touch: CGFloat = 48
    static let gap: CGFloat = 16
    static let small: CGFloat = 8
    static let tiny: CGFloat = 4
    static let wide: CGFloat = 900
    static let column: CGFloat = 480

    /// What is drawn on a photograph, whose colours nobody knows: light strokes with a dark rim.
    static let onPicture = Color(hex: 0xFFFFFF)
    static let endOnPicture = Color(hex: 0xFFD54A)
    static let rimOnPicture = Color(hex: 0x000000)

    subscript(dynamicMember of: KeyPath<Palette, UInt32>) -> Color { Color(hex: palette[keyPath: of]) }

    /// The colour of cautions, and of a clock that runs.
    var mind: Color { Color(hex: palette.series[1]) }

    /// The colour of a role of a drawing; nothing paints nothing.
    func role(_ name: String) -> Color? { palette.role(name).map(Color.init(hex:)) }
}

extension Color {
    init(hex: UInt32) {
        self.init(
            red: Double(hex >> 16 & 255) / 255, green: Double(hex >> 8 & 255) / 255, blue: Double(hex & 255) / 255)
    }
}

private struct LooksKey: EnvironmentKey {
    static let defaultValue = Looks(palette: .light)
}

extension EnvironmentValues {
    var looks: Looks {
        get { self[LooksKey.self] }
        set { self[LooksKey.self] = newValue }
    }
}

/// A size of text that the system's own size multiplies.
private struct Sized: ViewModifier {
    @ScaledMetric private var size: CGFloat
    let weight: Font.Weight

    init(_ size: CGFloat, _ weight: Font.Weight) {
        _size = ScaledMetric(wrappedValue: size, relativeTo: .body)
        self.weight = weight
    }

    func body(content: Content) -> some View { content.font(.system(size: size, weight: weight)) }
}

extension View {
    func running(_ weight: Font.Weight = .regular) -> some View { modifier(Sized(17, weight)) }
    func second(_ weight: Font.Weight = .regular) -> some View { modifier(Sized(15, weight)) }
    func heading() -> some View { modifier(Sized(18, .semibold)) }
    func title() -> some View { modifier(Sized(24, .semibold)) }
    func number() -> some View { modifier(Sized(48, .bold)).monospacedDigit() }
    func small() -> some View { modifier(Sized(13, .semibold)) }

    /// The whole width, from the start of a line.
    func line() -> some View { frame(maxWidth: .infinity, alignment: .leading) }

    /// Makes it something to press.
    func push(_ does: @escaping @MainActor () -> Void) -> some View { Button(action: does) { self } }

    /// An edge as controls have it.
    func edged(_ colour: Color, _ width: CGFloat = 2, dashed: Bool = false, round: CGFloat = 10) -> some View {
        let style = StrokeStyle(lineWidth: width, dash: dashed ? [width * 3, width * 2] : [])
        return overlay(RoundedRectangle(cornerRadius: round).strokeBorder(colour, style: style))
    }

    /// A line under it.
    func underlined(_ colour: Color) -> some View {
        overlay(alignment: .bottom) { Rectangle().fill(colour).frame(height: 1) }
    }

    /// Left is left in every language.
    func leftIsLeft() -> some View { environment(\.layoutDirection, .leftToRight) }
}

/// What is pressed: a ground, an edge, a target that is large enough.
struct Ground: ButtonStyle {
    var fill: Color?
    var edge: Color?
    var width: CGFloat = 2
    var dashed = false
    var round: CGFloat = 10
    var high: CGFloat = Looks.touch
    var side: CGFloat = 14
    @Environment(\.looks) private var looks

    func makeBody(configuration: Configuration) -> some View {
        let shape = RoundedRectangle(cornerRadius: round)
        configuration.label
            .padding(.horizontal, side)
            .padding(.vertical, Looks.small)
            .frame(minWidth: Looks.touch, minHeight: high)
            .background(shape.fill(configuration.isPressed ? looks.held : fill ?? .clear))
            .edged(edge ?? .clear, width, dashed: dashed, round: round)
            .contentShape(shape)
    }
}

/// A bar at the start of something.
struct Bar: ViewModifier {
    let colour: Color
    let ground: Color

    func body(content: Content) -> some View {
        content
            .padding(.leading, 18).padding(.trailing, 12).padding(.vertical, Looks.small)
            .frame(maxWidth: .infinity, minHeight: Looks.touch, alignment: .leading)
            .background(ground)
            .overlay(alignment: .leading) { Rectangle().fill(colour).frame(width: 6) }
    }
}
