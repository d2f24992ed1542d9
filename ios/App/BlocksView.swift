// The one renderer: a screen of the core, in one column or, where there is room, in two.
//
// The rule: a view lives as long as its part's key, and is drawn again only when that part changes.
import ChalkfaceKit
import SwiftUI

struct BlocksView: View {
    let screen: Screen
    @Binding var sun: Bool
    @Environment(ScreenModel.self) private var model
    @Environment(\.looks) private var looks

    var body: some View {
        GeometryReader { room in
            let wide = room.size.width >= Looks.wide
            let split = wide && !model.beside.isEmpty
            VStack(spacing: 0) {
                if wide { TabsView(tabs: screen.tabs, wide: true) }
                ScrollViewReader { scroll in
                    ScrollView {
                        VStack(alignment: .leading, spacing: 0) {
                            HeadView(screen: screen, sun: $sun).id("head")
                            NoticesView(notices: screen.notices)
                            if let busy = screen.busy { BusyView(text: busy) }
                            AskedView(asked: model.asked)
                            HStack(alignment: .top, spacing: 40) {
                                column(split ? model.main : model.all)
                                if split { column(model.beside) }
                            }
                        }
                        .frame(maxWidth: split ? 1152 : wide ? 704 : Looks.column)
                        .padding(.horizontal, Looks.gap)
                        .padding(.bottom, 2 * Looks.gap)
                        .frame(maxWidth: .infinity)
                    }
                    .scrollDismissesKeyboard(.interactively)
                    // What was told stands at the top, and so does what comes next.
                    .onChange(of: screen.place) { _, _ in scroll.scrollTo("head", anchor: .top) }
                    .onChange(of: screen.notices) { _, _ in scroll.scrollTo("head", anchor: .top) }
                }
                if !wide { TabsView(tabs: screen.tabs, wide: false) }
            }
        }
    }

    private func column(_ blocks: [BlockModel]) -> some View {
        VStack(alignment: .leading, spacing: Looks.small) {
            ForEach(blocks) { BlockView(block: $0) }
        }
        .line()
    }
}
