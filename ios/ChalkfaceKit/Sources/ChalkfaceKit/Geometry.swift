// Geometry that a renderer needs: lines that break, the steps of a drawn path, where a thumb meant.
//
// The rule: it knows sizes and places only; what they mean is the core's.
import Foundation

/// Where things of given sizes go in a row that breaks.
public func flowed(_ sizes: [CGSize], wide: CGFloat, gap: CGFloat) -> [CGRect] {
    var (x, y, high): (CGFloat, CGFloat, CGFloat) = (0, 0, 0)
    return sizes.map { size in
        if x > 0 && x + size.width > wide { (x, y, high) = (0, y + high + gap, 0) }
        defer { (x, high) = (x + size.width + gap, max(high, size.height)) }
        return CGRect(x: x, y: y, width: size.width, height: size.height)
    }
}

/// A step of a path that is drawn.
public enum DrawingStep: Equatable, Sendable {
    case move(CGPoint)
    case line(CGPoint)
    case curve(to: CGPoint, CGPoint, CGPoint)
    case close
}

extension DrawingShape {
    /// The steps of a path: 0 x y begins, 1 x y draws a line, 2 and six numbers a cubic curve, 3
    /// closes. One that is cut short ends where it still makes sense.
    public var steps: [DrawingStep] {
        var (steps, rest) = ([DrawingStep](), numbers[...])
        func point(_ n: Int) -> CGPoint { CGPoint(x: rest[rest.startIndex + n], y: rest[rest.startIndex + n + 1]) }
        while let step = rest.first {
            let taken: Int
            switch Int(step) {
            case 0 where rest.count >= 3:
                steps.append(.move(point(1)))
                taken = 3
            case 1 where rest.count >= 3:
                steps.append(.line(point(1)))
                taken = 3
            case 2 where rest.count >= 7:
                steps.append(.curve(to: point(5), point(1), point(3)))
                taken = 7
            case 3:
                steps.append(.close)
                taken = 1
            default: return steps
            }
            rest = rest.dropFirst(taken)
        }
        return steps
    }
}

extension Drawing {
    /// The millimetres of a place that is so many points from the drawing's corner. A thumb may slip
    /// off the edge; then it meant the edge.
    public func millimetres(_ at: CGPoint, scale: CGFloat) -> (x: Double, y: Double) {
        (min(max(Double(at.x / scale), 0), widthMm), min(max(Double(at.y / scale), 0), heightMm))
    }
}

/// What of a picture is shown, so many points for each of its pixels.
public struct PictureFrame: Equatable, Sendable {
    public let shown: CGRect
    public let size: CGSize
    public let scale: CGFloat

    /// `amount` of a picture's part: its width and height, and left, top, width, height of what is shown.
    public init?(_ amount: [Double], wide: CGFloat) {
        guard amount.count == 6, amount[4] > 0, amount[5] > 0 else { return nil }
        size = CGSize(width: amount[0], height: amount[1])
        shown = CGRect(x: amount[2], y: amount[3], width: amount[4], height: amount[5])
        scale = wide / shown.width
    }

    /// The whole picture's place.
    public var whole: CGRect {
        CGRect(x: -shown.minX * scale, y: -shown.minY * scale, width: size.width * scale, height: size.height * scale)
    }

    public func place(_ point: Point) -> CGPoint {
        CGPoint(x: (point.xPx - shown.minX) * scale, y: (point.yPx - shown.minY) * scale)
    }

    public func pixels(_ at: CGPoint) -> CGPoint { CGPoint(x: at.x / scale + shown.minX, y: at.y / scale + shown.minY) }

    /// The point that a thumb at a place takes, so far away at most.
    public func nearest(_ points: [Point], to at: CGPoint, within reach: CGFloat) -> Point? {
        func away(_ of: Point) -> CGFloat { hypot(place(of).x - at.x, place(of).y - at.y) }
        return points.min { away($0) < away($1) }.flatMap { away($0) <= reach ? $0 : nil }
    }
}
