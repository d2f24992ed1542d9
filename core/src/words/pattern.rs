//! Sentences about a pattern of strike marks, for players.
//!
//! Invariant: every sentence with a figure says how sure it is and, once a
//! passage, how many balls it rests on; no sentence goes beyond the
//! [`Reading`]. Ranges are 95 % intervals; [`RANGE_NOTE`] explains them once.
//!
//! Where to start: [`headline`] for one sentence, [`sentences`] for all.

use super::number::{counted, percent};
use crate::face::{Direction, Lean, Pattern, Range, Reading, Share, Verdict};

/// What a range means, to be said once on a page.
pub const RANGE_NOTE: &str = "A range is where the true figure lies about 19 times in 20, if each \
     ball was struck for itself; balls of one session are alike, so the truth is a little less \
     sure than that.";

/// A length in whole millimetres.
pub fn mm(value: f64) -> String {
    let whole = value.abs().round();
    if whole < 1.0 && value.abs() > 0.05 { "under 1 mm".to_owned() } else { format!("{whole:.0} mm") }
}

fn balls(count: u32) -> String {
    counted(count.into(), "ball", "balls")
}

/// `6 to 12 mm`; both ends above or at 0.
fn mm_range(range: &Range) -> String {
    let (low, high) = (range.low.max(0.0).round(), range.high.max(0.0).round());
    if (high - low).abs() < 0.5 {
        format!("close to {high:.0} mm")
    } else {
        format!("{low:.0} to {high:.0} mm")
    }
}

fn percent_range(low: f64, high: f64) -> String {
    format!("{:.0} to {:.0} %", (low * 100.0).floor(), (high * 100.0).ceil())
}

const fn way(direction: Direction) -> &'static str {
    match direction {
        Direction::High => "high of",
        Direction::Low => "low of",
        Direction::Toe => "toward the toe from",
        Direction::Heel => "toward the heel from",
    }
}

const fn short_way(direction: Direction) -> &'static str {
    match direction {
        Direction::High => "high",
        Direction::Low => "low",
        Direction::Toe => "toward the toe",
        Direction::Heel => "toward the heel",
    }
}

const fn other_way(direction: Direction) -> &'static str {
    match direction {
        Direction::High => "low",
        Direction::Low => "high",
        Direction::Toe => "toward the heel",
        Direction::Heel => "toward the toe",
    }
}

/// `9 mm low of the target point (likely 6 to 12 mm)`, for the first lean or,
/// shorter, for a further one.
fn lean(lean: &Lean, first: bool) -> String {
    let distance = mm(lean.by_mm);
    let target = if first {
        format!("{} the target point", way(lean.direction))
    } else {
        short_way(lean.direction).to_owned()
    };
    match &lean.range {
        Some(range) if range.low >= 0.0 => {
            format!("{distance} {target} (likely {})", mm_range(range))
        }
        Some(range) => format!(
            "{distance} {target} (anything from {} {} to {} {})",
            mm(range.low),
            other_way(lean.direction),
            mm(range.high),
            short_way(lean.direction)
        ),
        None => format!("{distance} {target}"),
    }
}

fn leans(reading: &Reading) -> String {
    reading
        .leans
        .iter()
        .enumerate()
        .map(|(index, one)| lean(one, index == 0))
        .collect::<Vec<_>>()
        .join(" and ")
}

/// How many more balls it takes, as a sentence; empty if none.
fn more(reading: &Reading) -> String {
    match (reading.sure, reading.more_balls) {
        (false, Some(count)) => {
            format!(" About {} more, if they go on like this, should settle it.", balls(count))
        }
        _ => String::new(),
    }
}

/// What the pattern says, in one to three sentences, with the balls it rests on.
pub fn headline(pattern: &Pattern) -> String {
    let reading = &pattern.reading;
    let count = balls(reading.count);
    let miss = match (pattern.rms_miss_mm, &pattern.intervals.rms_miss_mm) {
        (Some(rms), Some(range)) => {
            format!("a typical miss is {} from the target point (likely {})", mm(rms), mm_range(range))
        }
        (Some(rms), None) => format!("a typical miss is {} from the target point", mm(rms)),
        _ => String::new(),
    };
    match reading.verdict {
        Verdict::TooFew => {
            let needed = reading.more_balls.unwrap_or(0);
            if reading.count == 0 {
                return format!("No strike marks yet. {} give a first look.", balls(needed));
            }
            let verb = if reading.count == 1 { "is" } else { "are" };
            let give = if needed == 1 { "gives" } else { "give" };
            format!("{count} {verb} too few to judge a pattern; {needed} more {give} a first look.")
        }
        Verdict::Unsettled => format!(
            "Too early to tell: over {count} the middle of the strikes sits {}, which could still \
             be chance.{}",
            leans(reading),
            more(reading)
        ),
        Verdict::Centred if reading.sure => {
            format!("Centred: over {count}, {miss}.")
        }
        Verdict::Centred => format!("It looks centred: over {count}, {miss}.{}", more(reading)),
        Verdict::Biased => format!(
            "Off-centre: over {count} the middle of the strikes sits {}. {}",
            leans(reading),
            makes_most(pattern, reading.sure)
        ),
        Verdict::BiasedAndScattered => format!(
            "Off-centre and spread out: over {count} the middle of the strikes sits {}. {}",
            leans(reading),
            spread_makes(pattern, reading.sure)
        ),
        Verdict::Scattered => {
            let look = if reading.sure { "Spread out" } else { "It looks spread out" };
            format!("{look}: over {count}, {miss}, and no clear lean to one side.{}", more(reading))
        }
    }
}

fn share_range(share: f64, range: Option<&Range>) -> String {
    match range {
        Some(range) => format!("about {}, likely {}", percent(share), percent_range(range.low, range.high)),
        None => format!("about {}", percent(share)),
    }
}

fn makes_most(pattern: &Pattern, sure: bool) -> String {
    let Some(share) = pattern.bias_share else {
        return String::new();
    };
    let verb = if sure { "makes" } else { "seems to make" };
    format!(
        "That {verb} most of the miss ({}): moving the middle comes first.",
        share_range(share, pattern.intervals.bias_share.as_ref())
    )
}

fn spread_makes(pattern: &Pattern, sure: bool) -> String {
    let (Some(share), range) = (pattern.scatter_share, pattern.intervals.bias_share) else {
        return String::new();
    };
    let rest = range.map(|r| Range { low: 1.0 - r.high, high: 1.0 - r.low });
    let verb = if sure { "makes" } else { "seems to make" };
    format!("The spread {verb} more of the miss than the lean ({}).", share_range(share, rest.as_ref()))
}

/// How many balls came within the centre radius.
pub fn centre_rate(pattern: &Pattern) -> Option<String> {
    let Share { estimate, low, high } = pattern.centre_rate?;
    let hits = (estimate * f64::from(pattern.count)).round();
    Some(format!(
        "{hits:.0} of {} ({}) came within {} of the target point; over many balls it may be {}.",
        balls(pattern.count),
        percent(estimate),
        mm(pattern.settings.centre_radius_mm),
        percent_range(low, high)
    ))
}

/// How widely the strikes spread, per axis.
pub fn spread(pattern: &Pattern) -> Option<String> {
    let scatter = pattern.scatter_mm2?;
    let (toe, high) = (pattern.intervals.scatter_toe_mm?, pattern.intervals.scatter_high_mm?);
    if pattern.count < 3 {
        return None;
    }
    Some(format!(
        "Two balls in three fall within {} of the middle from heel to toe (likely {}), and within \
         {} up and down (likely {}).",
        mm(scatter.toe_mm2.sqrt()),
        mm_range(&toe),
        mm(scatter.high_mm2.sqrt()),
        mm_range(&high)
    ))
}

/// What the reading of the marks adds.
pub fn reading_error(pattern: &Pattern) -> Option<String> {
    let error = pattern.reading_error_mm?;
    Some(if error > 0.0 {
        format!("Marks were read to {}; that is taken out of the spread, not of the miss.", mm(error))
    } else {
        "The marks count as exact: no reading error was given.".to_owned()
    })
}

/// All that the pattern says, sentence by sentence, the most important first.
pub fn sentences(pattern: &Pattern) -> Vec<String> {
    let mut all = vec![headline(pattern)];
    all.extend(centre_rate(pattern));
    all.extend(spread(pattern));
    all.extend(reading_error(pattern));
    all
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::indexing_slicing)]
mod tests {
    use super::*;
    use crate::face::{Settings, Strike, pattern};

    /// Marks on a ring about a middle: `n` of them, `radius` mm out.
    fn ring(n: u32, middle: (f64, f64), radius: f64) -> Pattern {
        let strikes: Vec<Strike> = (0..n)
            .map(|i| {
                let turn = core::f64::consts::TAU * f64::from(i) / f64::from(n);
                Strike {
                    toe_mm: middle.0 + radius * libm::cos(turn),
                    high_mm: middle.1 + radius * libm::sin(turn),
                    sigma_mm: 0.0,
                }
            })
            .collect();
        pattern(&strikes, &Settings::default()).unwrap()
    }

    #[test]
    fn too_few_balls_say_how_many_more_in_good_grammar() {
        let say = |n| headline(&ring(n, (0.0, 6.0), 5.0));
        assert_eq!(say(0), "No strike marks yet. 5 balls give a first look.");
        assert_eq!(say(1), "1 ball is too few to judge a pattern; 4 more give a first look.");
        assert_eq!(say(4), "4 balls are too few to judge a pattern; 1 more gives a first look.");
    }

    #[test]
    fn a_tight_low_pattern_is_told_as_off_centre_with_way_and_count() {
        let say = headline(&ring(20, (0.0, -6.0), 5.0));
        assert!(
            say.starts_with(
                "Off-centre: over 20 balls the middle of the strikes sits 12 mm low of the target \
                 point (likely 10 to 14 mm)."
            ),
            "{say}"
        );
        assert!(say.contains("moving the middle comes first"), "{say}");
    }

    #[test]
    fn a_wide_pattern_on_the_target_is_told_as_spread_out_without_a_lean() {
        let say = headline(&ring(40, (0.0, 6.0), 20.0));
        assert!(say.starts_with("Spread out: over 40 balls"), "{say}");
        assert!(say.contains("no clear lean"), "{say}");
    }

    #[test]
    fn a_small_set_with_a_possible_lean_is_left_open_with_the_balls_it_takes() {
        let p = ring(6, (-5.0, 6.0), 11.0);
        let say = headline(&p);
        assert!(say.starts_with("Too early to tell: over 6 balls"), "{say}");
        assert!(say.contains("toward the heel"), "{say}");
        assert!(say.contains("more, if they go on like this"), "{say}");
    }

    #[test]
    fn a_centred_pattern_says_so_and_all_its_sentences_carry_ranges() {
        let p = ring(40, (0.0, 6.0), 6.0);
        let all = sentences(&p);
        assert!(all[0].starts_with("Centred: over 40 balls"), "{all:?}");
        assert!(all[1].starts_with("40 of 40 balls (100 %) came within 12 mm"), "{all:?}");
        assert!(all[1].ends_with("91 to 100 %."), "{all:?}");
        assert_eq!(all.len(), 4);
    }

    #[test]
    fn shares_are_never_rounded_to_certainty() {
        assert_eq!(percent(0.999), "over 99 %");
        assert_eq!(percent(0.001), "under 1 %");
        assert_eq!(percent(0.0), "0 %");
        assert_eq!(percent(1.0), "100 %");
    }
}
