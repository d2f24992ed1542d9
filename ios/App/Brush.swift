// Paints a drawing: shapes in millimetres, in the order in which they come.
import ChalkfaceKit
import SwiftUI

struct Brush {
    let looks: Looks

    /// `scale` are points of a millimetre.
    func draw(_ scene: Drawing, _ context: GraphicsContext, _ scale: CGFloat) {
        for shape in scene.shapes {
            if shape.kind == .text { text(shape, context, scale) } else { paint(shape, context, scale) }
        }
    }

    private func paint(_ shape: DrawingShape, _ context: GraphicsContext, _ scale: CGFloat) {
        var context = context
        context.scaleBy(x: scale, y: scale)
        let at = shape.numbers.map { CGFloat($0) }
        var path = Path()
        switch shape.kind {
        case .line:
            path.move(to: CGPoint(x: at[0], y: at[1]))
            path.addLine(to: CGPoint(x: at[2], y: at[3]))
        case .path:
            for step in shape.steps {
                switch step {
                case .move(let to): path.move(to: to)
                case .line(let to): path.addLine(to: to)
                case .curve(let to, let one, let two): path.addCurve(to: to, control1: one, control2: two)
                case .close: path.closeSubpath()
                }
            }
        case .rect:
            path.addRoundedRect(
                in: CGRect(x: at[0], y: at[1], width: at[2], height: at[3]), cornerSize: CGSize(width: at[4], height: at[4]))
        case .ellipse:
            context.translateBy(x: at[0], y: at[1])
            context.rotate(by: .degrees(Double(at[4])))
            path.addEllipse(in: CGRect(x: -at[2], y: -at[3], width: 2 * at[2], height: 2 * at[3]))
        case .text: return
        }
        if let fill = looks.role(shape.fill) { context.fill(path, with: .color(fill.opacity(shape.fillOpacity))) }
        if let stroke = looks.role(shape.stroke) {
            let wide = CGFloat(shape.strokeMm)
            let style = StrokeStyle(
                lineWidth: wide, lineCap: .round, lineJoin: .round, dash: shape.dash.map { CGFloat($0) * wide })
            context.stroke(path, with: .color(stroke), style: style)
        }
    }

    private func text(_ shape: DrawingShape, _ context: GraphicsContext, _ scale: CGFloat) {
        guard let colour = looks.role(shape.fill) else { return }
        let words = shape.anchor.split(separator: " ")
        let size = CGFloat(shape.numbers[2]) * scale
        let name = words.contains("bold") ? "AtkinsonHyperlegibleNext-Bold" : "AtkinsonHyperlegibleNext-Regular"
        let anchor: UnitPoint = words.first == "middle" ? .top : words.first == "end" ? .topTrailing : .topLeading
        func drawn(_ colour: Color, _ dx: CGFloat, _ dy: CGFloat) {
            let text = context.resolve(Text(shape.text).font(.custom(name, fixedSize: size)).foregroundColor(colour))
            let room = text.measure(in: CGSize(width: CGFloat.infinity, height: .infinity))
            let at = CGPoint(
                x: CGFloat(shape.numbers[0]) * scale + dx,
                y: CGFloat(shape.numbers[1]) * scale - text.firstBaseline(in: room) + dy)
            context.draw(text, at: at, anchor: anchor)
        }
        if words.contains("halo") {
            // A rim of paper, 0.3 of the size across, as the core's own pictures have it.
            let rim = size * 0.15
            for turn in stride(from: 0.0, to: 2 * Double.pi, by: Double.pi / 4) {
                drawn(looks.paper, rim * CGFloat(cos(turn)), rim * CGFloat(sin(turn)))
            }
        }
        drawn(colour, 0, 0)
    }
}
