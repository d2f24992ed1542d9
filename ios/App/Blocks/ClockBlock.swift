// A clock that runs down. It carries its end; the seconds are counted here.
import ChalkfaceKit
import SwiftUI

struct ClockBlock: View {
    let block: BlockModel
    @Environment(\.looks) private var looks
    @State private var over = 0

    var body: some View {
        let part = block.part
        TimelineView(.periodic(from: Date(), by: 0.25)) { _ in
            let left = part.secondsLeft(at: SystemSurroundings().utcMs())
            HStack(spacing: 12) {
                Text(part.name).heading()
                Text(wordsLeft(seconds: left)).heading().monospacedDigit().line()
            }
            .modifier(Bar(colour: left > 0 ? looks.mind : looks.done, ground: .clear))
            .accessibilityElement(children: .combine)
        }
        .task(id: part.endsMs) {
            let left = part.endsMs - SystemSurroundings().utcMs()
            guard left > 0 else { return }
            try? await Task.sleep(for: .milliseconds(left))
            if !Task.isCancelled { over += 1 }
        }
        .sensoryFeedback(.success, trigger: over)
    }
}
