// Views in a row that breaks where there is no more room.
import ChalkfaceKit
import SwiftUI

struct Flow: Layout {
    var gap: CGFloat = Looks.small

    func sizeThatFits(proposal: ProposedViewSize, subviews: Subviews, cache: inout ()) -> CGSize {
        let placed = places(proposal.width ?? .infinity, subviews)
        return CGSize(width: proposal.width ?? placed.map(\.maxX).max() ?? 0, height: placed.map(\.maxY).max() ?? 0)
    }

    func placeSubviews(in bounds: CGRect, proposal: ProposedViewSize, subviews: Subviews, cache: inout ()) {
        for (view, place) in zip(subviews, places(bounds.width, subviews)) {
            let at = CGPoint(x: bounds.minX + place.minX, y: bounds.minY + place.minY)
            view.place(at: at, anchor: .topLeading, proposal: ProposedViewSize(width: place.width, height: place.height))
        }
    }

    private func places(_ wide: CGFloat, _ views: Subviews) -> [CGRect] {
        let sizes = views.map { view in
            let free = view.sizeThatFits(ProposedViewSize(width: nil, height: nil))
            return free.width <= wide ? free : view.sizeThatFits(ProposedViewSize(width: wide, height: nil))
        }
        return flowed(sizes, wide: wide, gap: gap)
    }
}
