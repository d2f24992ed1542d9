//! What to check on the tee, each with its reason.
//!
//! The rule: a reason names its figure, how sure it is, and the balls behind it.
//! What a lean or a spread may come from is common practice, no source. Start at
//! [`check`].

use super::number::{count, counted, fixed, percent};
use super::pattern::mm;
use crate::face::{Direction, Lean};
use crate::lesson::mix::Thing;
use crate::lesson::on_the_tee::{Check, What, Why};

/// A check and why.
pub fn check(check: &Check) -> String {
    format!("{}: {}.", what(check.what), why(check))
}

/// A check in a few words.
pub const fn what(what: What) -> &'static str {
    match what {
        What::SameGear => "Same club, ball and powder?",
        What::TeeHigher => "Tee height: try some balls higher",
        What::TeeLower => "Tee height: try some balls lower",
        What::StandFarther => "Distance from the ball: too near?",
        What::StandNearer => "Distance from the ball: too far?",
        What::HoldFinish => "Balance and a held finish",
        What::TryGripDown => "A trial with the club gripped down",
        What::FaceAtAddress => "Face and aim at address",
        What::FaceToPath => "Face to path: grip and release",
        What::LogMarks => "Powder the face and log the marks",
        What::ReadHeadSpeed => "Read head speed",
        What::ReadStartAndCurve => "Write down start and curve",
        What::GuessFirst => "Guess the strike before looking",
    }
}

fn why(check: &Check) -> String {
    match &check.why {
        Why::OtherGear { things } => {
            let names: Vec<&str> = things
                .iter()
                .map(|thing| match thing {
                    Thing::Club => "the club",
                    Thing::Ball => "the kind of ball",
                    Thing::Powder => "powder",
                })
                .collect();
            format!("{} differs from the baseline", names.join(" and "))
        }
        Why::OffCentre { lean, marks } => {
            format!("the middle is {} over {}", leaning(lean), count((*marks).into(), "mark"))
        }
        Why::Loose { miss_mm, range, marks } => {
            let range =
                range.map_or_else(String::new, |r| format!(", {} to {}", fixed(r.low, 0), fixed(r.high, 0)));
            format!(
                "a typical miss is {} from the target point{range} ({})",
                mm(*miss_mm),
                count((*marks).into(), "mark")
            )
        }
        Why::FinishLost { held, of, share: (low, high) } => format!(
            "{held} of {} held ({} to {}) and strikes are spread out",
            counted((*of).into(), "finish was", "finishes were"),
            percent(*low),
            percent(*high)
        ),
        Why::FaceOff { face_deg, sigma_deg, worth } => format!(
            "the mean face points {}° {} (± {}°, worth {} read exactly)",
            fixed(face_deg.abs(), 1),
            if *face_deg < 0.0 { "left" } else { "right" },
            fixed(*sigma_deg, 1),
            count(worth.round() as u64, "ball")
        ),
        Why::FaceVaries { sd_deg, sigma_deg, worth } => format!(
            "the face varies by {}° from ball to ball (± {}°, worth {} read exactly)",
            fixed(*sd_deg, 1),
            fixed(*sigma_deg, 1),
            count(worth.round() as u64, "ball")
        ),
        Why::NotRead { worth } if *worth < 0.5 => "nothing was read of it, so it is assumed".into(),
        Why::NotRead { worth } => {
            format!("what was read is worth {}", count(worth.round().max(1.0) as u64, "ball"))
        }
        Why::FeelUnknown { pairs, more } => format!(
            "{} so far with guess and mark; {more} more would say what a felt strike is worth",
            count((*pairs).into(), "ball")
        ),
    }
}

fn leaning(lean: &Lean) -> String {
    let way = match lean.direction {
        Direction::High => "high",
        Direction::Low => "low",
        Direction::Toe => "toward the toe",
        Direction::Heel => "toward the heel",
    };
    let range = lean.range.map_or_else(String::new, |range| {
        format!(" ({} to {})", fixed(range.low.max(0.0), 0), fixed(range.high, 0))
    });
    format!("{} {way}{range}", mm(lean.by_mm))
}
