//! Words on and about charts: labels, legends, text alternatives.
//!
//! Where to start: the functions named after the chart.

use super::number::counted;
use super::pattern::mm;
use crate::face::Pattern;

/// Label of the toe's side.
pub const TOE: &str = "toe";
/// Label of the heel's side.
pub const HEEL: &str = "heel";
/// Label of the top.
pub const CROWN: &str = "crown";
/// Label of the bottom.
pub const SOLE: &str = "sole";
/// Title of the face to tap.
pub const FACE_PAD: &str = "The face";

/// What the face to tap shows.
pub fn face_pad(left_handed: bool) -> String {
    format!("{}.", face_view(left_handed).trim_end_matches("; mm from the face centre"))
}
/// Said on a face without marks.
pub const NO_MARKS: &str = "No strike marks yet";
/// Legend: the target point.
pub const TARGET: &str = "target point";
/// Legend: the mean of the latest marks.
pub const MIDDLE: &str = "middle of the strikes";
/// Legend: the 1-sigma ellipse.
pub const ELLIPSE_1SIGMA: &str = "about 4 balls in 10";
/// Legend: the 95 % ellipse.
pub const ELLIPSE95: &str = "about 19 balls in 20";
/// Label of the row of counts under a trend.
pub const BALLS: &str = "balls";
/// What most charts count: of one, and of several.
pub const BALL_OR_BALLS: [&str; 2] = ["ball", BALLS];
/// Said on a trend without sessions.
pub const NO_SESSIONS: &str = "No sessions yet";

/// Said on a plan without drills.
pub const NO_DRILLS: &str = "No drills in this plan yet";

/// Text alternative of a row of boxes.
pub fn ticks(drill: &str, done: u32, asked: u32) -> String {
    format!("{drill}: done {done} of {asked} times.")
}

/// How the face is seen.
pub fn face_view(left_handed: bool) -> String {
    if left_handed {
        "Left-handed driver seen from the front, toe on the right; mm from the face centre"
    } else {
        "Right-handed driver seen from the front, toe on the left; mm from the face centre"
    }
    .to_owned()
}

/// Legend: the centre radius.
pub fn radius(radius_mm: f64) -> String {
    format!("{} around the target", mm(radius_mm))
}

/// Text alternative of the target point and its circle.
pub fn radius_alt(radius_mm: f64) -> String {
    format!("The target point, and the circle {} around it.", mm(radius_mm))
}

/// Legend: how many marks a set has, after its name.
pub fn marks(count: usize) -> String {
    format!(" ({count})")
}

/// Legend: sessions too old for a shape of their own, before their count.
pub fn earlier(sessions: usize) -> String {
    counted(sessions as u64, "earlier session", "earlier sessions")
}

/// Legend: what the broken ellipses are, after the name of the baseline.
pub const BASELINE: &str = ": broken lines";

/// Legend and text alternative: marks outside the face.
pub fn outside(count: usize) -> String {
    match count {
        1 => "1 mark off the face".to_owned(),
        n => format!("{n} marks off the face"),
    }
}

/// Text alternative of one set of marks.
pub fn marks_alt(label: &str, count: usize, outside_count: usize) -> String {
    let marks = counted(count as u64, "mark", "marks");
    if outside_count == 0 {
        format!("{label}: {marks}.")
    } else {
        format!("{label}: {marks}, {outside_count} of them off the face.")
    }
}

/// Text alternative of a face chart, before the sentences on its pattern.
pub fn face_alt(view: &str, target_toe_mm: f64, target_high_mm: f64) -> String {
    let side = |value: f64, plus: &str, minus: &str| {
        let word = if value < 0.0 { minus } else { plus };
        format!("{} {word}", mm(value.abs()))
    };
    let high = side(target_high_mm, "above the face centre", "below the face centre");
    if target_toe_mm == 0.0 {
        format!("{view}. The target point is {high}.")
    } else {
        let toe = side(target_toe_mm, "toward the toe", "toward the heel");
        format!("{view}. The target point is {high}, {toe}.")
    }
}

/// Text alternative of an ellipse of a pattern.
pub fn ellipse_alt(label: &str, pattern: &Pattern) -> String {
    match (&pattern.ellipse_1sigma, &pattern.ellipse95) {
        (Some(one), Some(most)) => format!(
            "{label}: an ellipse of half axes {} and {} holds about 4 balls in 10; one of {} and {} \
             holds about 19 in 20.",
            mm(one.semi_major_mm),
            mm(one.semi_minor_mm),
            mm(most.semi_major_mm),
            mm(most.semi_minor_mm)
        ),
        _ => String::new(),
    }
}

/// Beside a look: the change was called first there.
pub const CALLED: &str = "called";
/// Legend: where the change was called first.
pub const CALLED_HERE: &str = "called here first";
/// Legend: what chance alone may do at each look.
pub const CORRIDOR: &str = "could still be chance";
/// Legend: the latest look's range.
pub const LIKELY_NOW: &str = "likely range now";

/// Text alternative of one look of a season; its figures are ready text.
pub fn season_look(
    label: &str,
    value: &str,
    edges: Option<(&str, &str)>,
    unit: &str,
    called: bool,
) -> String {
    let said = if called { " Called here first." } else { "" };
    match edges {
        Some((low, high)) => {
            format!("After {label}: {value} {unit}; chance alone could give {low} to {high}.{said}")
        }
        None => format!("After {label}: {value} {unit}; too early to call.{said}"),
    }
}

/// Text alternative of a season, before its looks.
pub fn season_alt(subtitle: &str, looks: usize) -> String {
    format!("{subtitle}. {}.", counted(looks as u64, "session", "sessions"))
}

/// Text alternative of one point of a trend. The value and its ends are ready
/// text with the unit left out.
pub fn trend_point(
    label: &str,
    value: &str,
    range: Option<(&str, &str)>,
    unit: &str,
    (count, [one, many]): (u32, [&str; 2]),
) -> String {
    let balls = counted(count.into(), one, many);
    match range {
        Some((low, high)) => format!("{label}: {value} {unit}, likely {low} to {high}, {balls}."),
        None => format!("{label}: {value} {unit}, {balls}."),
    }
}

/// Text alternative of a session without a value.
pub fn trend_gap(label: &str, count: u32, [one, many]: [&str; 2]) -> String {
    format!("{label}: {}, too few for a value.", counted(count.into(), one, many))
}

/// Legend: what the vertical lines of a trend are.
pub const WHISKERS: &str = "likely range (19 times in 20)";

/// Legend: what the band is, after the name of the baseline.
pub const BAND: &str = " and its range";

/// Text alternative of the baseline band.
pub fn trend_band(label: &str, value: &str, range: (&str, &str), unit: &str) -> String {
    format!("{label}: {value} {unit}, likely {} to {}.", range.0, range.1)
}

/// Text alternative of a trend, before its first and last point.
pub fn trend_alt(subtitle: &str, sessions: usize) -> String {
    let sessions = match sessions {
        0 => format!("{NO_SESSIONS}."),
        n => format!("{}, oldest first.", counted(n as u64, "session", "sessions")),
    };
    if subtitle.is_empty() { sessions } else { format!("{subtitle}. {sessions}") }
}
/// What a reader hears of one part of a whole.
pub fn part_alt(label: &str, figure: &str) -> String {
    format!("{label}: {figure}")
}

/// What a reader hears of a chart of parts.
pub fn parts_alt(subtitle: &str, bars: usize) -> String {
    format!("{}: {subtitle}", counted(bars as u64, "bar", "bars"))
}
