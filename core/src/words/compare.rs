//! What changed since the baseline, in sentences.
//!
//! The rule: nothing is called the student's before what else differs is asked;
//! "no change shown" is never "no change". Start at [`headline`], [`sentences`].

use super::number::{count, counted, day_of_year, fixed, percent, signed};
use super::pattern::mm;
use crate::face::Range;
use crate::face::compare::{Advice, Basis, Change, Comparison, LAST_LOOK, Side};
use crate::lesson::Changed;
use crate::lesson::changed::{Lots, NamedLook, Verdict};
use crate::lesson::mix::{Ask, Thing};
use crate::model::Ball;
use crate::model::club::DEFAULT_FACE_WIDTH_MM;

/// What the limit on false calls is, to be said once on a page.
pub const LIMIT_NOTE: &str = "Look after every session if you like: of 20 students who haven't changed, at most \
     about one is told of a change in a season of 20 sessions.";

/// What a likely range means here.
pub const RANGE_NOTE: &str =
    "A range holds at every look at once, so it is wider than that of one look alone.";

/// One sentence: is it real?
pub fn headline(changed: &Changed) -> String {
    let c = &changed.comparison;
    match changed.verdict {
        Verdict::NothingToCompare if c.baseline_sessions == 0 => {
            "Nothing to compare with yet: no baseline session has 3 marks or more.".into()
        }
        Verdict::NothingToCompare => {
            "Nothing to compare yet: no session since the baseline has 3 marks or more.".into()
        }
        Verdict::TooEarly => format!(
            "Too early to call: it takes 5 sessions in all, 1 of them since the baseline; there are {}.",
            c.baseline_sessions.saturating_add(c.later_sessions)
        ),
        Verdict::TooLate => format!(
            "Nothing more is called: {} came since the baseline, and past {LAST_LOOK} looks chance alone would be \
             called too often. Set a later baseline: what changes from there on can be seen.",
            count(c.later_sessions.into(), "session")
        ),
        Verdict::AskFirst => {
            let what: Vec<String> =
                changed.asks.iter().map(|ask| format!("the {}", thing(ask.what))).collect();
            let differ =
                if what.len() == 1 { "is not that of the baseline" } else { "are not those of the baseline" };
            let so = if c.any_called {
                "the strikes differ from the baseline's, and that may be why"
            } else {
                "that may hide or make a change"
            };
            format!("Ask first: {} {differ}; {so}.", what.join(" and "))
        }
        Verdict::Changed => {
            let said = called(c);
            format!("A real change: {}.", said.first().map_or("", String::as_str))
        }
        Verdict::NotShown => {
            let sessions = counted(c.later_sessions.into(), "session", "sessions");
            let sees = c.advice.outlook().sees_mm.map_or_else(String::new, |sees| {
                let base = counted(c.baseline_sessions.into(), "session", "sessions");
                format!(
                    ": with a baseline of {base} a shift of {} is seen in 4 of 5 seasons, and one that comes \
                     slowly is seen late",
                    mm(sees)
                )
            });
            format!("No change shown after {sessions}. That doesn't prove there is none{sees}.")
        }
    }
}

const fn thing(thing: Thing) -> &'static str {
    match thing {
        Thing::Club => "club",
        Thing::Ball => "kind of ball",
        Thing::Powder => "powder on the face",
    }
}

/// What has been called, each as half a sentence, the earliest first.
fn called(c: &Comparison) -> Vec<String> {
    type Say = fn(&Change) -> String;
    let all: [(&Change, Say); 4] = [
        (&c.bias.toe, |change| moved(change, "toward the toe", "toward the heel")),
        (&c.bias.high_axis, |change| moved(change, "higher", "lower")),
        (&c.scatter, scatter),
        (&c.centre_rate, centre),
    ];
    let mut found: Vec<(u32, String)> =
        all.iter().filter_map(|(change, say)| Some((change.first_called_at?, say(change)))).collect();
    // Stable: of one look, in the order above.
    found.sort_by_key(|(at, _)| *at);
    found.into_iter().map(|(_, said)| said).collect()
}

/// When it was called, ready to follow a figure.
fn since(change: &Change) -> String {
    change.first_called_at.map_or_else(String::new, |at| format!(", first sure after session {at}"))
}

fn moved(change: &Change, plus: &str, minus: &str) -> String {
    let value = change.estimate.unwrap_or(0.0);
    let way = if value < 0.0 { minus } else { plus };
    let range = match (change.low, change.high) {
        (Some(low), Some(high)) => {
            let (near, far) = if value < 0.0 { (-high, -low) } else { (low, high) };
            if near >= 0.0 {
                format!(" (likely {} to {} mm)", fixed(near, 0), fixed(far, 0))
            } else {
                ", though the latest sessions leave it less sure".to_owned()
            }
        }
        _ => String::new(),
    };
    format!("the middle of the strikes is {} {way}{range}{}", mm(value), since(change))
}

fn scatter(change: &Change) -> String {
    let value = change.estimate.unwrap_or(1.0);
    let part = |ratio: f64| percent((1.0 - ratio).abs());
    let how = if value < 1.0 { "tighter" } else { "wider" };
    let range = match (change.low, change.high) {
        (Some(low), Some(high)) if high < 1.0 => format!(" (likely {} to {})", part(high), part(low)),
        (Some(low), Some(high)) if low > 1.0 => format!(" (likely {} to {})", part(low), part(high)),
        _ => String::new(),
    };
    format!("the pattern is {} {how}{range}{}", part(value), since(change))
}

fn centre(change: &Change) -> String {
    let value = change.estimate.unwrap_or(0.0);
    let points = |v: f64| fixed(100.0 * v.abs(), 0);
    let how = if value < 0.0 { "fewer" } else { "more" };
    format!("{} in 100 {how} strikes are centred{}", points(value), since(change))
}

/// A question to the student, with what differs and since when.
pub fn ask(ask: &Ask) -> String {
    let since = format!("since session {} ({})", ask.since, ask.since_label);
    let list =
        |values: &[String]| values.iter().map(|v| value(ask.what, v)).collect::<Vec<_>>().join(" and ");
    let (before, now) = (list(&ask.before), list(&ask.now));
    let consequence = match ask.what {
        Thing::Club => "another head or length moves strikes by itself",
        Thing::Ball => "another ball may be teed or hit in another way",
        Thing::Powder => "powder lets marks be seen that are only guessed without",
    };
    format!("Ask about the {}: {before} at the baseline, {now} {since}; {consequence}.", thing(ask.what))
}

fn value(what: Thing, value: &str) -> String {
    match what {
        Thing::Ball if value == Ball::Course.word() => "course balls".into(),
        Thing::Ball => format!("{value} balls"),
        Thing::Powder if value == "dry" => "no powder".into(),
        Thing::Powder => "powder".into(),
        Thing::Club => format!("\"{value}\""),
    }
}

/// What it rests on: sessions and balls on both sides, and what was left out.
pub fn rests_on(changed: &Changed) -> String {
    let c = &changed.comparison;
    let side = |sessions: u32, balls: u32| {
        format!("{} in {}", count(balls.into(), "ball"), count(sessions.into(), "session"))
    };
    let mut text = format!(
        "Baseline: {}. Since then: {}.",
        side(c.baseline_sessions, c.baseline_balls),
        side(c.later_sessions, c.later_balls)
    );
    for left in &c.left_out {
        let side = match left.side {
            Side::Baseline => "Baseline session",
            Side::Later => "Session",
        };
        let more = count(left.more_balls.into(), "ball");
        text += &format!(
            " {side} {} is left out: {} with a mark, {more} too few.",
            left.session,
            count(left.balls.into(), "ball")
        );
    }
    text
}

/// Whether the baseline is long enough, and what more of it would buy, or would
/// have bought where there are later sessions already.
pub fn advice(c: &Comparison) -> String {
    let advice = &c.advice;
    let late = c.later_sessions > 0;
    let brings = if late { "would have brought" } else { "brings" };
    let outlook = advice.outlook();
    let wanted = mm(outlook.wanted_mm);
    let basis = match outlook.basis {
        Basis::ThisStudent => "this student's own days",
        Basis::OtherStudents => "other students' days",
        Basis::Assumed => "an assumption, as too few days are known",
    };
    let tenths = |value: f64| format!("{} mm", fixed(value, 1));
    let one_more =
        format!("one more session before the change {brings} that to {}", tenths(outlook.one_more_sees_mm));
    let sees = outlook.sees_mm.map_or_else(String::new, |sees| {
        format!("in 4 of 5 seasons of 20 sessions it shows a shift of {}; {one_more}", tenths(sees))
    });
    match advice {
        Advice::Enough { .. } => {
            format!("The baseline is long enough to show a shift of {wanted}: {sees} (from {basis}).")
        }
        Advice::HitABaseline { more_sessions, balls_a_session, .. } => match more_sessions {
            Some(sessions) => format!(
                "Hit a baseline before changing anything: {} of {} would show a shift of {wanted} (from {basis}).",
                count((*sessions).into(), "session"),
                count((*balls_a_session).into(), "ball")
            ),
            None => format!(
                "Hit a baseline before changing anything; days differ so much that a shift of {wanted} would take \
                 more than 30 sessions to show (from {basis})."
            ),
        },
        Advice::Lengthen { more_sessions, more_balls_a_session, .. } => {
            let sessions = match more_sessions {
                Some(n) if late => format!(
                    "{} more before the change would have done, so hit a longer one before the next change",
                    count((*n).into(), "session")
                ),
                Some(n) => format!("{} more before the change would do", count((*n).into(), "session")),
                None => "days differ so much that more than 30 sessions would be needed".into(),
            };
            let balls = more_balls_a_session.map_or_else(String::new, |n| {
                format!("; or {} more in every session from now on", count(n.into(), "ball"))
            });
            format!(
                "The baseline is too short to show a shift of {wanted}: {sees} (from {basis}). {sessions}{balls}."
            )
            .replace(". days", ". Days")
        }
    }
}

/// What other students' days lent.
pub fn known_shifts(changed: &Changed) -> Option<String> {
    let used = changed.comparison.known_shifts?;
    Some(format!(
        "How much days differ leans on {} of this coach ({}): it counts as {} further sessions toward the toe and {} \
         toward the crown, less the more this student's own days differ.",
        counted(used.known.students.into(), "other student", "other students"),
        count(u64::from(used.known.dof) + u64::from(used.known.students), "session"),
        fixed(used.counted_toe, 1),
        fixed(used.counted_high, 1)
    ))
}

/// All that the comparison says, the most important first; questions and advice
/// are apart.
pub fn sentences(changed: &Changed) -> Vec<String> {
    let mut all = vec![headline(changed)];
    let c = &changed.comparison;
    let seen = called(c);
    match changed.verdict {
        Verdict::AskFirst => {
            all.extend(seen.iter().map(|said| format!("Seen, whatever the reason: {said}.")));
        }
        Verdict::Changed => all.extend(seen.iter().skip(1).map(|said| format!("Real too: {said}."))),
        _ => {}
    }
    all
}

/// A figure's cell: `5.1 mm toe (1.0 to 9.2)`.
pub fn moved_cell(change: &Change, plus: &str, minus: &str) -> String {
    let range = change.low.zip(change.high).map(|(low, high)| Range { low, high });
    if range.is_some_and(|range| range.high - range.low > DEFAULT_FACE_WIDTH_MM) {
        // Wider than a face, a range says nothing.
        return format!(
            "{} (no useful range yet)",
            super::brief::bias_cell(change.estimate, None, plus, minus)
        );
    }
    super::brief::bias_cell(change.estimate, range, plus, minus)
}

/// A ratio's cell: `x 0.72 (0.55 to 0.94)`.
pub fn ratio_cell(change: &Change) -> String {
    let Some(value) = change.estimate else { return super::brief::NONE.into() };
    // Wider than this says nothing.
    let end = |v: f64| if v > 9.95 { "over 10".into() } else { fixed(v, 2) };
    let base = format!("x {}", fixed(value, 2));
    match (change.low, change.high) {
        (Some(low), Some(high)) => format!("{base} ({} to {})", end(low), end(high)),
        _ => base,
    }
}

/// A difference of shares: `+12 in 100 (−4 to +28)`.
pub fn points_cell(change: &Change) -> String {
    let points = |v: f64| signed(100.0 * v, 0);
    let Some(value) = change.estimate else { return super::brief::NONE.into() };
    let base = format!("{} in 100", points(value));
    match (change.low, change.high) {
        (Some(low), Some(high)) => format!("{base} ({} to {})", points(low), points(high)),
        _ => base,
    }
}

/// Whether and when a figure was called.
pub fn called_cell(change: &Change) -> String {
    match change.first_called_at {
        Some(at) => format!("yes, after session {at}"),
        None => "not shown".into(),
    }
}

/// What a look is called under a chart.
pub fn look_label(look: &NamedLook) -> String {
    look.day.map_or_else(|| look.label.clone(), day_of_year)
}

/// What of a file was left out, each as a sentence.
pub fn notes(file: &str, lots: &Lots, sigma_given: bool, skipped: Option<&str>) -> Vec<String> {
    let mut notes = Vec::new();
    if lots.felt > 0 {
        let were = counted(lots.felt, "strike was", "strikes were");
        notes.push(format!("{file}: {were} only felt and left out."));
    }
    if lots.bare > 0 {
        let rows = counted(lots.bare, "row has", "rows have");
        notes.push(format!("{file}: {rows} no strike mark."));
    }
    if !sigma_given {
        notes.push(format!("{file}: no column sigma_mm, so the reading error is taken as 0 (assumed)."));
    }
    if let Some(problems) = skipped {
        notes.push(format!("{file}: bad rows were skipped: {problems}"));
    }
    notes
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests;
