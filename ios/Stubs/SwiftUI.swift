// Not SwiftUI: the few names of it that the app uses, declared so that the app's own sources can be
// type-checked where there is no SwiftUI. Nothing here does anything, and nothing is linked.
//
// The rule: a declaration has the shape that Apple's documentation gives it; where the real one
// is more general, this one may be narrower, never wider.
@_exported import Foundation
@_exported import Observation

// Views and what builds them.

@MainActor @preconcurrency public protocol View {
    associatedtype Body: View
    @ViewBuilder var body: Body { get }
}

extension Never: View { public var body: Never { fatalError() } }

public protocol Leaf: View where Body == Never {}
extension Leaf { public var body: Never { fatalError() } }

public struct EmptyView: Leaf { public nonisolated init() {} }
public struct TupleView<each Part: View>: Leaf { init(_ part: repeat each Part) {} }
public struct EitherView<First: View, Second: View>: Leaf {}
extension Optional: View where Wrapped: View { public var body: Never { fatalError() } }

@MainActor @resultBuilder public struct ViewBuilder {
    public static func buildExpression<Content: View>(_ content: Content) -> Content { content }
    public static func buildBlock() -> EmptyView { EmptyView() }
    public static func buildBlock<Content: View>(_ content: Content) -> Content { content }
    public static func buildBlock<each Content: View>(_ content: repeat each Content) -> TupleView<repeat each Content> {
        TupleView(repeat each content)
    }
    public static func buildIf<Content: View>(_ content: Content?) -> Content? { content }
    public static func buildEither<First: View, Second: View>(first: First) -> EitherView<First, Second> { EitherView() }
    public static func buildEither<First: View, Second: View>(second: Second) -> EitherView<First, Second> { EitherView() }
}

@MainActor public protocol ViewModifier {
    associatedtype Body: View
    typealias Content = ModifierContent<Self>
    @ViewBuilder func body(content: Content) -> Body
}
public struct ModifierContent<Of>: Leaf {}

// The app.

@MainActor public protocol Scene {
    associatedtype Body: Scene
    var body: Body { get }
}
extension Never: Scene {}
@MainActor public protocol App {
    associatedtype Body: Scene
    var body: Body { get }
    init()
}
extension App { public static func main() {} }
public struct WindowGroup<Content: View>: Scene {
    public init(@ViewBuilder content: () -> Content) {}
    public var body: Never { fatalError() }
}
extension Scene {
    public func onChange<Value: Equatable>(of value: Value, _ action: @escaping (Value, Value) -> Void) -> some Scene { self }
}
public enum ScenePhase: Comparable, Sendable { case background, inactive, active }

// State.

@propertyWrapper @MainActor public struct State<Value> {
    public init(wrappedValue: Value) { self.wrappedValue = wrappedValue }
    public var wrappedValue: Value { get { fatalError() } nonmutating set {} }
}
extension State where Value: ExpressibleByNilLiteral { public init() { self.init(wrappedValue: nil) } }
@propertyWrapper @MainActor public struct Binding<Value> {
    public init(get: @escaping () -> Value, set: @escaping (Value) -> Void) {}
    public var wrappedValue: Value { get { fatalError() } nonmutating set {} }
    public var projectedValue: Binding<Value> { self }
}
@propertyWrapper @MainActor public struct AppStorage<Value> {
    public init(wrappedValue: Value, _ key: String) where Value == Bool {}
    public var wrappedValue: Value { get { fatalError() } nonmutating set {} }
    public var projectedValue: Binding<Value> { fatalError() }
}
@propertyWrapper @MainActor public struct FocusState<Value: Hashable> {
    public init() where Value == Bool {}
    public var wrappedValue: Value { get { fatalError() } nonmutating set {} }
    public var projectedValue: Binding { Binding() }
    public struct Binding {}
}
@propertyWrapper @MainActor public struct GestureState<Value> {
    public init() where Value: ExpressibleByNilLiteral {}
    public var wrappedValue: Value { fatalError() }
    public var projectedValue: GestureState<Value> { self }
}
@propertyWrapper @MainActor public struct ScaledMetric<Value: BinaryFloatingPoint> {
    public init(wrappedValue: Value, relativeTo style: Font.TextStyle) {}
    public var wrappedValue: Value { fatalError() }
}
@propertyWrapper @MainActor public struct Environment<Value> {
    public init(_ path: KeyPath<EnvironmentValues, Value>) {}
    public init(_ type: Value.Type) where Value: AnyObject & Observable {}
    public var wrappedValue: Value { fatalError() }
}
public protocol EnvironmentKey {
    associatedtype Value
    static var defaultValue: Value { get }
}
public struct EnvironmentValues {
    public subscript<Key: EnvironmentKey>(key: Key.Type) -> Key.Value { get { fatalError() } set {} }
    public var scenePhase: ScenePhase { fatalError() }
    public var colorScheme: ColorScheme { fatalError() }
    public var colorSchemeContrast: ColorSchemeContrast { fatalError() }
    public var accessibilityReduceMotion: Bool { fatalError() }
    public var accessibilityVoiceOverEnabled: Bool { fatalError() }
    public var layoutDirection: LayoutDirection { get { fatalError() } set {} }
}
public enum ColorScheme: Sendable { case light, dark }
public enum ColorSchemeContrast: Sendable { case standard, increased }
public enum LayoutDirection: Sendable { case leftToRight, rightToLeft }

// Shapes and colours.

public protocol ShapeStyle: Sendable {}
extension Color: Leaf {}
public struct Color: ShapeStyle, Hashable {
    public init(red: Double, green: Double, blue: Double) {}
    public static var clear: Color { fatalError() }
    public func opacity(_ of: Double) -> Color { self }
}
extension ShapeStyle where Self == Color { public static var clear: Color { fatalError() } }
public struct StrokeStyle: Sendable {
    public init(
        lineWidth: CGFloat = 1, lineCap: CGLineCap = .butt, lineJoin: CGLineJoin = .miter, miterLimit: CGFloat = 10,
        dash: [CGFloat] = [], dashPhase: CGFloat = 0
    ) {}
}
public enum CGLineCap: Sendable { case butt, round, square }
public enum CGLineJoin: Sendable { case miter, round, bevel }
public protocol Shape: View, Sendable {}
extension Shape {
    public func fill<S: ShapeStyle>(_ style: S) -> some View { self }
    public func stroke<S: ShapeStyle>(_ style: S, lineWidth: CGFloat) -> some View { self }
    public func trim(from: CGFloat, to: CGFloat) -> some Shape { self }
}
public protocol InsettableShape: Shape {}
extension InsettableShape {
    public func strokeBorder<S: ShapeStyle>(_ content: S, style: StrokeStyle) -> some View { self }
}
public struct Rectangle: InsettableShape, Leaf { public nonisolated init() {} }
public struct Circle: InsettableShape, Leaf { public nonisolated init() {} }
public struct Capsule: InsettableShape, Leaf { public nonisolated init() {} }
public struct RoundedRectangle: InsettableShape, Leaf { public nonisolated init(cornerRadius: CGFloat) {} }
public struct Path: Sendable {
    public init() {}
    public init(ellipseIn: CGRect) {}
    public mutating func move(to: CGPoint) {}
    public mutating func addLine(to: CGPoint) {}
    public mutating func addCurve(to: CGPoint, control1: CGPoint, control2: CGPoint) {}
    public mutating func addRect(_ rect: CGRect) {}
    public mutating func addRoundedRect(in rect: CGRect, cornerSize: CGSize) {}
    public mutating func addEllipse(in rect: CGRect) {}
    public mutating func closeSubpath() {}
}
extension Path: Shape, Leaf {}
public struct UnitPoint: Hashable, Sendable {
    public static let top = UnitPoint(), topLeading = UnitPoint(), topTrailing = UnitPoint()
}
public struct Angle: Sendable { public static func degrees(_ of: Double) -> Angle { Angle() } }

// Leaves.

public struct Text: Leaf {
    public nonisolated init<S: StringProtocol>(_ content: S) {}
    public nonisolated func bold() -> Text { self }
    public nonisolated func underline() -> Text { self }
    public nonisolated func font(_ font: Font?) -> Text { self }
    public nonisolated func foregroundColor(_ colour: Color?) -> Text { self }
    public nonisolated static func + (one: Text, other: Text) -> Text { one }
}
public struct Image: Leaf { public init(systemName: String) {} }
public struct Spacer: Leaf { public init() {} }
public struct Font: Hashable, Sendable {
    public enum Weight: Sendable { case regular, medium, semibold, bold }
    public enum TextStyle: Sendable { case body }
    public static func system(size: CGFloat, weight: Weight? = nil) -> Font { Font() }
    public static func custom(_ name: String, fixedSize: CGFloat) -> Font { Font() }
}
public struct Button<Label: View>: Leaf {
    public init(role: ButtonRole? = nil, action: @escaping @MainActor () -> Void, @ViewBuilder label: () -> Label) {}
    public init(action: @escaping @MainActor () -> Void, @ViewBuilder label: () -> Label) {}
}
extension Button where Label == Text {
    public init<S: StringProtocol>(_ title: S, role: ButtonRole? = nil, action: @escaping @MainActor () -> Void) {}
}
public struct ButtonRole: Sendable { public static let destructive = ButtonRole(), cancel = ButtonRole() }
@MainActor public protocol ButtonStyle {
    associatedtype Body: View
    typealias Configuration = ButtonStyleConfiguration
    @ViewBuilder func makeBody(configuration: Configuration) -> Body
}
public struct ButtonStyleConfiguration {
    public struct Label: Leaf {}
    public var label: Label { fatalError() }
    public var isPressed: Bool { fatalError() }
}
public struct TextField: Leaf {
    public init<S: StringProtocol>(_ title: S, text: Binding<String>, axis: Axis) {}
}
public struct Slider<Label: View>: Leaf {
    public init(
        value: Binding<Double>, in bounds: ClosedRange<Double>, step: Double, @ViewBuilder label: () -> Label,
        onEditingChanged: @escaping (Bool) -> Void = { _ in }
    ) {}
}

// What holds others.

public enum HorizontalAlignment: Sendable { case leading, center, trailing }
public enum VerticalAlignment: Sendable { case top, center, bottom, firstTextBaseline }
public struct Alignment: Sendable {
    public static let leading = Alignment(), trailing = Alignment(), center = Alignment(), top = Alignment(), bottom = Alignment()
    public static let topLeading = Alignment()
}
public enum TextAlignment: Sendable { case leading, center, trailing }
public enum Axis: Sendable {
    case horizontal, vertical
    public struct Set: OptionSet, Sendable {
        public let rawValue: Int8
        public init(rawValue: Int8) { self.rawValue = rawValue }
        public static let horizontal = Set(rawValue: 1), vertical = Set(rawValue: 2)
    }
}
public struct Edge {
    public struct Set: OptionSet, Sendable {
        public let rawValue: Int8
        public init(rawValue: Int8) { self.rawValue = rawValue }
        public static let top = Set(rawValue: 1), leading = Set(rawValue: 2), bottom = Set(rawValue: 4), trailing = Set(rawValue: 8)
        public static let horizontal: Set = [.leading, .trailing], vertical: Set = [.top, .bottom], all: Set = [.horizontal, .vertical]
    }
}
public struct VStack<Content: View>: Leaf {
    public init(alignment: HorizontalAlignment = .center, spacing: CGFloat? = nil, @ViewBuilder content: () -> Content) {}
}
public struct LazyVStack<Content: View>: Leaf {
    public init(alignment: HorizontalAlignment = .center, spacing: CGFloat? = nil, @ViewBuilder content: () -> Content) {}
}
public struct HStack<Content: View>: Leaf {
    public init(alignment: VerticalAlignment = .center, spacing: CGFloat? = nil, @ViewBuilder content: () -> Content) {}
}
public struct ZStack<Content: View>: Leaf { public init(@ViewBuilder content: () -> Content) {} }
public struct Grid<Content: View>: Leaf {
    public init(
        alignment: Alignment = .center, horizontalSpacing: CGFloat? = nil, verticalSpacing: CGFloat? = nil,
        @ViewBuilder content: () -> Content
    ) {}
}
public struct GridRow<Content: View>: Leaf { public init(@ViewBuilder content: () -> Content) {} }
public struct ScrollView<Content: View>: Leaf {
    public init(_ axes: Axis.Set = .vertical, @ViewBuilder content: () -> Content) {}
}
public struct ScrollViewReader<Content: View>: Leaf {
    public init(@ViewBuilder content: @escaping (ScrollViewProxy) -> Content) {}
}
@MainActor public struct ScrollViewProxy { public func scrollTo<ID: Hashable>(_ id: ID, anchor: UnitPoint? = nil) {} }
public struct GeometryReader<Content: View>: Leaf {
    public init(@ViewBuilder content: @escaping (GeometryProxy) -> Content) {}
}
public struct GeometryProxy { public var size: CGSize { fatalError() } }
public struct ForEach<Data: RandomAccessCollection, ID: Hashable, Content: View>: Leaf {
    public init(_ data: Data, id: KeyPath<Data.Element, ID>, @ViewBuilder content: @escaping (Data.Element) -> Content) {}
}
extension ForEach where Data.Element: Identifiable, ID == Data.Element.ID {
    public init(_ data: Data, @ViewBuilder content: @escaping (Data.Element) -> Content) {}
}
public struct TimelineView<Schedule, Content: View>: Leaf {
    public struct Context {}
    public init(_ schedule: Schedule, @ViewBuilder content: @escaping (Context) -> Content) where Schedule == PeriodicTimelineSchedule {}
}
public struct PeriodicTimelineSchedule: Sendable {
    public static func periodic(from: Date, by: TimeInterval) -> PeriodicTimelineSchedule { PeriodicTimelineSchedule() }
}

// Layouts of one's own.

public struct ProposedViewSize: Sendable {
    public var width: CGFloat?, height: CGFloat?
    public init(width: CGFloat?, height: CGFloat?) {}
}
public struct LayoutSubview {
    public func sizeThatFits(_ proposal: ProposedViewSize) -> CGSize { fatalError() }
    public func place(at: CGPoint, anchor: UnitPoint = .topLeading, proposal: ProposedViewSize) {}
}
public struct LayoutSubviews: RandomAccessCollection {
    public var startIndex: Int { 0 }
    public var endIndex: Int { 0 }
    public subscript(index: Int) -> LayoutSubview { fatalError() }
}
public protocol Layout: Sendable {
    typealias Subviews = LayoutSubviews
    associatedtype Cache = Void
    func sizeThatFits(proposal: ProposedViewSize, subviews: Subviews, cache: inout Cache) -> CGSize
    func placeSubviews(in bounds: CGRect, proposal: ProposedViewSize, subviews: Subviews, cache: inout Cache)
}
extension Layout {
    @MainActor public func callAsFunction<Content: View>(@ViewBuilder _ content: () -> Content) -> some View { content() }
}

// Drawing.

public struct Canvas: Leaf { public init(renderer: @escaping (inout GraphicsContext, CGSize) -> Void) {} }
public struct GraphicsContext {
    public struct Shading: Sendable { public static func color(_ colour: Color) -> Shading { Shading() } }
    public struct ResolvedText {
        public func measure(in size: CGSize) -> CGSize { fatalError() }
        public func firstBaseline(in size: CGSize) -> CGFloat { fatalError() }
    }
    public func fill(_ path: Path, with: Shading) {}
    public func stroke(_ path: Path, with: Shading, style: StrokeStyle) {}
    public func resolve(_ text: Text) -> ResolvedText { fatalError() }
    public func draw(_ text: ResolvedText, at: CGPoint, anchor: UnitPoint = .topLeading) {}
    public func draw(_ image: Image, in rect: CGRect) {}
    public mutating func scaleBy(x: CGFloat, y: CGFloat) {}
    public mutating func translateBy(x: CGFloat, y: CGFloat) {}
    public mutating func rotate(by: Angle) {}
    public mutating func clip(to: Path) {}
}

// Gestures and keys.

@MainActor public protocol Gesture { associatedtype Value }
public struct DragGesture: Gesture {
    public struct Value { public var location, startLocation: CGPoint; public var translation: CGSize }
    public init(minimumDistance: CGFloat = 10) {}
}
public struct AnyStep<Value>: Gesture {}
extension Gesture {
    public func onChanged(_ action: @escaping (Value) -> Void) -> AnyStep<Value> { AnyStep() }
    public func onEnded(_ action: @escaping (Value) -> Void) -> AnyStep<Value> { AnyStep() }
    public func updating<Held>(
        _ state: GestureState<Held>, body: @escaping (Value, inout Held, inout Transaction) -> Void
    ) -> AnyStep<Value> { AnyStep() }
}
public struct Transaction {}
public enum GestureMask: Sendable { case none, all }
public struct KeyEquivalent: Sendable, ExpressibleByExtendedGraphemeClusterLiteral {
    public init(_ character: Character) {}
    public init(extendedGraphemeClusterLiteral: Character) {}
}
public struct EventModifiers: Sendable { public static let command = EventModifiers() }
public struct KeyboardShortcut: Sendable { public static let cancelAction = KeyboardShortcut() }
public struct AccessibilityTraits: SetAlgebra, Sendable {
    public static let isHeader = Self(), isSelected = Self(), isToggle = Self()
    public init() {}
    public func contains(_ member: Self) -> Bool { false }
    public func union(_ other: Self) -> Self { self }
    public func intersection(_ other: Self) -> Self { self }
    public func symmetricDifference(_ other: Self) -> Self { self }
    public mutating func insert(_ member: Self) -> (inserted: Bool, memberAfterInsert: Self) { (true, self) }
    public mutating func remove(_ member: Self) -> Self? { nil }
    public mutating func update(with member: Self) -> Self? { nil }
    public mutating func formUnion(_ other: Self) {}
    public mutating func formIntersection(_ other: Self) {}
    public mutating func formSymmetricDifference(_ other: Self) {}
}
public struct AccessibilityChildBehavior: Sendable { public static let contain = Self(), combine = Self() }
public enum ContentMode: Sendable { case fit, fill }
public struct SubmitLabel: Sendable { public static let done = Self(), search = Self(), `return` = Self() }
public struct ScrollDismissesKeyboardMode: Sendable { public static let interactively = Self() }
public struct SensoryFeedback: Sendable { public static let success = Self() }
public struct Animation: Sendable {
    public static func linear(duration: TimeInterval) -> Animation { Animation() }
    public func repeatForever(autoreverses: Bool = true) -> Animation { self }
}

// What is said of a view.

extension View {
    public func modifier<M: ViewModifier>(_ modifier: M) -> some View { self }
    public func environment<Value>(_ path: WritableKeyPath<EnvironmentValues, Value>, _ value: Value) -> some View { self }
    public func environment<Of: AnyObject & Observable>(_ object: Of?) -> some View { self }
    public func font(_ font: Font?) -> some View { self }
    public func monospacedDigit() -> some View { self }
    public func italic(_ on: Bool = true) -> some View { self }
    public func underline(_ on: Bool = true) -> some View { self }
    public func multilineTextAlignment(_ at: TextAlignment) -> some View { self }
    public func minimumScaleFactor(_ least: CGFloat) -> some View { self }
    public func lineLimit(_ most: Int?) -> some View { self }
    public func lineLimit(_ of: ClosedRange<Int>) -> some View { self }
    public func privacySensitive(_ on: Bool = true) -> some View { self }
    public func foregroundStyle<S: ShapeStyle>(_ style: S) -> some View { self }
    public func tint(_ colour: Color?) -> some View { self }
    public func background<S: ShapeStyle>(_ style: S) -> some View { self }
    public func background<V: View>(_ view: V, alignment: Alignment = .center) -> some View { self }
    public func overlay<V: View>(_ view: V, alignment: Alignment = .center) -> some View { self }
    public func overlay<V: View>(alignment: Alignment = .center, @ViewBuilder content: () -> V) -> some View { self }
    public func padding(_ edges: Edge.Set = .all, _ length: CGFloat? = nil) -> some View { self }
    public func padding(_ length: CGFloat) -> some View { self }
    public func frame(width: CGFloat? = nil, height: CGFloat? = nil, alignment: Alignment = .center) -> some View { self }
    public func frame(
        minWidth: CGFloat? = nil, idealWidth: CGFloat? = nil, maxWidth: CGFloat? = nil, minHeight: CGFloat? = nil,
        idealHeight: CGFloat? = nil, maxHeight: CGFloat? = nil, alignment: Alignment = .center
    ) -> some View { self }
    public func aspectRatio(_ ratio: CGFloat?, contentMode: ContentMode) -> some View { self }
    public func position(x: CGFloat, y: CGFloat) -> some View { self }
    public func position(_ at: CGPoint) -> some View { self }
    public func ignoresSafeArea() -> some View { self }
    public func clipped() -> some View { self }
    public func contentShape<S: Shape>(_ shape: S) -> some View { self }
    public func allowsHitTesting(_ on: Bool) -> some View { self }
    public func rotationEffect(_ by: Angle) -> some View { self }
    public func animation<Value: Equatable>(_ animation: Animation?, value: Value) -> some View { self }
    public func id<ID: Hashable>(_ id: ID) -> some View { self }
    public func buttonStyle<S: ButtonStyle>(_ style: S) -> some View { self }
    public func gesture<G: Gesture>(_ gesture: G, including mask: GestureMask = .all) -> some View { self }
    public func onAppear(perform: (() -> Void)? = nil) -> some View { self }
    public func onOpenURL(perform: @escaping (URL) -> Void) -> some View { self }
    public func onSubmit(_ action: @escaping () -> Void) -> some View { self }
    public func onChange<Value: Equatable>(
        of value: Value, initial: Bool = false, _ action: @escaping (Value, Value) -> Void
    ) -> some View { self }
    public func task<ID: Equatable>(id: ID, @_inheritActorContext _ action: sending @escaping @isolated(any) () async -> Void) -> some View { self }
    public func sensoryFeedback<Trigger: Equatable>(_ feedback: SensoryFeedback, trigger: Trigger) -> some View { self }
    public func focused(_ condition: FocusState<Bool>.Binding) -> some View { self }
    public func submitLabel(_ label: SubmitLabel) -> some View { self }
    public func autocorrectionDisabled(_ on: Bool = true) -> some View { self }
    public func scrollDismissesKeyboard(_ mode: ScrollDismissesKeyboardMode) -> some View { self }
    public func keyboardShortcut(_ key: KeyEquivalent, modifiers: EventModifiers = .command) -> some View { self }
    public func keyboardShortcut(_ shortcut: KeyboardShortcut) -> some View { self }
    public func alert<S: StringProtocol, Actions: View>(
        _ title: S, isPresented: Binding<Bool>, @ViewBuilder actions: () -> Actions
    ) -> some View { self }
    public func accessibilityLabel<S: StringProtocol>(_ label: S) -> some View { self }
    public func accessibilityValue<S: StringProtocol>(_ value: S) -> some View { self }
    public func accessibilityHint<S: StringProtocol>(_ hint: S) -> some View { self }
    public func accessibilityHidden(_ on: Bool) -> some View { self }
    public func accessibilityAddTraits(_ traits: AccessibilityTraits) -> some View { self }
    public func accessibilityElement(children: AccessibilityChildBehavior) -> some View { self }
    public func accessibilityChildren<V: View>(@ViewBuilder children: () -> V) -> some View { self }
    public func accessibilityActions<V: View>(@ViewBuilder _ content: () -> V) -> some View { self }
}
