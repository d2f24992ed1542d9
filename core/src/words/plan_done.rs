//! Was the plan done and did it work, in sentences.
//!
//! The rule: what was done is counted, what changed is the comparison's word; a
//! change is not called the plan's doing. Start at [`done`], [`effects`].

use super::number::{count, day, percent, times_a_week};
use crate::lesson::{Brief, DrillDone, Effect, EffectVerdict, PlanDone};
use crate::model::Purpose;

/// The aim with its days.
pub fn aim(plan: &PlanDone) -> String {
    let until = plan.until.map_or_else(String::new, |until| format!(" to {}", day(until)));
    format!("{}: from {}{until}.", plan.aim, day(plan.from))
}

/// What was done of what was asked for.
pub fn done(plan: &PlanDone) -> String {
    let (done, asked) = plan.times();
    if plan.drills.is_empty() {
        return "The plan has no drills.".into();
    }
    if asked == 0 {
        return "Nothing was asked for yet.".into();
    }
    let share = f64::from(done) / f64::from(asked);
    format!("Done: {done} of {} asked for so far ({}).", count(asked.into(), "time"), percent(share))
}

/// How much of a drill.
pub fn dose(drill: &DrillDone) -> String {
    format!("{} x {}, {}", drill.sets, drill.repetitions, times_a_week(drill.times_a_week))
}

/// What was done of a drill.
pub fn drill_done(drill: &DrillDone) -> String {
    format!(
        "{} of {}, {}",
        drill.done_times,
        count(drill.asked_times.into(), "time"),
        count(drill.done_repetitions.max(0) as u64, "repetition")
    )
}

/// What each purpose of the plan has come to, one sentence each, and what that is worth.
pub fn effects(brief: &Brief, plan: &PlanDone) -> Vec<String> {
    let mut all: Vec<String> = plan.effects.iter().map(|effect| said(brief, *effect)).collect();
    let shown = |effect: &Effect| {
        matches!(effect.verdict, EffectVerdict::Better { .. } | EffectVerdict::Worse { .. })
    };
    let (done, asked) = plan.times();
    if plan.effects.iter().any(shown) {
        all.push("That is since the baseline; it doesn't prove that the plan made it.".into());
    } else if 2 * done < asked && !plan.effects.is_empty() {
        all.push("Less than half was done, so this says little about the plan.".into());
    }
    all
}

/// What a purpose is about, and the words for better and worse.
pub(super) const fn thing(purpose: Purpose) -> (&'static str, &'static str, &'static str) {
    match purpose {
        Purpose::ContactBias => {
            ("Middle of the strikes", "nearer to the target point", "farther from the target point")
        }
        Purpose::ContactScatter => ("Scatter of the strikes", "tighter", "wider"),
        Purpose::Speed => ("Head speed", "", ""),
        Purpose::Face => ("Face", "", ""),
        Purpose::Feel => ("Feel", "better", "worse"),
    }
}

fn said(brief: &Brief, effect: Effect) -> String {
    let (what, better, worse) = thing(effect.purpose);
    let rests = match (&brief.changed, effect.purpose) {
        (_, Purpose::Feel) => format!(" ({} with guess and mark)", count(brief.feel.pairs.into(), "ball")),
        (Some(changed), _) => format!(
            " ({} in {} since the baseline)",
            count(changed.comparison.later_balls.into(), "ball"),
            count(changed.comparison.later_sessions.into(), "session")
        ),
        (None, _) => String::new(),
    };
    match effect.verdict {
        EffectVerdict::Better { first_called_at } => {
            format!("{what}: {better}, first sure after session {first_called_at}{rests}.")
        }
        EffectVerdict::Worse { first_called_at } => {
            format!("{what}: {worse}, first sure after session {first_called_at}{rests}.")
        }
        EffectVerdict::NotShown => format!("{what}: no change shown{rests}."),
        EffectVerdict::AskFirst => {
            format!("{what}: not to be judged before what else differs is asked{rests}.")
        }
        EffectVerdict::TooEarly => format!("{what}: too early to judge{rests}."),
        EffectVerdict::NotFollowed => {
            format!("{what}: compare the means then and now below; nothing is called from them.")
        }
    }
}
