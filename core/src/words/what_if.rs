//! What would help most, in words: fixes, what is lost, and what it rests on.

use super::number::{count, fixed, percent, signed};
use crate::lesson::what_if::{
    ATTACK_FOR_A_TEE_MM_DEG, Change, Fix, FixName, Gain, Ranged, SPEED_FOR_AN_INCH_MPS, STRIKE_FOR_A_TEE_MM,
    SWING_WEIGHT_FOR_AN_INCH, TIGHTER_FOR_AN_INCH, What,
};
use crate::lesson::{Care, Edge, LeftOut, StudentModel, Want, WhatIf};
use crate::model::UnitSystem;

/// What a fix is called.
pub fn fix(name: FixName) -> &'static str {
    match name {
        FixName::CentreStrike => "Centre the strikes",
        FixName::TightenStrike => "Tighten the strikes",
        FixName::GripDown => "Grip down",
        FixName::AddSpeed => "Add head speed",
        FixName::SteadyFaceToPath => "Steady face to path",
        FixName::SquareFace => "Square the face",
        FixName::TeeHigher => "Tee it higher",
        FixName::TeeLower => "Tee it lower",
    }
}

/// Several fixes together.
pub fn fixes(names: &[FixName]) -> String {
    names.iter().map(|name| fix(*name).to_lowercase()).collect::<Vec<_>>().join(" and ")
}

/// A carry gained, with its interval: `+3.1 yd (+2.2 to +4.0)`.
pub fn carry_gain(gain: Ranged, units: UnitSystem) -> String {
    let of = |m: f64| units.distance(m);
    let (value, unit) = of(gain.estimate);
    format!("{} {unit} ({} to {})", signed(value, 1), signed(of(gain.low).0, 1), signed(of(gain.high).0, 1))
}

/// A carry lost, with its interval: `5.2 m (4.1 to 6.3)`.
pub fn lost(loss: Ranged, units: UnitSystem) -> String {
    let of = |m: f64| fixed(units.distance(m).0, 1).replace('-', "−");
    let (_, unit) = units.distance(0.0);
    format!("{} {unit} ({} to {})", of(loss.estimate), of(loss.low), of(loss.high))
}

/// A change of a share, in drives of a hundred: `+4.0 (+2.1 to +6.0)`.
pub fn share_change(gain: Ranged) -> String {
    let of = |share: f64| signed(100.0 * share, 1);
    format!("{} ({} to {})", of(gain.estimate), of(gain.low), of(gain.high))
}

/// A length with its interval: `171 m (169 to 174)`.
pub fn distance(value: Ranged, units: UnitSystem) -> String {
    let of = |m: f64| units.distance(m);
    let (middle, unit) = of(value.estimate);
    format!("{} {unit} ({} to {})", fixed(middle, 0), fixed(of(value.low).0, 0), fixed(of(value.high).0, 0))
}

/// A share with its interval: `57 % (52 to 64)`.
pub fn share(value: Ranged) -> String {
    let of = |share: f64| fixed(100.0 * share, 0);
    format!("{} ({} to {})", percent(value.estimate), of(value.low), of(value.high))
}

/// What a fix changes: `strikes 20 % closer together`.
pub fn changes(change: &[Change], units: UnitSystem) -> String {
    const PAIRS: [(&str, &str, &str); 2] =
        [("strike_toe_mm", "strike_high_mm", "strikes"), ("face_deg", "path_deg", "face and path")];
    let mut told = Vec::new();
    let mut rest = change;
    while let [first, others @ ..] = rest {
        rest = others;
        // Two spreads that shrink alike are one thing to a player.
        let both = others.first().and_then(|second| {
            let alike = first.what == What::Sd
                && second.what == What::Sd
                && (first.to / first.from - second.to / second.from).abs() < 1e-9;
            let pair = PAIRS.iter().find(|(a, b, _)| (*a, *b) == (first.quantity, second.quantity));
            pair.filter(|_| alike)
        });
        if let Some((.., name)) = both {
            told.push(closer(name, first));
            rest = others.get(1..).unwrap_or_default();
        } else {
            told.extend(one_change(first, units));
        }
    }
    if told.is_empty() { "nothing: it is there already".into() } else { told.join(", ") }
}

fn closer(name: &str, change: &Change) -> String {
    format!("{name} {} % closer together", fixed(100.0 * (1.0 - change.to / change.from), 0))
}

fn one_change(change: &Change, units: UnitSystem) -> Option<String> {
    let by = change.to - change.from;
    if change.what == What::Sd {
        let name = match change.quantity {
            "strike_toe_mm" => "strikes heel to toe",
            "strike_high_mm" => "strikes low to high",
            "face_deg" => "face",
            "path_deg" => "path",
            other => other,
        };
        return Some(format!(
            "{name} {} % closer together",
            fixed(100.0 * (1.0 - change.to / change.from), 0)
        ));
    }
    let (amount, plus, minus) = match change.quantity {
        "head_speed_mps" => {
            let (value, unit) = units.speed(by.abs());
            (format!("{} {unit}", fixed(value, 1)), "faster", "slower")
        }
        "strike_toe_mm" => (format!("strike {} mm", fixed(by.abs(), 1)), "toward the toe", "toward the heel"),
        "strike_high_mm" => (format!("strike {} mm", fixed(by.abs(), 1)), "higher", "lower"),
        "attack_deg" => (format!("attack {}°", fixed(by.abs(), 1)), "more upward", "more downward"),
        "face_deg" => (format!("face {}°", fixed(by.abs(), 1)), "more to the right", "more to the left"),
        _ => (format!("{} {}", change.quantity, fixed(by.abs(), 1)), "more", "less"),
    };
    let nothing = amount.split(' ').any(|word| word.parse::<f64>().is_ok_and(|value| value == 0.0))
        || amount.contains(" 0.0°");
    (!nothing).then(|| format!("{amount} {}", if by < 0.0 { minus } else { plus }))
}

/// What the student cares about.
pub fn care(care: Care) -> &'static str {
    match care {
        Care::Distance => "ranked by carry",
        Care::Fairways => "ranked by fairways",
        Care::Both => "ranked by carry and fairways: a metre counts as much as one fairway in a hundred",
    }
}

/// The fix worth most, or that there is none.
pub fn most(found: &WhatIf, units: UnitSystem) -> String {
    let Some(first) = found.fixes.first().filter(|fix| fix.gain.score > 0.0) else {
        return "None of these fixes, at the size a student could reach now, gains anything on balance."
            .into();
    };
    format!("{}: {}. {}", fix(first.name), worth(&first.gain, units), sure(first))
}

/// The fix after it.
pub fn runner_up(found: &WhatIf, units: UnitSystem) -> Option<String> {
    let second = found.fixes.get(1).filter(|fix| fix.gain.score > 0.0)?;
    Some(format!("Next: {}, {}.", fix(second.name).to_lowercase(), worth(&second.gain, units)))
}

fn worth(gain: &Gain, units: UnitSystem) -> String {
    let changes = changes(&gain.change, units);
    let carry = carry_gain(gain.carry_gain_m, units);
    format!("with {changes}, carry {carry} and fairways {} in a hundred", share_change(gain.fairway_gain))
}

fn sure(first: &Fix) -> String {
    let often = fixed(100.0 * first.best_chance, 0);
    let word = match first.best_chance {
        chance if chance >= 0.9 => "That it comes first is hardly in doubt",
        chance if chance >= 0.7 => "It most likely comes first",
        chance if chance >= 0.45 => "It may well come first, but others are close",
        _ => "Several fixes are too close to tell apart",
    };
    format!("{word}: in {often} of 100 swings that fit these balls.")
}

/// What the answer rests on.
pub fn rests_on(model: &StudentModel, left_out: &LeftOut) -> String {
    let mut text = format!(
        "Rests on {} in {}.",
        count(model.balls.into(), "ball"),
        count(model.sessions.into(), "session")
    );
    let mut out = Vec::new();
    for (number, one, rest) in [
        (left_out.nothing_read, "ball", "without any reading"),
        (left_out.other_club, "ball", "with another club"),
        (left_out.off_on_purpose, "ball", "of drills that are off on purpose"),
        (left_out.felt, "strike", "only felt"),
        (left_out.off_face, "mark", "beyond the face"),
        (left_out.powdered_spin, "reading", "of spin off a powdered face"),
    ] {
        if number > 0 {
            out.push(format!("{} {rest}", count(number.into(), one)));
        }
    }
    if !out.is_empty() {
        text += &format!(" Left out: {}.", out.join(", "));
    }
    if model.sessions == 1 {
        text += " One session says nothing of other days: this is that day's swing.";
    }
    text
}

/// The name of one of the numbers of a swing, and its unit.
pub fn quantity(name: &str) -> (&'static str, &'static str) {
    match name {
        "head_speed_mps" => ("Head speed", "m/s"),
        "loft_deg" => ("Dynamic loft", "°"),
        "face_deg" => ("Face, right positive", "°"),
        "path_deg" => ("Path, right positive", "°"),
        "attack_deg" => ("Attack, upward positive", "°"),
        "strike_toe_mm" => ("Strike, toward the toe", "mm"),
        _ => ("Strike, toward the crown", "mm"),
    }
}

/// What is taken for granted.
pub fn assumed(want: &Want) -> Vec<String> {
    let edge = match want.trouble.edge {
        Edge::Left => "left of the target line",
        Edge::Right => "right of the target line",
        Edge::Both => "from the target line on either side",
    };
    vec![
        format!(
            "The fairway is {} m wide about the target line; trouble begins {} m {edge}. Balls count where they come down: the run is not in it.",
            fixed(want.fairway_m, 0),
            fixed(want.trouble.beyond_m, 0),
        ),
        "Each fix has a size that a student could reach before the next lesson: common practice, no source; the coach sets them.".into(),
        format!(
            "Gripping down an inch costs {} m/s of head speed (from skilled players with longer shafts) and brings strikes {} % closer together (assumed); swing weight falls by about {} points. Try it before a club is cut: that is a club fitter's work.",
            fixed(SPEED_FOR_AN_INCH_MPS, 2),
            fixed(100.0 * TIGHTER_FOR_AN_INCH, 0),
            fixed(SWING_WEIGHT_FOR_AN_INCH, 1),
        ),
        format!(
            "A tee 10 mm higher moves the strike up by {} mm and the attack by {}° (assumed).",
            fixed(10.0 * STRIKE_FOR_A_TEE_MM, 0),
            fixed(10.0 * ATTACK_FOR_A_TEE_MM_DEG, 1),
        ),
        "A number that was not read rests on an assumed spread of amateurs' swings; published ones were not found.".into(),
        "Ranges hold 90 of 100 swings that fit these balls; how far a make of ball flies differs by up to 9 m either way, and is not in them.".into(),
    ]
}

/// How losses are split.
pub const SPLIT: &str = "Contact: every strike on the target point. Speed: every swing at the speed that one in ten exceeds today. Face: every face square to the target. Each part is its gain averaged over the orders in which the three could be put right, so nothing counts twice; a negative part hides another fault.";

/// Cautions.
pub const CAUTION: &str = "Full swings: warm up first, stop on pain. Nobody stands in the line of fire. Powder outdoors only, and off the face before a round.";

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn gains_have_signs_and_changes_have_directions() {
        let gain = Ranged { estimate: 3.05, low: -0.04, high: 4.0 };
        assert_eq!(carry_gain(gain, UnitSystem::Metric), "+3.0 m (0.0 to +4.0)");
        assert_eq!(share_change(Ranged { estimate: -0.021, low: -0.05, high: 0.001 }), "−2.1 (−5.0 to +0.1)");
        let change = |quantity, what, from, to| Change { quantity, what, from, to };
        let told = changes(
            &[
                change("strike_toe_mm", What::Mean, -8.0, 0.0),
                change("strike_high_mm", What::Mean, 6.0, 6.0),
                change("face_deg", What::Sd, 3.0, 2.4),
            ],
            UnitSystem::Metric,
        );
        assert_eq!(told, "strike 8.0 mm toward the toe, face 20 % closer together");
        assert!(
            changes(&[change("face_deg", What::Mean, 0.0, 0.0)], UnitSystem::Metric).starts_with("nothing")
        );
    }
}
