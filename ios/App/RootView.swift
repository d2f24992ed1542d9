// The window: its colours, what must be read before anything else, and the screen.
import ChalkfaceKit
import SwiftUI
import UIKit

struct RootView: View {
    /// The system is about to keep a picture of the window.
    let veiled: Bool
    @Environment(ScreenModel.self) private var model
    @Environment(\.colorScheme) private var scheme
    @Environment(\.colorSchemeContrast) private var contrast
    @AppStorage("sun") private var sun = false

    private var looks: Looks {
        Looks(palette: sun || contrast == .increased ? .sun : scheme == .dark ? .dark : .light)
    }

    var body: some View {
        ZStack {
            looks.paper.ignoresSafeArea()
            if let words = model.words {
                WordsView(words: veiled ? "" : words) { model.wordsWritten() }
            } else if let screen = model.screen {
                BlocksView(screen: screen, sun: $sun)
            }
        }
        .foregroundStyle(looks.ink)
        .tint(looks.press)
        .environment(\.looks, looks)
        // The system adds its own way to put it away.
        .alert(
            model.trouble ?? "",
            isPresented: Binding(get: { model.trouble != nil }, set: { if !$0 { model.trouble = nil } })
        ) {}
        .onChange(of: model.screen?.says) { _, says in
            if let says, !says.isEmpty { UIAccessibility.post(notification: .announcement, argument: says) }
        }
        .onChange(of: model.screen?.waits) { _, on in
            UIApplication.shared.isIdleTimerDisabled = on ?? false
            if model.screen?.rests == true { RestAlarm.ask() }
        }
    }
}

/// Words that must be on paper before anything else.
private struct WordsView: View {
    let words: String
    let written: @MainActor () -> Void
    @Environment(\.looks) private var looks

    var body: some View {
        ScrollView {
            VStack(alignment: .leading, spacing: Looks.gap) {
                Text(words).running().privacySensitive().line()
                Text(shellWords.writtenDown).running(.semibold).frame(maxWidth: .infinity).push(written)
                    .foregroundStyle(looks.onPress)
                    .buttonStyle(Ground(fill: looks.press))
            }
            .frame(maxWidth: Looks.column)
            .padding(Looks.gap)
        }
    }
}
