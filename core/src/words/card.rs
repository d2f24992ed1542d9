//! The brief in five lines, for one screen of a phone.
//!
//! The rule: no line says more than the page does; what is open stays open. Start
//! at [`lines`].

use super::number::{count, fixed, percent, signed};
use super::pattern::mm;
use super::plan_done::thing;
use super::what_if as say;
use super::worth::{carry, fairways, reading};
use crate::face::compare::{Change, Comparison};
use crate::lesson::changed::Verdict;
use crate::lesson::on_the_tee::What;
use crate::lesson::what_if::Ranged;
use crate::lesson::{Brief, Changed, Effect, EffectVerdict, Standing, Worth};
use crate::model::UnitSystem;

/// What a line is about; its key on the page.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum About {
    /// What changed.
    Changed,
    /// What is lost.
    Lost,
    /// The fix.
    Fix,
    /// The plan.
    Plan,
    /// What to check.
    Tee,
}

/// The lines, in the order in which a coach thinks; those with nothing to say are left out.
pub fn lines(brief: &Brief) -> Vec<(About, String)> {
    let mut all = vec![(About::Changed, changed(brief.changed.as_ref()))];
    if let Some(worth) = &brief.what_if {
        all.push((About::Lost, lost(worth, brief.units)));
        all.push((About::Fix, fix(worth, brief.units)));
    }
    all.push((About::Plan, plan(brief)));
    let checks: Vec<&str> = brief.check_today.iter().take(3).map(|check| tee(check.what)).collect();
    if !checks.is_empty() {
        all.push((About::Tee, format!("On the tee: {}.", checks.join(", "))));
    }
    all
}

/// What changed.
fn changed(changed: Option<&Changed>) -> String {
    let Some(changed) = changed else { return "Change: no strike marks yet.".into() };
    let c = &changed.comparison;
    let rests =
        format!("{} in {}", count(c.later_balls.into(), "ball"), count(c.later_sessions.into(), "session"));
    match changed.verdict {
        Verdict::NothingToCompare => "Change: nothing to compare yet.".into(),
        Verdict::TooEarly => format!("Change: too early to call ({rests})."),
        Verdict::TooLate => format!("Change: the baseline is too far back to call any ({rests})."),
        Verdict::AskFirst => "Change: ask first, as club, ball or powder differ.".into(),
        Verdict::NotShown => format!("Change: none shown ({rests})."),
        Verdict::Changed => format!("Real change: {} ({rests}).", first_called(c)),
    }
}

/// The change that was called first.
fn first_called(c: &Comparison) -> String {
    let range = |change: &Change, scale: f64, turned: bool| match (change.low, change.high) {
        (Some(low), Some(high)) => {
            let (low, high) = if turned { (-high, -low) } else { (low, high) };
            format!(", {} to {}", fixed(scale * low, 0), fixed(scale * high, 0)).replace('-', "−")
        }
        _ => String::new(),
    };
    let moved = |change: &Change, plus: &str, minus: &str| {
        let value = change.estimate.unwrap_or(0.0);
        let way = if value < 0.0 { minus } else { plus };
        format!("middle {} {way}{}", mm(value), range(change, 1.0, value < 0.0))
    };
    let scatter = |change: &Change| {
        let value = change.estimate.unwrap_or(1.0);
        let how = if value < 1.0 { "tighter" } else { "wider" };
        format!("pattern {} {how}", percent((1.0 - value).abs()))
    };
    let centre = |change: &Change| {
        let value = change.estimate.unwrap_or(0.0);
        let how = if value < 0.0 { "fewer" } else { "more" };
        format!("{} in 100 {how} centred", fixed(100.0 * value.abs(), 0))
    };
    let all = [
        (c.bias.toe.first_called_at, moved(&c.bias.toe, "to the toe", "to the heel")),
        (c.bias.high_axis.first_called_at, moved(&c.bias.high_axis, "higher", "lower")),
        (c.scatter.first_called_at, scatter(&c.scatter)),
        (c.centre_rate.first_called_at, centre(&c.centre_rate)),
    ];
    all.into_iter()
        .filter_map(|(at, said)| Some((at?, said)))
        .min_by_key(|(at, _)| *at)
        .map_or_else(String::new, |(_, said)| said)
}

/// What is lost.
fn lost(worth: &Worth, units: UnitSystem) -> String {
    let (carry, fairways) = (carry(worth, units), fairways(worth));
    let part = |loss: &super::worth::Loss<'_>, whole: String| {
        let [(first, _), ..] = loss.by_size();
        if loss.scale * loss.parts.whole.estimate < loss.little {
            whole
        } else {
            format!("{whole}, most to {first}")
        }
    };
    let whole = |loss: &super::worth::Loss<'_>, unit: &str| {
        let Ranged { estimate, low, high } = loss.parts.whole;
        let of = |value: f64| fixed(loss.scale * value, 0).replace('-', "−");
        format!("{}{unit} ({} to {})", of(estimate), of(low), of(high))
    };
    format!(
        "Lost: {}; {}.",
        part(&carry, whole(&carry, &carry.unit)),
        part(&fairways, whole(&fairways, " fairways in 100"))
    )
}

/// The fix.
fn fix(worth: &Worth, units: UnitSystem) -> String {
    let Some(first) = worth.found.fixes.first() else { return String::new() };
    let (value, unit) = units.distance(first.gain.carry_gain_m.estimate);
    let gain = format!(
        "{} {unit}, {} fairways in 100",
        signed(value, 1),
        signed(100.0 * first.gain.fairway_gain.estimate, 0)
    );
    let name = say::fix(first.name).to_lowercase();
    match worth.standing {
        Standing::Clear => format!("Worth most: {name} ({gain}; first in {}).", percent(first.best_chance)),
        Standing::Close => {
            let second = worth.found.fixes.get(1).map_or("", |fix| say::fix(fix.name)).to_lowercase();
            format!("Worth most: open between {name} ({gain}) and {second}.")
        }
        Standing::Assumed => match worth.read_next.first() {
            Some(next) => format!("Worth most: not known. First {}.", reading(next)),
            None => "Worth most: not known yet.".into(),
        },
        Standing::FewBalls => format!("Worth most: too few balls to say ({}).", worth.found.model.balls),
        Standing::Nothing => "Worth most: none of the fixes gains now.".into(),
    }
}

/// The plan.
fn plan(brief: &Brief) -> String {
    let Some(plan) = &brief.plan else { return "Plan: none was set.".into() };
    let (done, asked) = plan.times();
    let verdict = |effect: &Effect| {
        let (what, better, worse) = thing(effect.purpose);
        let how = match effect.verdict {
            EffectVerdict::Better { .. } => better,
            EffectVerdict::Worse { .. } => worse,
            EffectVerdict::NotShown => "no change shown",
            EffectVerdict::AskFirst => "ask first",
            EffectVerdict::TooEarly => "too early",
            EffectVerdict::NotFollowed => return None,
        };
        Some(format!("{}: {how}", what.to_lowercase().replace(" of the strikes", "")))
    };
    let effects: Vec<String> = plan.effects.iter().filter_map(verdict).collect();
    let so = if effects.is_empty() { String::new() } else { format!("; {}", effects.join(", ")) };
    format!("Plan: {done} of {asked} times done{so}.")
}

/// A check in a few words.
const fn tee(what: What) -> &'static str {
    match what {
        What::SameGear => "same gear?",
        What::TeeHigher => "tee higher",
        What::TeeLower => "tee lower",
        What::StandFarther => "too near the ball?",
        What::StandNearer => "too far from the ball?",
        What::HoldFinish => "held finish",
        What::TryGripDown => "gripped-down trial",
        What::FaceAtAddress => "face at address",
        What::FaceToPath => "face to path",
        What::LogMarks => "log marks",
        What::ReadHeadSpeed => "read head speed",
        What::ReadStartAndCurve => "start and curve",
        What::GuessFirst => "guess before looking",
    }
}
