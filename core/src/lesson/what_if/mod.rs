//! What would this student's drives be if one thing changed? Fixes ranked by what
//! the student cares about, and how sure that is.
//!
//! The rule: every fix is judged on the same drives (`drives`), by the full
//! impact and flight; an interval says how far the swing itself may be off
//! ([`StudentModel`]), not how good the physics is: between makes of ball alone
//! carry differs by up to [`CARRY_MODEL_SPREAD_M`](crate::flight::trajectory::CARRY_MODEL_SPREAD_M)
//! either way, which differences hardly feel. Combinations are not ranked against
//! single fixes. Start at [`what_if`].

pub(crate) mod drives;
mod fixes;
mod judge;
pub(crate) mod quick;
#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::indexing_slicing)]
mod tests;

use serde::Serialize;

pub use fixes::{
    ATTACK_FOR_A_TEE_MM_DEG, Change, FixName, SPEED_FOR_AN_INCH_MPS, STRIKE_FOR_A_TEE_MM,
    SWING_WEIGHT_FOR_AN_INCH, Sizes, TIGHTER_FOR_AN_INCH, What,
};

use super::chance::{Chance, stratified};
use super::shortfall::{self, Shortfall};
use super::student_model::{StudentModel, Swing};
use crate::flight::FlightError;
use crate::flight::inverse::Setting;
use crate::flight::law::AirLaw;
use drives::{Moved, Outcome, Sums, fly, points};
use fixes::{combinations, fixes};
use judge::Judged;
use quick::{Fitting, Quick};

/// What the student cares about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Care {
    /// Carry: a metre counts one.
    Distance,
    /// Fairways: one in a hundred counts one.
    Fairways,
    /// Both together: a metre of carry counts as much as one fairway in a hundred.
    #[default]
    Both,
}

impl Care {
    /// What gains count for: carry in m, fairways as a fraction.
    pub fn score(self, carry_gain_m: f64, fairway_gain: f64) -> f64 {
        let points = 100.0 * fairway_gain;
        match self {
            Self::Distance => carry_gain_m,
            Self::Fairways => points,
            Self::Both => carry_gain_m + points,
        }
    }
}

/// On which side trouble lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Edge {
    /// On the left.
    Left,
    /// On the right.
    Right,
    /// On both sides.
    #[default]
    Both,
}

/// Where a drive must not come down.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Trouble {
    /// On which side.
    pub edge: Edge,
    /// How far from the target line it begins, m.
    pub beyond_m: f64,
}

/// What is asked.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Want {
    /// Width of the fairway, the target line in its middle, m.
    pub fairway_m: f64,
    /// Where trouble begins.
    pub trouble: Trouble,
    /// What ranks the fixes.
    pub care: Care,
    /// What a student could reach before the next lesson.
    pub sizes: Sizes,
    /// Where the strike should be, mm toward toe and crown.
    pub target_mm: [f64; 2],
    /// Drives of each swing.
    pub drives: usize,
}

/// Drives of each swing where nobody says how many.
pub const DRIVES: usize = 20_000;
/// Most drives of each swing that may be asked for.
pub const MOST_DRIVES: usize = 1_000_000;
/// Swings that the student's may be, for the intervals.
const MIGHT_BE: usize = 160;
/// Drives of each of these.
const QUICK_DRIVES: usize = 500;
/// Drives of each scenario that the quick stand-in is fitted to.
const FITTED: usize = 192;
/// Seed of the swings that the student's may be: the same everywhere.
const SEED: u64 = 0x00C4_A1CF_ACE0_0006;

impl Default for Want {
    /// A fairway of 30 m with trouble beyond 30 m on both sides (assumed).
    fn default() -> Self {
        let settings = crate::face::Settings::default();
        Self {
            fairway_m: 30.0,
            trouble: Trouble { edge: Edge::Both, beyond_m: 30.0 },
            care: Care::default(),
            sizes: Sizes::default(),
            target_mm: [settings.target_toe_mm, settings.target_high_mm],
            drives: DRIVES,
        }
    }
}

/// A figure with its 90 % interval: how far the swing may be off.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Ranged {
    /// Best guess.
    pub estimate: f64,
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

impl Ranged {
    /// With the chance of so many drives in it, told as a variance.
    fn wider(self, variance: f64) -> Self {
        let half = |reach: f64| (reach * reach + Z_90 * Z_90 * variance).sqrt();
        let Self { estimate, low, high } = self;
        Self { estimate, low: estimate - half(estimate - low), high: estimate + half(high - estimate) }
    }
}

/// Half of a 90 % interval in standard errors, for a normal figure.
const Z_90: f64 = 1.644_853_626_951_472;

/// Today's drives.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Today {
    /// Mean carry, m.
    pub carry_m: Ranged,
    /// Standard deviation across the target line, m.
    pub spread_m: Ranged,
    /// Share that comes down on the fairway.
    pub fairway_rate: Ranged,
    /// Share beyond the trouble line.
    pub trouble_rate: Ranged,
}

/// What a fix would change.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Gain {
    /// What is changed, in full.
    pub change: Vec<Change>,
    /// Mean carry gained, m.
    pub carry_gain_m: Ranged,
    /// Change of the standard deviation across the target line, m.
    pub spread_change_m: Ranged,
    /// Fairways gained, as a fraction of all drives.
    pub fairway_gain: Ranged,
    /// Change of the share beyond the trouble line.
    pub trouble_change: Ranged,
    /// What it counts for.
    pub score: f64,
}

/// One fix.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Fix {
    /// Which.
    pub name: FixName,
    /// What it would change.
    #[serde(flatten)]
    pub gain: Gain,
    /// How likely it counts for most of all fixes, given what is not known of the swing.
    pub best_chance: f64,
    /// Its place, from 1.
    pub rank: u32,
}

/// Two fixes together.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Combination {
    /// Which.
    pub names: Vec<FixName>,
    /// What they would change together.
    #[serde(flatten)]
    pub gain: Gain,
}

/// The answer.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WhatIf {
    /// The swing that it rests on.
    pub model: StudentModel,
    /// What was asked.
    pub want: Want,
    /// Today's drives.
    pub today: Today,
    /// What is lost to contact, speed and face.
    pub shortfall: Shortfall,
    /// Fixes by rank.
    pub fixes: Vec<Fix>,
    /// Fixes together, in the order of [`FixName`]s; not ranked.
    pub combinations: Vec<Combination>,
    /// Where some of today's drives come down, carry and right of the target line in m.
    #[serde(skip)]
    pub landings: Vec<[f64; 2]>,
}

/// How many landings are kept for a drawing.
const LANDINGS: usize = 300;

/// The student's drives today, what they lose, and what each fix would change.
///
/// # Errors
/// [`FlightError::OutOfRange`] for a fairway, trouble line or size that is none.
pub fn what_if<L: AirLaw>(
    model: &StudentModel,
    setting: &Setting<L>,
    want: &Want,
) -> Result<WhatIf, FlightError> {
    want.check()?;
    let swing = model.swing().ok_or(FlightError::NoFit)?;
    let singles = fixes(model, want.target_mm, &want.sizes);
    let pairs = combinations(&singles);
    let plans: Vec<Moved> =
        std::iter::once(Moved::NOT).chain(singles.iter().chain(&pairs).map(|plan| plan.moved)).collect();
    let moves = all_moves(&plans, &swing, want);

    let mut fitting = Fitting::about(&swing);
    let mut landings = Vec::with_capacity(LANDINGS);
    let all = points(want.drives);
    // Fixes are compared on all drives, what is only shown beside them on a fifth.
    let fewer = all.get(..(want.drives / 5).max(2_000).min(want.drives)).unwrap_or_default();
    // What is taken from fewer drives is compared with today's first so many.
    let mut base_of_fewer = Outcome::default();
    let mut todays = Vec::with_capacity(want.drives);
    let full: Vec<Outcome> = moves
        .iter()
        .enumerate()
        .map(|(scenario, moved)| {
            let points = if scenario <= singles.len() { &all } else { fewer };
            let (mut sums, mut told, mut flown) = (Sums::default(), 0, 0);
            fly(setting, &swing, moved, points, |drive, landing| {
                let sides = sums.add(landing, todays.get(flown).copied(), want);
                if scenario == 0 {
                    todays.push(sides);
                }
                flown += 1;
                if scenario == 0 && flown == fewer.len() {
                    base_of_fewer = sums.outcome();
                }
                if let Some(landing) = landing.filter(|_| told < FITTED) {
                    fitting.add(drive, landing);
                    told += 1;
                }
                if let Some(landing) = landing.filter(|_| scenario == 0 && landings.len() < LANDINGS) {
                    landings.push(landing);
                }
            });
            sums.outcome()
        })
        .collect();
    let quick = fitting.fitted().ok_or(FlightError::NoFit)?;
    let might_be = might_be(model, &quick, &plans, want);
    let central = quick_outcomes(&swing, &quick, &moves, &points(QUICK_DRIVES), want);

    let judged =
        Judged { full: &full, central: &central, might_be: &might_be, base_of_fewer, singles: singles.len() };
    let ranked = judged.ranked(&singles, want.care);
    let combined = pairs.iter().enumerate().map(|(i, plan)| Combination {
        names: plan.names.clone(),
        gain: judged.gain(1 + singles.len() + i, plan, want.care),
    });
    let first = 1 + singles.len() + pairs.len();
    Ok(WhatIf {
        today: judged.today(),
        shortfall: judged.shortfall(first),
        fixes: ranked,
        combinations: combined.collect(),
        landings,
        model: model.clone(),
        want: *want,
    })
}

impl Want {
    fn check(&self) -> Result<(), FlightError> {
        use crate::flight::error::asked as limits;
        limits("fairway width", "m", 1.0, 200.0, "fairways are 20 to 50 m wide").check(self.fairway_m)?;
        limits("distance of the trouble line", "m", 1.0, 200.0, "beyond it a drive is lost anyway")
            .check(self.trouble.beyond_m)?;
        let s = &self.sizes;
        let factor = "an SD is multiplied by it: 1 is no change";
        limits("size of centring", "mm", 0.0, 40.0, "a face is 60 mm from its centre to the toe")
            .check(s.centre_mm)?;
        limits("size of tightening", "", 0.05, 1.0, factor).check(s.tighten)?;
        limits("size of gripping down", "in", 0.0, 3.0, "a grip is 10 in long").check(s.grip_down_in)?;
        limits("size of the speed gain", "m/s", 0.0, 10.0, "programmes of months gain 4 %")
            .check(s.head_speed_mps)?;
        limits("size of the steadier face", "", 0.05, 1.0, factor).check(s.face_to_path)?;
        limits("size of squaring", "deg", 0.0, 20.0, "beyond any mean face").check(s.square_deg)?;
        limits("size of the tee's change", "mm", 0.0, 40.0, "a ball is 43 mm high").check(s.tee_mm)?;
        limits("number of drives", "", 100.0, MOST_DRIVES as f64, "fewer say nothing, more only take longer")
            .check(self.drives as f64)
    }
}

/// Today, the plans, which say what they move, and what is right of a swing, which
/// depends on the swing.
fn all_moves(plans: &[Moved], swing: &Swing, want: &Want) -> Vec<Moved> {
    plans.iter().copied().chain(shortfall::parts(swing, want.target_mm)).collect()
}

/// Every scenario for every swing that the student's may be.
fn might_be(model: &StudentModel, quick: &Quick, plans: &[Moved], want: &Want) -> Vec<Vec<Outcome>> {
    let points = points(QUICK_DRIVES);
    stratified(MIGHT_BE, &mut Chance::new(SEED))
        .iter()
        .filter_map(|chances| model.draw(chances))
        .map(|swing| quick_outcomes(&swing, quick, &all_moves(plans, &swing, want), &points, want))
        .collect()
}

fn quick_outcomes(
    swing: &Swing,
    quick: &Quick,
    moves: &[Moved],
    points: &[[f64; 7]],
    want: &Want,
) -> Vec<Outcome> {
    let mut sums = vec![Sums::default(); moves.len()];
    for z in points {
        let off = swing.factor.times(z);
        for (sums, moved) in sums.iter_mut().zip(moves) {
            sums.add_soft(quick.landing(&moved.drive(&swing.mean, &off)), want);
        }
    }
    sums.iter().map(Sums::outcome).collect()
}
