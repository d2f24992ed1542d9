//! Sentences of the day's drills, and of one while it is being done.
//!
//! Start at [`now`] and [`going`].

use super::number::{count, counted, day};
use crate::model::{Dose, Moment};
use crate::plan::{Going, Today, TodayDrill};

/// A day that the plan is not for.
pub const OUTSIDE: &str = "The plan has not begun yet, or has ended: ask for the next one.";

/// What to do now of one drill.
pub fn now(item: &TodayDrill) -> String {
    let done = match item.sets_done {
        0 => String::new(),
        sets => format!(", {} done", counted(sets as u64, "set is", "sets are")),
    };
    let sets = count(item.sets_left as u64, "set");
    let rest = rest(item.rest_s);
    let rest = if item.sets_left == 1 {
        format!("then {rest} of rest")
    } else {
        format!("{rest} of rest after each")
    };
    match (item.left_in_set, item.sets_left) {
        (0, 0) => {}
        (0, _) => return format!("{sets} of {}, {rest}{done}", item.repetitions),
        (left, 0) => return format!("{left} more of this set{done}"),
        (left, _) => {
            return format!("{left} more of this set, then {sets} of {}, {rest}{done}", item.repetitions);
        }
    }
    let asked = item.drill.dose.map_or(0, Dose::times_a_week);
    match item.held_today.first() {
        Some(why) => format!("not today: {}{done}", super::plan::held(*why)),
        None if item.drill.dose.is_none() => "not now".to_owned() + &done,
        None if item.times_this_week >= asked => format!("enough for these seven days{done}"),
        None if item.sets_done > 0 => format!("done for today: {}", count(item.sets_done as u64, "set")),
        None => "not in these days".into(),
    }
}

fn rest(seconds: i64) -> String {
    if seconds % 60 == 0 { count((seconds / 60) as u64, "minute") } else { format!("{seconds} seconds") }
}

/// What holds of speed work today.
pub fn speed(today: &Today) -> Option<String> {
    let again = today
        .speed_again_on
        .map(|on| format!("Today is a day of rest from speed work; it goes on from {}.", day(on)));
    again.or_else(|| {
        let any = today.drills.iter().any(|item| item.drill.effort == crate::model::Effort::FullSpeed);
        any.then(|| {
            format!(
                "Full-speed swings today: {} made, {} left.",
                today.efforts_done,
                if today.efforts_left == 0 { "none".into() } else { today.efforts_left.to_string() }
            )
        })
    })
}

/// Where the student is in a drill, a line each.
pub fn going(item: &TodayDrill, going: &Going, at: Moment) -> Vec<String> {
    let mut lines = Vec::new();
    let set = item.sets_done + 1;
    if going.at.in_set.get() > 0 {
        lines.push(format!("Under way: {} of {} in set {set}.", going.at.in_set.get(), item.repetitions));
    } else if item.repetitions_left() > 0 {
        lines.push(format!("Under way: set {set} is next."));
    }
    if let Some((good, tries)) = going.good {
        lines.push(format!("Good: {good} of {tries}."));
    }
    if going.at.balls.get() > 0 {
        lines.push(format!("{} logged.", count(going.at.balls.get() as u64, "ball")));
    }
    lines.extend(going.at.rest_until_ms.map(|until| resting(until - at.utc_ms)));
    lines
}

/// What is left of a rest; a clock that was set back can't make it longer than anybody rests.
fn resting(left_ms: i64) -> String {
    match (left_ms + 999).div_euclid(1000) {
        ..=0 => "The rest is over.".into(),
        left => format!("Rest for {} more.", rest(left)),
    }
}

/// Marks the steps with what was counted at each, and the one that is next.
pub fn mark_steps(steps: &mut [String], going: &Going) {
    for (n, step) in steps.iter_mut().enumerate() {
        let is = |no: u8| usize::from(no) == n + 1;
        let counted =
            going.at.at_step.iter().find(|(no, _)| is(no.get())).map_or(0, |(_, count)| count.get());
        let said = match (counted, is(going.at.step.get())) {
            (0, false) => continue,
            (0, true) => "next".to_owned(),
            (some, false) => format!("{some} counted"),
            (some, true) => format!("{some} counted, next"),
        };
        *step = format!("{step} ({said})");
    }
}
