// The app: one window, one model of the screen, and what the system says to it.
import ChalkfaceKit
import SwiftUI

@main struct ChalkfaceApp: App {
    @State private var life = Life()
    @Environment(\.scenePhase) private var phase

    var body: some Scene {
        WindowGroup {
            RootView(veiled: phase != .active)
                .environment(life.model)
                .onOpenURL { life.model.opened($0) }
        }
        .onChange(of: phase) { _, now in life.turned(now) }
    }
}
