//! The columns of a log: what each is called, in which units it may stand,
//! and what range its values have.
//!
//! To add a column: add it here, then in `rows` where its cells are taken.
//! A name is the field's [`name`](Field::name), then `_` and a unit where it
//! has units.

use crate::model::check::Range;
use crate::model::quantity::{
    Attack, Backspin, BallSpeed, Carry, Curve, DynamicLoft, FaceAngle, HeadSpeed, High, Launch, MarkSigma,
    Path, Side, Sidespin, Start, Toe,
};
use crate::model::units::Unit;

/// A figure that may be read of one shot: a field of
/// [`Readings`](crate::model::Readings).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[allow(missing_docs, reason = "each is documented by the quantity of the same name")]
pub enum Measured {
    HeadSpeed,
    BallSpeed,
    Launch,
    Start,
    Backspin,
    Sidespin,
    Carry,
    Side,
    Path,
    FaceAngle,
    Attack,
    DynamicLoft,
    Curve,
}

impl Measured {
    /// All of them.
    pub const ALL: [Self; 13] = [
        Self::HeadSpeed,
        Self::BallSpeed,
        Self::Launch,
        Self::Start,
        Self::Backspin,
        Self::Sidespin,
        Self::Carry,
        Self::Side,
        Self::Path,
        Self::FaceAngle,
        Self::Attack,
        Self::DynamicLoft,
        Self::Curve,
    ];

    /// Its name in a header, without the unit.
    pub fn name(self) -> &'static str {
        match self {
            Self::HeadSpeed => "head_speed",
            Self::BallSpeed => "ball_speed",
            Self::Launch => "launch",
            Self::Start => "start",
            Self::Backspin => "backspin",
            Self::Sidespin => "sidespin",
            Self::Carry => "carry",
            Self::Side => "side",
            Self::Path => "path",
            Self::FaceAngle => "face",
            Self::Attack => "attack",
            Self::DynamicLoft => "loft",
            Self::Curve => "curve",
        }
    }

    fn units(self) -> &'static [Unit] {
        match self {
            Self::HeadSpeed | Self::BallSpeed => &[Unit::Mps, Unit::Mph, Unit::Kph],
            Self::Carry | Self::Side | Self::Curve => &[Unit::M, Unit::Yd, Unit::Ft],
            Self::Backspin | Self::Sidespin => &[Unit::Rpm],
            _ => &[Unit::Deg],
        }
    }

    fn range(self) -> &'static Range {
        match self {
            Self::HeadSpeed => &HeadSpeed::RANGE,
            Self::BallSpeed => &BallSpeed::RANGE,
            Self::Launch => &Launch::RANGE,
            Self::Start => &Start::RANGE,
            Self::Backspin => &Backspin::RANGE,
            Self::Sidespin => &Sidespin::RANGE,
            Self::Carry => &Carry::RANGE,
            Self::Side => &Side::RANGE,
            Self::Path => &Path::RANGE,
            Self::FaceAngle => &FaceAngle::RANGE,
            Self::Attack => &Attack::RANGE,
            Self::DynamicLoft => &DynamicLoft::RANGE,
            Self::Curve => &Curve::RANGE,
        }
    }
}

/// What a column says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Field {
    /// The session's label.
    Session,
    /// The local day, `YYYY-MM-DD`.
    Day,
    /// Lesson, range or course.
    Place,
    /// The kind of ball.
    Ball,
    /// What the player calls the club.
    Club,
    /// Whether the face was powdered.
    Powder,
    /// How the strike mark was read.
    Read,
    /// Strike toward the toe.
    Toe,
    /// Strike toward the crown.
    High,
    /// Standard error of the strike mark along each axis.
    MarkSigma,
    /// The same for the axis toward the toe; must equal the other one's.
    ToeSigma,
    /// The same for the axis toward the crown; must equal the other one's.
    HighSigma,
    /// Where the ball started, in words by eye.
    StartByEye,
    /// How it curved, in words by eye.
    CurveByEye,
    /// Where the player felt the strike before looking: toward the toe.
    GuessToe,
    /// The same toward the crown.
    GuessHigh,
    /// The ball's number in the student's trial.
    TrialBall,
    /// Whether the finish was held.
    FinishHeld,
    /// A figure that was read.
    Reading(Measured),
    /// That figure's own standard error.
    SigmaOf(Measured),
}

impl Field {
    const OWN: [Self; 18] = [
        Self::Session,
        Self::Day,
        Self::Place,
        Self::Ball,
        Self::Club,
        Self::Powder,
        Self::Read,
        Self::Toe,
        Self::High,
        Self::MarkSigma,
        Self::ToeSigma,
        Self::HighSigma,
        Self::GuessToe,
        Self::GuessHigh,
        Self::TrialBall,
        Self::StartByEye,
        Self::CurveByEye,
        Self::FinishHeld,
    ];

    /// Every field.
    pub fn all() -> impl Iterator<Item = Self> {
        Self::OWN
            .into_iter()
            .chain(Measured::ALL.into_iter().map(Self::Reading))
            .chain(Measured::ALL.into_iter().map(Self::SigmaOf))
    }

    /// Its name in a header, without the unit.
    pub fn name(self) -> String {
        match self {
            Self::Session => "session",
            Self::Day => "day",
            Self::Place => "place",
            Self::Ball => "ball",
            Self::Club => "club",
            Self::Powder => "powder",
            Self::Read => "read",
            Self::Toe => "toe",
            Self::High => "high",
            Self::MarkSigma => "sigma",
            Self::ToeSigma => "sigma_toe",
            Self::HighSigma => "sigma_high",
            Self::GuessToe => "guess_toe",
            Self::GuessHigh => "guess_high",
            Self::TrialBall => "trial_ball",
            Self::StartByEye => "start",
            Self::CurveByEye => "curve",
            Self::FinishHeld => "finish_held",
            Self::Reading(measured) => measured.name(),
            Self::SigmaOf(measured) => return format!("sigma_{}", measured.name()),
        }
        .to_owned()
    }

    /// The units its name may end in; none for words and labels.
    pub fn units(self) -> &'static [Unit] {
        match self {
            Self::Toe
            | Self::High
            | Self::GuessToe
            | Self::GuessHigh
            | Self::MarkSigma
            | Self::ToeSigma
            | Self::HighSigma => &[Unit::Mm, Unit::In],
            Self::Reading(measured) | Self::SigmaOf(measured) => measured.units(),
            _ => &[],
        }
    }

    /// The full names that a column of it may have, the unit the core holds first.
    pub fn accepted(self) -> Vec<String> {
        let name = self.name();
        if self.units().is_empty() {
            return vec![name];
        }
        self.units().iter().map(|unit| format!("{name}_{}", unit_name(*unit))).collect()
    }

    /// The field whose standard error this one gives, where it gives one: its
    /// unit holds where the error's own name has none.
    pub(super) fn error_of(self) -> Option<Self> {
        match self {
            Self::SigmaOf(measured) => Some(Self::Reading(measured)),
            Self::ToeSigma => Some(Self::Toe),
            Self::HighSigma => Some(Self::High),
            _ => None,
        }
    }

    /// The fields without which a column of this one says nothing.
    pub(super) fn needs(self) -> Vec<Self> {
        match self {
            Self::Toe => vec![Self::High],
            Self::High | Self::MarkSigma => vec![Self::Toe],
            Self::ToeSigma => vec![Self::Toe, Self::HighSigma],
            Self::HighSigma => vec![Self::High, Self::ToeSigma],
            Self::GuessToe => vec![Self::GuessHigh],
            Self::GuessHigh => vec![Self::GuessToe],
            Self::SigmaOf(measured) => vec![Self::Reading(measured)],
            _ => vec![],
        }
    }

    /// The range of its values, in the unit that the core holds.
    pub(super) fn range(self) -> Option<&'static Range> {
        match self {
            Self::Toe | Self::GuessToe => Some(&Toe::RANGE),
            Self::High | Self::GuessHigh => Some(&High::RANGE),
            Self::MarkSigma | Self::ToeSigma | Self::HighSigma => Some(&MarkSigma::RANGE),
            Self::Reading(measured) => Some(measured.range()),
            _ => None,
        }
    }

    /// About how large its values are, in the unit that the core holds: only
    /// to guess the unit of values that are out of range.
    pub(super) fn typical(self) -> f64 {
        match self {
            Self::Reading(Measured::HeadSpeed) => 42.0,
            Self::Reading(Measured::BallSpeed) => 60.0,
            Self::Reading(Measured::Carry) => 190.0,
            Self::Reading(Measured::Side | Measured::Curve) => 15.0,
            Self::Toe | Self::High | Self::GuessToe | Self::GuessHigh => 8.0,
            _ => 2.0,
        }
    }
}

/// A unit's name at the end of a column's name.
pub(super) fn unit_name(unit: Unit) -> &'static str {
    Unit::ALL.iter().find(|(_, u)| *u == unit).map_or("", |(name, _)| name)
}

/// A unit in words, for a sentence.
pub(super) fn unit_words(unit: Unit) -> &'static str {
    match unit {
        Unit::Mps => "metres a second",
        Unit::Mph => "miles an hour",
        Unit::Kph => "kilometres an hour",
        Unit::M => "metres",
        Unit::Yd => "yards",
        Unit::Ft => "feet",
        Unit::Mm => "millimetres",
        Unit::In => "inches",
        Unit::Deg => "degrees",
        Unit::Rpm => "turns a minute",
    }
}
