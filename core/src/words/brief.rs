//! The brief's sentences and table cells.

use super::number::{count, counted, day, days, distance, fixed, percent, speed};
use crate::face::{Range, Share};
use crate::lesson::{Brief, Choice, DrillConflict, Figure, Mean, Span, Tally, Unknown};
use crate::model::UnitSystem;

/// The line under the title: who, how much, since when.
pub fn subtitle(brief: &Brief) -> String {
    let mut parts = vec![format!("{}-handed", brief.hand.word())];
    match (brief.since, brief.last) {
        (Some(since), Some(last)) => {
            let balls = count(brief.balls.into(), "ball");
            let sessions = count(brief.sessions.into(), "session");
            let when = if since == last {
                format!("on {}", day(since))
            } else {
                format!("from {} to {}", day(since), day(last))
            };
            parts.push(format!("{balls} in {sessions} {when}"));
        }
        _ => parts.push("no balls logged yet".into()),
    }
    parts.push(format!("read on {}", day(brief.as_of)));
    if !brief.coaches.is_empty() {
        parts.push(format!("with {}", brief.coaches.join(", ")));
    }
    parts.join(" · ")
}

/// What the pattern rests on, and what is left out of it.
pub fn rests_on(brief: &Brief) -> String {
    let has = if brief.balls == 1 { "has" } else { "have" };
    let mut text = format!("{} of {} {has} a strike mark.", brief.marked, count(brief.balls.into(), "ball"));
    if brief.felt > 0 {
        let were = if brief.felt == 1 { "was" } else { "were" };
        text += &format!(" {} more {were} only felt, and left out.", brief.felt);
    }
    if brief.off_face > 0 {
        let lie = if brief.off_face == 1 { "lies" } else { "lie" };
        text += &format!(
            " {} {lie} beyond the face: kept in the pattern, left out of flight.",
            count(brief.off_face.into(), "mark")
        );
    }
    text
}

/// What marks are judged by.
pub fn judged_by(brief: &Brief) -> String {
    let s = &brief.settings;
    let place = |value: f64, plus: &str, minus: &str| {
        (value != 0.0).then(|| {
            format!("{} mm toward the {}", fixed(value.abs(), 0), if value > 0.0 { plus } else { minus })
        })
    };
    let parts: Vec<String> =
        [place(s.target_high_mm, "crown", "sole"), place(s.target_toe_mm, "toe", "heel")]
            .into_iter()
            .flatten()
            .collect();
    let at = if parts.is_empty() {
        "at the face centre".into()
    } else {
        format!("{} from the face centre", parts.join(" and "))
    };
    let by = match brief.settings_chosen_by {
        Choice::Coach => "set by the coach",
        Choice::Assumed => "the default, as nobody has set it",
    };
    format!(
        "Target point: {at}; strikes within {} mm of it count as centred ({by}).",
        fixed(s.centre_radius_mm, 0)
    )
}

/// The head of a span's column.
pub fn span_head(name: &str, span: &Span) -> String {
    format!("{name}: {}, {}", days(span.from, span.until), count(span.pattern.count.into(), "mark"))
}

/// A bias with its direction and interval: `8.0 mm heel (4.1 to 12.3)`, or
/// `0.3 mm heel (3.4 toe to 4.0 heel)` where the interval reaches over.
pub fn bias_cell(value: Option<f64>, interval: Option<Range>, plus: &str, minus: &str) -> String {
    match value {
        Some(value) => sided(value, interval.map(|r| (r.low, r.high)), "mm", plus, minus),
        None => NONE.into(),
    }
}

/// A figure with a side to it, and its interval turned to that side.
fn sided(value: f64, range: Option<(f64, f64)>, unit: &str, plus: &str, minus: &str) -> String {
    let (side, other, sign) = if value >= 0.0 { (plus, minus, 1.0) } else { (minus, plus, -1.0) };
    let base = format!("{} {unit} {side}", fixed(value.abs(), 1));
    let Some((low, high)) = range else { return base };
    let (near, far) = if sign > 0.0 { (low, high) } else { (-high, -low) };
    if near < 0.0 {
        format!("{base} ({} {other} to {} {side})", fixed(-near, 1), fixed(far, 1))
    } else {
        format!("{base} ({} to {})", fixed(near, 1), fixed(far, 1))
    }
}

/// A length with its interval: `11.0 mm (9.1 to 14.2)`.
pub fn length_cell(value: Option<f64>, interval: Option<Range>) -> String {
    /// Longer than any head (127 mm): with a handful of balls an interval may
    /// reach there, and its figure would mean nothing.
    const BEYOND_MM: f64 = 127.0;
    let Some(value) = value else { return NONE.into() };
    let base = format!("{} mm", fixed(value, 1));
    match interval {
        Some(range) if range.high > BEYOND_MM => {
            format!("{base} ({} to beyond any face)", fixed(range.low, 1))
        }
        Some(range) => format!("{base} ({} to {})", fixed(range.low, 1), fixed(range.high, 1)),
        None => base,
    }
}

/// A share with its interval: `8 of 36, 22 % (10 to 39)`.
pub fn share_cell(share: Option<Share>, of: u32) -> String {
    let Some(share) = share else { return NONE.into() };
    let hits = fixed(share.estimate * f64::from(of), 0);
    format!(
        "{hits} of {of}, {} ({} to {})",
        percent(share.estimate),
        fixed(100.0 * share.low, 0),
        fixed(100.0 * share.high, 0)
    )
}

/// What a figure is called in a table.
pub fn figure_name(figure: Figure) -> &'static str {
    match figure {
        Figure::HeadSpeedMps => "Head speed",
        Figure::BallSpeedMps => "Ball speed",
        Figure::CarryM => "Carry",
        Figure::StartDeg => "Start line",
    }
}

/// A mean with its interval and count, in the player's units.
pub fn mean_cell(figure: Figure, mean: Option<&Mean>, units: UnitSystem) -> String {
    let Some(mean) = mean else { return NONE.into() };
    let range = mean.low.zip(mean.high);
    let ranged = |shown: String, bare: &dyn Fn(f64) -> String| match range {
        Some((low, high)) => format!("{shown} ({} to {})", bare(low), bare(high)),
        None => shown,
    };
    let cell = match figure {
        Figure::HeadSpeedMps | Figure::BallSpeedMps => {
            ranged(speed(units, mean.mean), &|value| fixed(units.speed(value).0, 1))
        }
        Figure::CarryM => ranged(distance(units, mean.mean), &|value| fixed(units.distance(value).0, 0)),
        Figure::StartDeg => sided(mean.mean, range, "deg", "right", "left"),
    };
    format!("{cell}, {}", count(mean.count.into(), "ball"))
}

/// Where balls started by eye.
pub fn starts_cell(tally: &Tally) -> String {
    if tally.starts == 0 {
        return NONE.into();
    }
    format!("{} left, {} straight, {} right of {}", tally.left, tally.straight, tally.right, tally.starts)
}

/// A conflict in the plan.
pub fn conflict(conflict: &DrillConflict) -> String {
    super::plan::conflict(&conflict.drill, &conflict.conflict)
}

/// What is not known yet.
pub fn unknown(unknown: &Unknown) -> String {
    match unknown {
        Unknown::NoMarks => {
            "Where on the face the balls are struck: no ball has a mark yet. Powder the face and log a few."
                .into()
        }
        Unknown::FewMarks { have, more } => format!(
            "The strike pattern now: {} {}; about {more} more would say something.",
            count((*have).into(), "mark"),
            if *have == 1 { "is too few" } else { "are too few" }
        ),
        Unknown::NothingSinceBaseline => {
            "Whether anything has changed: there are no marks after the baseline.".into()
        }
        Unknown::BaselineAssumed { sessions } => format!(
            "What to measure from: no baseline was set, so the first {} for it. Set it where the target is set, too.",
            if *sessions == 1 {
                "session with marks stands".into()
            } else {
                format!("{sessions} sessions with marks stand")
            }
        ),
        Unknown::NoHeadSpeed => "Head speed: nothing was read since the baseline.".into(),
        Unknown::NoStart => "Where the face points: no start line was logged since the baseline.".into(),
        Unknown::NoWorth { problem } => {
            format!("What the misses cost, and which fix is worth most: {problem}.")
        }
        Unknown::NoPlan => "What to practise: no plan was set.".into(),
        Unknown::NothingLogged => "Whether the plan was done: nothing was logged of it.".into(),
        Unknown::PowderedSpin { readings } => format!(
            "Spin: {} with powder on the face and left out, as powder changes friction.",
            counted((*readings).into(), "reading was taken", "readings were taken")
        ),
        Unknown::FaceSizeAssumed => {
            "The size of the face: taken as 118 x 58 mm. Measure the club once with callipers.".into()
        }
        Unknown::BirthYear => {
            "The student's age: unknown, so limits of speed work are those for the young.".into()
        }
        Unknown::Unread { records } => format!(
            "{} of a newer version: kept and passed on. Update to read them.",
            count(*records, "record")
        ),
    }
}

/// What everybody on the tee should mind.
pub const CAUTION: &str = "Nobody in front of or beside a swing. Powder: outdoors, away from faces, wiped off afterwards; \
in practice only, as nothing may be put on the face during a round (Rules of Golf 4.1a(3)). Warm up first; stop on pain \
and see a licensed professional. The range's own rules come first.";

/// An empty cell.
pub const NONE: &str = "–";

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_range_that_reaches_to_the_other_side_names_both_sides() {
        let range = |low, high| Some(Range { low, high });
        assert_eq!(bias_cell(Some(-12.5), range(-15.3, -9.8), "toe", "heel"), "12.5 mm heel (9.8 to 15.3)");
        assert_eq!(
            bias_cell(Some(-0.3), range(-4.0, 3.4), "toe", "heel"),
            "0.3 mm heel (3.4 toe to 4.0 heel)"
        );
        assert_eq!(bias_cell(None, None, "toe", "heel"), NONE);
        assert_eq!(length_cell(Some(37.2), range(15.7, 3029.2)), "37.2 mm (15.7 to beyond any face)");
        let mean = Mean { count: 12, mean: 1.2, sd: Some(2.0), low: Some(-0.3), high: Some(2.6) };
        let cell = mean_cell(Figure::StartDeg, Some(&mean), UnitSystem::Metric);
        assert_eq!(cell, "1.2 deg right (0.3 left to 2.6 right), 12 balls");
    }
}
