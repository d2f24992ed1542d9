//! Sentences on a student's feel: does the guess before the look know where the
//! strike was?
//!
//! The rule: never skill without a comparison with always guessing the same.
//! Start at [`sentences`].

use super::number::{count, fixed};
use crate::lesson::feel::{Feel, FeelAxis, FeelTurn, Interval, Knows, Unit};

fn range(of: &Interval, decimals: usize) -> String {
    match (of.low, of.high) {
        (Some(low), Some(high)) => format!(" (likely {} to {})", fixed(low, decimals), fixed(high, decimals)),
        _ => String::new(),
    }
}

/// All that is known of a student's feel, the most important first.
pub fn sentences(feel: &Feel) -> Vec<String> {
    if feel.pairs == 0 {
        return vec![format!(
            "No ball has both a guess and a mark that was looked at. Say where you felt it, then look: {} of them in \
             at least two sessions say what a felt strike is worth.",
            count(feel.felt_sigma_mm.more_pairs.into(), "ball")
        )];
    }
    let over =
        format!("over {} in {}", count(feel.pairs.into(), "ball"), count(feel.sessions.into(), "session"));
    let mut all = vec![match feel.knows {
        Knows::Yes => format!("The guess knows where the strike was, {over}."),
        Knows::No => {
            format!("Always guessing the average strike would be nearer than these guesses, {over}.")
        }
        Knows::Open => format!("Whether the guess tells more than always the same guess is open, {over}."),
    }];
    if let (Some(rms), Some(relative)) = (feel.rms_error_mm, feel.relative_error) {
        all.push(format!(
            "A guess lies {} mm from the strike{}; that is {} times the error of always guessing the average \
             strike{}.",
            fixed(rms.estimate, 0),
            range(&rms, 0),
            fixed(relative.estimate, 2),
            range(&relative, 2)
        ));
    }
    all.extend(axis(&feel.toe, "toward the toe", "toward the heel", "heel to toe"));
    all.extend(axis(&feel.high, "too high", "too low", "up and down"));
    if feel.intervals_by == Unit::Balls {
        all.push("So few sessions can't say how much days differ: the ranges are rather too narrow.".into());
    }
    all.push(felt(feel));
    all.push(trend(feel));
    all
}

fn axis(axis: &FeelAxis, plus: &str, minus: &str, along: &str) -> Option<String> {
    let offset = axis.offset_mm?;
    let way = |value: f64| {
        let size = fixed(value.abs(), 0);
        if size == "0" {
            "0 mm".to_owned()
        } else {
            format!("{size} mm {}", if value < 0.0 { minus } else { plus })
        }
    };
    let mut text = match way(offset.estimate).as_str() {
        "0 mm" => format!("On average guesses lean neither way, {along}"),
        lean => format!("On average guesses lie {lean}"),
    };
    if let (Some(low), Some(high)) = (offset.low, offset.high) {
        text += &format!(" (likely from {} to {})", way(low), way(high));
    }
    if let Some(slope) = axis.slope {
        text += &format!(
            "; {along}, the guess moves {} mm for each mm of the strike{}",
            fixed(slope.estimate, 2),
            range(&slope, 2)
        );
    }
    Some(text + ".")
}

fn felt(feel: &Feel) -> String {
    let felt = &feel.felt_sigma_mm;
    if felt.own {
        return format!(
            "So a felt strike of this student, corrected, is known to {} mm heel to toe and {} mm up and down, where \
             balls are like these.",
            fixed(felt.toe_mm, 0),
            fixed(felt.high_mm, 0)
        );
    }
    format!(
        "A felt strike counts as known to {} mm, which is assumed. Guess and look at {}, in at least two sessions in \
         all, and it is this student's own.",
        fixed(felt.toe_mm, 0),
        count(felt.more_pairs.into(), "more ball")
    )
}

fn trend(feel: &Feel) -> String {
    let trend = &feel.trend;
    let (Some(error), Some(first), Some(last)) = (trend.error_ratio, trend.first, trend.last) else {
        return format!(
            "Whether it is getting better can be asked after {} with at least four such balls each.",
            count(trend.more_sessions.into(), "more session")
        );
    };
    let figures = format!(
        "from the first {} sessions to the last {}, the error within a session went from {} to {} mm, to {} times \
         what it was{}",
        first.sessions,
        last.sessions,
        fixed(first.error_mm, 0),
        fixed(last.error_mm, 0),
        fixed(error.estimate, 2),
        range(&error, 2)
    );
    match trend.called {
        Some(FeelTurn::Better) => format!("Feel has got better: {figures}."),
        Some(FeelTurn::Worse) => format!("Feel has got worse: {figures}."),
        None => format!("No change of feel is proven: {figures}."),
    }
}
