// From the start of the process to its end: what happens on leaving and on coming back, and files
// that other programs open with this one.
import ChalkfaceKit
import SwiftUI
import UIKit

@MainActor final class Life {
    let model: ScreenModel
    private let alarm = RestAlarm()
    private let home: Home
    private var left = false

    init() {
        home = Home(in: FileManager.default.urls(for: .applicationSupportDirectory, in: .userDomainMask)[0])
        let host = CoreHost(
            book: home.book, place: home.place, keeper: Keychain(), grace: BackgroundTime(application: .shared))
        model = ScreenModel(host: host, doer: PhoneEffects())
        do { try home.prepare() } catch { model.trouble = error.localizedDescription }
        model.start()
    }

    func turned(_ phase: ScenePhase) {
        switch phase {
        case .active:
            alarm.cancel()
            if left { model.tell(.wake) }
            left = false
        case .inactive: model.flush()
        case .background:
            left = true
            model.flush()
            if let screen = model.screen { alarm.set(screen) }
            let time = UIApplication.shared.beginBackgroundTask(withName: "copy")
            Task { [model, home] in
                await model.toldAll()
                try? await model.host.snapshot(to: home.copy)
                UIApplication.shared.endBackgroundTask(time)
            }
        @unknown default: break
        }
    }
}

/// Time to finish a write when the app has just been left.
struct BackgroundTime: Grace {
    let application: UIApplication

    func during<Result>(_ write: () -> Result) -> Result {
        let time = application.beginBackgroundTask(withName: "write")
        defer { application.endBackgroundTask(time) }
        return write()
    }
}
