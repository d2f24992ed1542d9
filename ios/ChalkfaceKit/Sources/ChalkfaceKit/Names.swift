// The names under which an app knows what crosses from the core.
//
// The rule: an app imports ChalkfaceKit and not the bindings, because some of their names
// (`Scene`, `Group`) are names of SwiftUI too; here they have others.
import Chalkface

public typealias Drawing = Chalkface.Scene
public typealias DrawingGroup = Chalkface.Group
public typealias DrawingShape = Chalkface.Shape
public typealias DrawingShapeKind = Chalkface.ShapeKind
public typealias Stamp = Chalkface.Clock

public typealias Answered = Chalkface.Answered
public typealias Choosable = Chalkface.Choosable
public typealias Effect = Chalkface.Effect
public typealias EffectKind = Chalkface.EffectKind
public typealias Event = Chalkface.Event
public typealias Fault = Chalkface.Fault
public typealias Kind = Chalkface.Kind
public typealias Notice = Chalkface.Notice
public typealias Part = Chalkface.Part
public typealias Point = Chalkface.Point
public typealias Row = Chalkface.Row
public typealias RowsPage = Chalkface.RowsPage
public typealias Screen = Chalkface.Screen
public typealias Tab = Chalkface.Tab
public typealias Words = Chalkface.Words

/// The words that stand around a screen; they never change.
public let shellWords: Words = Chalkface.words()

/// What a clock shows that has so many seconds left.
public func wordsLeft(seconds: UInt32) -> String { Chalkface.clockLeft(seconds: seconds) }

/// Bytes of a file that is taken in, at most; one more is enough to be told that it is too large.
public let mostBytes = Int(Chalkface.mostFileBytes())
