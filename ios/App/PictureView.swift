// A photograph with points on it, in its own pixels. Ends of the face are open squares, marks rings with a cross,
// earlier marks broken rings.
import ChalkfaceKit
import SwiftUI
import UIKit

struct PictureView: View {
    let block: BlockModel
    @Environment(\.looks) private var looks
    @State private var image: UIImage?
    @State private var held: (key: String, dx: CGFloat, dy: CGFloat)?
    @State private var moved = false

    var body: some View {
        GeometryReader { room in
            if let frame = PictureFrame(block.part.amount, wide: room.size.width) {
                Canvas { context, _ in draw(context, frame) }
                    .background(looks.surface)
                    .clipped()
                    .contentShape(reach(frame))
                    .gesture(dragging(frame))
                    .accessibilityLabel(together(block.part.name, block.part.says))
                    .accessibilityChildren { children(frame) }
                    .overlay(alignment: .topLeading) {
                        if moved, let point = block.points.first(where: { $0.key == held?.key }) {
                            Loupe(at: frame.place(point), wide: room.size.width) { draw($0, frame) }
                        }
                    }
            }
        }
        .aspectRatio(block.part.amount[4] / block.part.amount[5], contentMode: .fit)
        .leftIsLeft()
        .onChange(of: block.picture, initial: true) { _, bytes in image = bytes.flatMap { UIImage(data: $0) } }
    }

    private func draw(_ context: GraphicsContext, _ frame: PictureFrame) {
        // The image may have fewer pixels than the picture; it is laid over all of it.
        if let image { context.draw(Image(uiImage: image), in: frame.whole) }
        for point in block.points { mark(point, at: frame.place(point), context) }
    }

    /// What a thumb may take; beside it the page is moved, as everywhere.
    private func reach(_ frame: PictureFrame) -> Path {
        var path = Path()
        for at in block.points.map(frame.place) {
            path.addEllipse(in: CGRect(origin: at, size: .zero).insetBy(dx: -Looks.touch / 2, dy: -Looks.touch / 2))
        }
        return path
    }

    private func mark(_ point: Point, at: CGPoint, _ context: GraphicsContext) {
        let line: CGFloat = point.key == block.part.chosen ? 4 : 2.5
        var path = Path()
        if point.look == "handle" {
            path.addRect(CGRect(x: at.x - 8, y: at.y - 8, width: 16, height: 16))
        } else {
            path.addEllipse(in: CGRect(x: at.x - 13, y: at.y - 13, width: 26, height: 26))
        }
        if point.look == "new" {
            path.move(to: CGPoint(x: at.x - 6, y: at.y))
            path.addLine(to: CGPoint(x: at.x + 6, y: at.y))
            path.move(to: CGPoint(x: at.x, y: at.y - 6))
            path.addLine(to: CGPoint(x: at.x, y: at.y + 6))
        }
        let dash: [CGFloat] = point.look == "earlier" ? [4, 4] : []
        context.stroke(path, with: .color(Looks.rimOnPicture), style: StrokeStyle(lineWidth: line + 2, dash: dash))
        let colour = point.look == "handle" ? Looks.endOnPicture : Looks.onPicture
        context.stroke(path, with: .color(colour), style: StrokeStyle(lineWidth: line, dash: dash))
    }

    private func dragging(_ frame: PictureFrame) -> some Gesture {
        DragGesture(minimumDistance: 0)
            .onChanged { value in
                if held == nil, let near = frame.nearest(block.points, to: value.startLocation, within: Looks.touch / 2) {
                    let at = frame.place(near)
                    held = (near.key, at.x - value.startLocation.x, at.y - value.startLocation.y)
                }
                // A finger that only trembles presses.
                moved = moved || hypot(value.translation.width, value.translation.height) > 10
                if moved { move(to: value.location, frame, lifted: false) }
            }
            .onEnded { value in
                if moved { move(to: value.location, frame, lifted: true) } else if let held { block.choose(held.key) }
                (held, moved) = (nil, false)
            }
    }

    private func move(to at: CGPoint, _ frame: PictureFrame, lifted: Bool) {
        guard let held, let point = block.points.first(where: { $0.key == held.key }) else { return }
        let pixel = frame.pixels(CGPoint(x: at.x + held.dx, y: at.y + held.dy))
        block.drag(point, xPx: pixel.x, yPx: pixel.y, lifted: lifted)
    }

    private func children(_ frame: PictureFrame) -> some View {
        ForEach(block.points, id: \.key) { point in
            Button(point.name) { block.choose(point.key) }
                .frame(width: Looks.touch, height: Looks.touch)
                .position(frame.place(point))
                .accessibilityAddTraits(point.key == block.part.chosen ? .isSelected : [])
        }
    }
}
