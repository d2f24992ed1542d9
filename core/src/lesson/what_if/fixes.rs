//! The fixes that a coach can choose from, each of one size that a student could
//! reach before the next lesson.
//!
//! The rule: a fix is told in full as changes of means and standard deviations, so
//! that anyone can work out what it is worth. Sizes are assumptions of common
//! practice, without a source, and the coach's to set. Start at [`fixes`].

use serde::Serialize;

use super::drives::Moved;
use crate::flight::seen::DELIVERY_NUMBERS as N;
use crate::lesson::student_model::{QUANTITIES, StudentModel};

/// What a student could reach before the next lesson.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Sizes {
    /// How far the middle of the strikes comes toward the target point at most, mm.
    pub centre_mm: f64,
    /// What the strikes' spread is multiplied by.
    pub tighten: f64,
    /// How far the club is gripped down, in.
    pub grip_down_in: f64,
    /// Head speed gained, m/s.
    pub head_speed_mps: f64,
    /// What the spreads of face and path are multiplied by, and so that of face to path.
    pub face_to_path: f64,
    /// How far the mean face turns toward square at most, deg.
    pub square_deg: f64,
    /// How much higher or lower the ball is teed, mm.
    pub tee_mm: f64,
}

impl Default for Sizes {
    fn default() -> Self {
        Self {
            centre_mm: 8.0,
            tighten: 0.8,
            grip_down_in: 0.5,
            head_speed_mps: 1.0,
            face_to_path: 0.8,
            square_deg: 1.5,
            tee_mm: 5.0,
        }
    }
}

/// Head speed lost for an inch of length, m/s: 0.45 m/s of ball speed (sources.md
/// S3, status L; skilled players) over the ball-speed ratio 1.46.
pub const SPEED_FOR_AN_INCH_MPS: f64 = 0.31;
/// What the strikes' spread loses for an inch of length, as a share: that it does is
/// common practice, no source; how much is assumed (S7).
pub const TIGHTER_FOR_AN_INCH: f64 = 0.10;
/// Swing-weight points lost for an inch of length (S6, status D).
pub const SWING_WEIGHT_FOR_AN_INCH: f64 = 4.6;
/// How far the strike moves up for a mm of tee (assumed; common practice has the direction).
pub const STRIKE_FOR_A_TEE_MM: f64 = 0.6;
/// How much the attack angle rises for a mm of tee, deg (assumed).
pub const ATTACK_FOR_A_TEE_MM_DEG: f64 = 0.1;

/// Which fix.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum FixName {
    /// The middle of the strikes toward the target point.
    CentreStrike,
    /// Strikes closer together.
    TightenStrike,
    /// The club gripped down.
    GripDown,
    /// More head speed.
    AddSpeed,
    /// Face and path that vary less, and so face to path.
    SteadyFaceToPath,
    /// The mean face toward square.
    SquareFace,
    /// The ball teed higher.
    TeeHigher,
    /// The ball teed lower.
    TeeLower,
}

/// Mean or standard deviation.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum What {
    /// The mean moves by `to - from`.
    Mean,
    /// The standard deviation is multiplied by `to / from`.
    Sd,
}

/// One mean or standard deviation, from what to what.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Change {
    /// Of which number: one of [`QUANTITIES`].
    pub quantity: &'static str,
    /// Mean or standard deviation.
    pub what: What,
    /// Today's.
    pub from: f64,
    /// What it becomes.
    pub to: f64,
}

/// A fix and its changes.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Plan {
    pub names: Vec<FixName>,
    pub change: Vec<Change>,
    pub moved: Moved,
}

const SPEED: usize = 0;
const FACE: usize = 2;
const PATH: usize = 3;
const ATTACK: usize = 4;
const TOE: usize = 5;
const HIGH: usize = 6;

/// All fixes for a student whose strikes should be at `target_mm`, toward toe and crown.
pub(crate) fn fixes(model: &StudentModel, target_mm: [f64; 2], sizes: &Sizes) -> Vec<Plan> {
    let mean = |i: usize| model.mean.get(i).copied().unwrap_or(0.0);
    let off = [mean(TOE) - target_mm[0], mean(HIGH) - target_mm[1]];
    let far = (off[0] * off[0] + off[1] * off[1]).sqrt();
    let part = if far > 0.0 { (sizes.centre_mm / far).min(1.0) } else { 0.0 };
    let inches = sizes.grip_down_in;
    let turn = mean(FACE).abs().min(sizes.square_deg).copysign(mean(FACE));
    let (up, rise) = (sizes.tee_mm * STRIKE_FOR_A_TEE_MM, sizes.tee_mm * ATTACK_FOR_A_TEE_MM_DEG);
    [
        (FixName::CentreStrike, vec![(TOE, What::Mean, -part * off[0]), (HIGH, What::Mean, -part * off[1])]),
        (FixName::TightenStrike, vec![(TOE, What::Sd, sizes.tighten), (HIGH, What::Sd, sizes.tighten)]),
        (
            FixName::GripDown,
            vec![
                (SPEED, What::Mean, -SPEED_FOR_AN_INCH_MPS * inches),
                (TOE, What::Sd, 1.0 - TIGHTER_FOR_AN_INCH * inches),
                (HIGH, What::Sd, 1.0 - TIGHTER_FOR_AN_INCH * inches),
            ],
        ),
        (FixName::AddSpeed, vec![(SPEED, What::Mean, sizes.head_speed_mps)]),
        (
            FixName::SteadyFaceToPath,
            vec![(FACE, What::Sd, sizes.face_to_path), (PATH, What::Sd, sizes.face_to_path)],
        ),
        (FixName::SquareFace, vec![(FACE, What::Mean, -turn)]),
        (FixName::TeeHigher, vec![(HIGH, What::Mean, up), (ATTACK, What::Mean, rise)]),
        (FixName::TeeLower, vec![(HIGH, What::Mean, -up), (ATTACK, What::Mean, -rise)]),
    ]
    .into_iter()
    .map(|(name, by)| plan(name, &by, model))
    .collect()
}

fn plan(name: FixName, by: &[(usize, What, f64)], model: &StudentModel) -> Plan {
    let mut moved = Moved::NOT;
    let mut change = Vec::with_capacity(by.len());
    for (i, what, by) in by {
        let of = |list: &[f64; N]| list.get(*i).copied().unwrap_or(0.0);
        let (from, to) = match what {
            What::Mean => (of(&model.mean), of(&model.mean) + by),
            What::Sd => (of(&model.sd), of(&model.sd) * by),
        };
        // What is told is what is done, to the last digit.
        match what {
            What::Mean => moved.shift.iter_mut().skip(*i).take(1).for_each(|shift| *shift = to - from),
            What::Sd => moved.scale.iter_mut().skip(*i).take(1).for_each(|scale| *scale = to / from),
        }
        change.push(Change {
            quantity: QUANTITIES.get(*i).copied().unwrap_or_default(),
            what: *what,
            from,
            to,
        });
    }
    Plan { names: vec![name], change, moved }
}

/// Some fixes together: for students who would work on two things.
pub(crate) fn combinations(plans: &[Plan]) -> Vec<Plan> {
    const PAIRS: [[FixName; 2]; 4] = [
        [FixName::CentreStrike, FixName::TightenStrike],
        [FixName::CentreStrike, FixName::AddSpeed],
        [FixName::GripDown, FixName::SteadyFaceToPath],
        [FixName::SquareFace, FixName::SteadyFaceToPath],
    ];
    let named = |name: FixName| plans.iter().find(|plan| plan.names == [name]);
    PAIRS
        .into_iter()
        .filter_map(|[a, b]| {
            let (a, b) = (named(a)?, named(b)?);
            Some(Plan {
                names: [a, b].iter().flat_map(|plan| plan.names.clone()).collect(),
                change: [a, b].iter().flat_map(|plan| plan.change.clone()).collect(),
                moved: a.moved.then(&b.moved),
            })
        })
        .collect()
}
