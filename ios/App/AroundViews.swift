// What stands around the blocks: what happened, what is worked out, what is asked, the main places.
import ChalkfaceKit
import SwiftUI

/// What happened: an edge of its kind, its sign first, a cross to put it away. It covers nothing.
struct NoticesView: View {
    let notices: [Notice]
    @Environment(ScreenModel.self) private var model
    @Environment(\.looks) private var looks

    var body: some View {
        ForEach(notices, id: \.id) { notice in
            let edge = notice.problem ? looks.flag : looks.done
            HStack(spacing: 12) {
                Text(notice.problem ? "!" : "✓").running(.bold).foregroundStyle(edge).accessibilityHidden(true)
                Text(notice.text).running().line()
                Image(systemName: "xmark").running()
                    .push { model.tell(.dismiss(notice: notice.id)) }
                    .buttonStyle(Ground(side: 0))
                    .accessibilityLabel(shellWords.away)
            }
            .modifier(Bar(colour: edge, ground: looks.surface))
            .padding(.top, Looks.small)
        }
    }
}

/// What is being worked out, with a ring that turns; it stands still where less motion is asked for.
struct BusyView: View {
    let text: String
    @Environment(\.looks) private var looks
    @Environment(\.accessibilityReduceMotion) private var still
    @State private var turned = false

    var body: some View {
        HStack(spacing: 12) {
            Circle().trim(from: 0, to: 0.25).stroke(looks.press, lineWidth: 3)
                .background(Circle().stroke(looks.grid, lineWidth: 3))
                .frame(width: 18, height: 18)
                .rotationEffect(.degrees(turned && !still ? 360 : 0))
                .animation(still ? nil : .linear(duration: 1).repeatForever(autoreverses: false), value: turned)
                .onAppear { turned = true }
                .accessibilityHidden(true)
            Text(text).running().foregroundStyle(looks.muted).line()
        }
        .padding(.vertical, Looks.small)
    }
}

/// What the person is asked to do: a frame with the one thing to press, and "not now".
struct AskedView: View {
    let asked: [Effect]
    @Environment(ScreenModel.self) private var model
    @Environment(\.looks) private var looks

    var body: some View {
        ForEach(asked, id: \.id) { effect in
            VStack(alignment: .leading, spacing: Looks.small) {
                if !effect.name.isEmpty { Text(effect.name).running() }
                name(effect.does, .semibold).push { model.does(effect) }
                    .foregroundStyle(looks.onPress)
                    .buttonStyle(Ground(fill: looks.press))
                if !effect.copies.isEmpty { name(effect.copies, .medium).push { model.copies(effect) } }
                if !effect.did.isEmpty { name(effect.did, .medium).push { model.did(effect) } }
                name(effect.notNow, .medium).push { model.notNow(effect) }
            }
            .buttonStyle(Ground(edge: looks.line))
            .padding(12)
            .edged(looks.press)
            .padding(.top, 12)
        }
    }

    private func name(_ text: String, _ weight: Font.Weight) -> some View {
        Text(text).running(weight).frame(maxWidth: .infinity)
    }
}

/// The main places: a bar at the bottom, on wide screens at the top. Where one is: heavier, with a bar.
struct TabsView: View {
    let tabs: [ChalkfaceKit.Tab]
    let wide: Bool
    @Environment(ScreenModel.self) private var model
    @Environment(\.looks) private var looks

    var body: some View {
        if !tabs.isEmpty {
            HStack(spacing: 0) {
                ForEach(Array(tabs.enumerated()), id: \.element.key) { place in
                    tab(place.element, place.offset)
                }
            }
            .frame(maxWidth: .infinity, alignment: wide ? .leading : .center)
            .background(looks.paper)
            .overlay(alignment: wide ? .bottom : .top) {
                Rectangle().fill(wide ? looks.grid : looks.ink).frame(height: wide ? 1 : 2)
            }
            .accessibilityElement(children: .contain)
            .accessibilityLabel(shellWords.places)
        }
    }

    private func tab(_ tab: ChalkfaceKit.Tab, _ no: Int) -> some View {
        Text(tab.name).running(tab.here ? .bold : .regular).multilineTextAlignment(.center)
            .frame(maxWidth: wide ? nil : .infinity)
            .push { model.tell(.go(tab: tab.key)) }.buttonStyle(Ground(round: 0, high: 56, side: wide ? 24 : Looks.tiny))
            .overlay(alignment: wide ? .bottom : .top) {
                if tab.here { Rectangle().fill(looks.press).frame(height: 4) }
            }
            .keyboardShortcut(KeyEquivalent(Character("\((no + 1) % 10)")), modifiers: .command)
            .accessibilityAddTraits(tab.here ? .isSelected : [])
    }
}
