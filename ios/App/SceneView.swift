// A drawing, to read or to touch, in its own millimetres. Its parts that say something are elements for screen readers.
import ChalkfaceKit
import SwiftUI

struct SceneView: View {
    let scene: Drawing
    let label: String
    /// Places to choose by name.
    var places: [Choosable] = []
    var touched: ((Double, Double) -> Void)?
    var chose: (String) -> Void = { _ in }
    @Environment(\.looks) private var looks
    @GestureState private var thumb: CGPoint?

    var body: some View {
        let brush = Brush(looks: looks)
        GeometryReader { room in
            let scale = room.size.width / scene.widthMm
            Canvas { context, _ in brush.draw(scene, context, scale) }
                .contentShape(Rectangle())
                .gesture(touching(scale), including: touched == nil ? .none : .all)
                .accessibilityLabel(together(label, scene.alt))
                .accessibilityChildren { children(scale) }
                .accessibilityActions {
                    ForEach(places, id: \.key) { place in Button(place.name) { chose(place.key) } }
                }
                .overlay(alignment: .topLeading) {
                    if let thumb {
                        Loupe(at: thumb, wide: room.size.width) { brush.draw(scene, $0, scale) }
                    }
                }
        }
        .aspectRatio(scene.widthMm / scene.heightMm, contentMode: .fit)
        .leftIsLeft()
    }

    private func touching(_ scale: CGFloat) -> some Gesture {
        DragGesture(minimumDistance: 0)
            .updating($thumb) { value, thumb, _ in
                let at = scene.millimetres(value.location, scale: scale)
                thumb = CGPoint(x: at.x * scale, y: at.y * scale)
            }
            .onEnded { value in
                let at = scene.millimetres(value.location, scale: scale)
                touched?(at.x, at.y)
            }
    }

    private func children(_ scale: CGFloat) -> some View {
        ForEach(Array(scene.groups.filter { !$0.alt.isEmpty && $0.bounds.count == 4 }.enumerated()), id: \.offset) { group in
            let box = group.element.bounds.map { CGFloat($0) * scale }
            Rectangle().frame(width: box[2], height: box[3])
                .position(x: box[0] + box[2] / 2, y: box[1] + box[3] / 2)
                .accessibilityLabel(group.element.alt)
        }
    }
}

/// What lies under the thumb, twice as large, above it while it is down.
struct Loupe: View {
    let at: CGPoint
    let wide: CGFloat
    let picture: (GraphicsContext) -> Void
    @Environment(\.looks) private var looks
    private let radius: CGFloat = 64

    var body: some View {
        Canvas { context, size in
            let whole = Path(ellipseIn: CGRect(x: 0, y: 0, width: size.width, height: size.height))
            context.fill(whole, with: .color(looks.paper))
            var inside = context
            inside.clip(to: whole)
            inside.translateBy(x: radius - 2 * at.x, y: radius - 2 * at.y)
            inside.scaleBy(x: 2, y: 2)
            picture(inside)
            let sight = CGRect(x: radius - 8, y: radius - 8, width: 16, height: 16)
            context.stroke(Path(ellipseIn: sight), with: .color(looks.flag), style: StrokeStyle(lineWidth: 2))
            context.stroke(whole, with: .color(looks.press), style: StrokeStyle(lineWidth: 3))
        }
        .frame(width: 2 * radius, height: 2 * radius)
        .position(x: min(max(at.x, radius), max(radius, wide - radius)), y: at.y - radius - 32)
        .allowsHitTesting(false)
        .accessibilityHidden(true)
    }
}
