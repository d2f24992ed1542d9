//! What to check on the tee today, by rules, each with the figures behind it.
//!
//! The rule: a check is only listed where a figure of this student asks for it.
//! What a lean or a spread may come from is common practice, no source. Start at
//! [`RULES`].

use serde::Serialize;

use super::brief::Brief;
use super::mix::Thing;
use super::what_if::FixName;
use crate::face::{Direction, Lean, Range, Verdict};

/// No more than so many checks: a lesson has an hour.
pub const MOST_CHECKS: usize = 5;
/// A mean face closer to square than this is not worth a check by itself, degrees (assumed).
const FACE_TOLERANCE_DEG: f64 = 1.0;
/// A finish that is held this often needs no check (assumed).
const HELD_MOSTLY: f64 = 0.8;

/// What to check.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum What {
    /// Whether club, ball and powder are those of the baseline.
    SameGear,
    /// Whether the ball is teed too low.
    TeeHigher,
    /// Whether the ball is teed too high.
    TeeLower,
    /// Whether the student stands too near the ball.
    StandFarther,
    /// Whether the student stands too far from the ball.
    StandNearer,
    /// Balance, and whether the finish is held.
    HoldFinish,
    /// A trial with the club gripped down.
    TryGripDown,
    /// Face and aim at address.
    FaceAtAddress,
    /// How face and path go together.
    FaceToPath,
    /// Powder the face and log where the strikes are.
    LogMarks,
    /// Read head speed.
    ReadHeadSpeed,
    /// Write down start and curve.
    ReadStartAndCurve,
    /// Guess the strike before looking.
    GuessFirst,
}

/// The figures that ask for a check.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "why", rename_all = "snake_case")]
pub enum Why {
    /// Other gear than at the baseline.
    OtherGear {
        /// What differs.
        things: Vec<Thing>,
    },
    /// The middle of the strikes is off.
    OffCentre {
        /// Which way, how far.
        lean: Lean,
        /// Marks it rests on.
        marks: u32,
    },
    /// Strikes are loose.
    Loose {
        /// Root mean square distance from the target point, mm.
        miss_mm: f64,
        /// Its 95 % range.
        range: Option<Range>,
        /// Marks it rests on.
        marks: u32,
    },
    /// The finish is lost.
    FinishLost {
        /// Finishes held.
        held: u32,
        /// Finishes watched.
        of: u32,
        /// 95 % range of the share held.
        share: (f64, f64),
    },
    /// The mean face is off square.
    FaceOff {
        /// Mean, degrees, right positive.
        face_deg: f64,
        /// Its standard error.
        sigma_deg: f64,
        /// How many exactly read balls it is worth.
        worth: f64,
    },
    /// Face to path varies, and steadying it is among the first fixes.
    FaceVaries {
        /// Standard deviation of the face, degrees.
        sd_deg: f64,
        /// Its standard error.
        sigma_deg: f64,
        /// How many exactly read balls it is worth.
        worth: f64,
    },
    /// Too little was read to say.
    NotRead {
        /// How many exactly read balls there are.
        worth: f64,
    },
    /// Too few guesses beside marks to know the student's feel.
    FeelUnknown {
        /// Balls with both.
        pairs: u32,
        /// How many more it takes.
        more: u32,
    },
}

/// One check.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Check {
    /// What to check.
    pub what: What,
    /// Why.
    #[serde(flatten)]
    pub why: Why,
}

type Rule = (What, fn(&Brief) -> Option<Why>);

/// The rules, the most pressing first.
pub const RULES: [Rule; 13] = [
    (What::SameGear, other_gear),
    (What::TeeHigher, |brief| off_centre(brief, Direction::Low)),
    (What::TeeLower, |brief| off_centre(brief, Direction::High)),
    (What::StandFarther, |brief| off_centre(brief, Direction::Heel)),
    (What::StandNearer, |brief| off_centre(brief, Direction::Toe)),
    (What::HoldFinish, finish),
    (What::FaceAtAddress, face_off),
    (What::FaceToPath, face_varies),
    (What::LogMarks, few_marks),
    (What::ReadHeadSpeed, |brief| not_read(brief, "head_speed_mps")),
    (What::ReadStartAndCurve, |brief| not_read(brief, "face_deg")),
    (What::TryGripDown, loose),
    (What::GuessFirst, feel_unknown),
];

/// What to check today.
pub(super) fn checks(brief: &Brief) -> Vec<Check> {
    RULES
        .iter()
        .filter_map(|(what, asks)| Some(Check { what: *what, why: asks(brief)? }))
        .take(MOST_CHECKS)
        .collect()
}

fn other_gear(brief: &Brief) -> Option<Why> {
    let things: Vec<Thing> = brief.changed.as_ref()?.asks.iter().map(|ask| ask.what).collect();
    (!things.is_empty()).then_some(Why::OtherGear { things })
}

/// The middle is off that way, and the pattern says so beyond chance.
fn off_centre(brief: &Brief, direction: Direction) -> Option<Why> {
    let pattern = &brief.latest()?.pattern;
    if !matches!(pattern.reading.verdict, Verdict::Biased | Verdict::BiasedAndScattered) {
        return None;
    }
    let lean = *pattern.reading.leans.iter().find(|lean| lean.direction == direction)?;
    Some(Why::OffCentre { lean, marks: pattern.count })
}

fn loose(brief: &Brief) -> Option<Why> {
    let pattern = &brief.latest()?.pattern;
    if !matches!(pattern.reading.verdict, Verdict::Scattered | Verdict::BiasedAndScattered) {
        return None;
    }
    let (miss_mm, range) = (pattern.rms_miss_mm?, pattern.intervals.rms_miss_mm);
    Some(Why::Loose { miss_mm, range, marks: pattern.count })
}

/// Loose strikes, and a finish that isn't mostly held, or that nobody watched.
fn finish(brief: &Brief) -> Option<Why> {
    let loose = loose(brief)?;
    let tally = &brief.latest()?.tally;
    match tally.finish_held {
        Some(share) if share.estimate >= HELD_MOSTLY => None,
        Some(share) => {
            let held = (share.estimate * f64::from(tally.finishes)).round() as u32;
            Some(Why::FinishLost { held, of: tally.finishes, share: (share.low, share.high) })
        }
        None => Some(loose),
    }
}

/// Mean, standard deviation and their errors of a number that balls stand behind.
fn number(brief: &Brief, quantity: &str) -> Option<([f64; 4], f64)> {
    let model = &brief.what_if.as_ref()?.found.model;
    let at = model.quantities.iter().position(|name| *name == quantity)?;
    let of = |list: &[f64]| list.get(at).copied();
    let numbers = [of(&model.mean)?, of(&model.mean_sigma)?, of(&model.sd)?, of(&model.sd_sigma)?];
    Some((numbers, of(&model.worth)?))
}

/// Whether a fix is among the first two and gains something.
fn among_first(brief: &Brief, name: FixName) -> bool {
    let first_two = brief.what_if.iter().flat_map(|worth| worth.found.fixes.iter().take(2));
    first_two.into_iter().any(|fix| fix.name == name && fix.gain.score > 0.0)
}

fn face_off(brief: &Brief) -> Option<Why> {
    /// Two-sided 90 %, normal.
    const Z: f64 = 1.645;
    let ([face_deg, sigma_deg, ..], worth) = number(brief, "face_deg")?;
    let much = face_deg.abs() >= FACE_TOLERANCE_DEG || among_first(brief, FixName::SquareFace);
    let off = worth >= 1.0 && much && face_deg.abs() > Z * sigma_deg;
    off.then_some(Why::FaceOff { face_deg, sigma_deg, worth })
}

fn face_varies(brief: &Brief) -> Option<Why> {
    let ([_, _, sd_deg, sigma_deg], worth) = number(brief, "face_deg")?;
    let asks = worth >= 1.0 && among_first(brief, FixName::SteadyFaceToPath);
    asks.then_some(Why::FaceVaries { sd_deg, sigma_deg, worth })
}

fn few_marks(brief: &Brief) -> Option<Why> {
    let marks = brief.latest().map_or(0, |span| span.pattern.count);
    (marks < crate::face::FEWEST_FOR_READING).then_some(Why::NotRead { worth: f64::from(marks) })
}

fn not_read(brief: &Brief, quantity: &str) -> Option<Why> {
    let worth = brief.what_if.as_ref()?.balls_behind(quantity);
    (worth < 1.0).then_some(Why::NotRead { worth })
}

fn feel_unknown(brief: &Brief) -> Option<Why> {
    let feel = &brief.feel;
    (!feel.own && brief.marked > 0).then_some(Why::FeelUnknown { pairs: feel.pairs, more: feel.more_pairs })
}
