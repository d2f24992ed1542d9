//! Where yards and fairways go, and the fix worth most now, in a brief's sentences.
//!
//! The rule: no fix is praised that the balls don't stand behind: what is assumed
//! comes first then, and what to read next. Start at [`lost`], [`fix_heading`].

use super::number::{day_of_year, fixed};
use super::what_if as say;
use crate::lesson::what_if::Ranged;
use crate::lesson::worth::{FEWEST_BALLS, FEWEST_SESSIONS};
use crate::lesson::{Parts, Standing, Worth};
use crate::model::UnitSystem;

/// Half a sentence: the whole of a loss, and its greatest part.
pub(super) struct Loss<'a> {
    pub parts: &'a Parts<Ranged>,
    decimals: usize,
    pub scale: f64,
    /// Follows a figure, with a space before it.
    pub unit: String,
    /// A loss below this, in its own unit, is as good as none.
    pub little: f64,
}

impl Loss<'_> {
    fn figure(&self, of: Ranged, unit: &str) -> String {
        let in_unit = |value: f64| fixed(self.scale * value, self.decimals).replace('-', "−");
        format!("{}{unit} ({} to {})", in_unit(of.estimate), in_unit(of.low), in_unit(of.high))
    }

    /// The parts, the largest first.
    pub fn by_size(&self) -> [(&'static str, Ranged); 3] {
        let parts = self.parts;
        let mut named = [("contact", parts.contact), ("speed", parts.speed), ("the face", parts.face)];
        named.sort_by(|a, b| b.1.estimate.total_cmp(&a.1.estimate));
        named
    }

    fn said(&self, what: &str) -> String {
        let whole = self.parts.whole;
        if self.scale * whole.estimate < self.little {
            return format!("{what}: none that these balls show, {}.", self.figure(whole, &self.unit));
        }
        let parts = self.by_size();
        let [(first, most), (_, next), _] = parts;
        // What lies wholly above the next one is sure to be the greater.
        let mostly = if most.low > next.high { "mostly to" } else { "probably most to" };
        let each: Vec<String> = parts
            .iter()
            .map(|(name, part)| format!("{} {}", name.trim_start_matches("the "), self.figure(*part, "")))
            .collect();
        format!("{what}: {}, {mostly} {first}: {}.", self.figure(whole, &self.unit), each.join(", "))
    }
}

pub(super) fn carry(worth: &Worth, units: UnitSystem) -> Loss<'_> {
    let (scale, unit) = units.distance(1.0);
    let parts = &worth.found.shortfall.carry_m;
    Loss { parts, decimals: 1, scale, unit: format!(" {unit}"), little: 1.0 }
}

pub(super) fn fairways(worth: &Worth) -> Loss<'_> {
    let parts = &worth.found.shortfall.fairway_rate;
    Loss { parts, decimals: 0, scale: 100.0, unit: " of 100 drives".into(), little: 1.0 }
}

/// What today's drives lose in carry and in fairways, and to what.
pub fn lost(worth: &Worth, units: UnitSystem) -> String {
    format!("{} {}", carry(worth, units).said("Carry lost"), fairways(worth).said("Fairways lost"))
}

/// What that rests on: balls, sessions and days, and what was left out.
pub fn rests_on(worth: &Worth) -> String {
    let text = say::rests_on(&worth.found.model, &worth.left_out);
    match worth.from {
        Some(from) => text.replacen('.', &format!(", from {} on.", day_of_year(from)), 1),
        None => text,
    }
}

/// The heading over the fix: its name only where it is called.
pub fn fix_heading(worth: &Worth) -> String {
    match (worth.standing, worth.found.fixes.first()) {
        (Standing::Clear, Some(first)) => format!("Worth most now: {}", say::fix(first.name).to_lowercase()),
        (Standing::Nothing, _) => "The fix worth most: none gains now".into(),
        _ => "The fix worth most: not settled".into(),
    }
}

/// Why no fix is called, if none is.
pub fn not_settled(worth: &Worth) -> Option<String> {
    let model = &worth.found.model;
    match worth.standing {
        Standing::Clear | Standing::Nothing => None,
        Standing::FewBalls => Some(format!(
            "Too few balls to call one: it takes {FEWEST_BALLS} in {FEWEST_SESSIONS} sessions, there are {} in {}. What these say:",
            model.balls, model.sessions
        )),
        Standing::Assumed => {
            Some("What would come first changes something that was not read, so it is a guess so far:".into())
        }
        Standing::Close => Some("Two or more are about as good:".into()),
    }
}

/// What to read next, to be sure.
pub fn read_next(worth: &Worth) -> Option<String> {
    let once = |said: Vec<String>| {
        said.into_iter().fold(Vec::new(), |mut all: Vec<String>, one| {
            if !all.contains(&one) {
                all.push(one);
            }
            all
        })
    };
    let each = |of: &dyn Fn(&str) -> String| once(worth.read_next.iter().map(|name| of(name)).collect());
    // One reading may stand for two numbers, such as a mark for both of its axes.
    let what = each(&|quantity| reading(quantity).to_owned());
    let names = each(&|quantity| say::quantity(quantity).0.split(',').next().unwrap_or("").to_lowercase());
    (!names.is_empty()).then(|| {
        format!("{} not read, so assumed. To be sure, {}.", capitalised(&listed(&names)), listed_of(&what))
    })
}

/// How a number of the swing comes to be read.
pub(super) fn reading(quantity: &str) -> &'static str {
    match quantity {
        "head_speed_mps" => "read head speed for 10 balls",
        "face_deg" | "path_deg" => "write down start and curve for 20 balls",
        "attack_deg" | "loft_deg" => "read launch or attack for 10 balls",
        _ => "powder the face and log 10 marks",
    }
}

fn listed(names: &[String]) -> String {
    let verb = if names.len() == 1 { "was" } else { "were" };
    format!("{} {verb}", listed_of(names))
}

fn listed_of(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

fn capitalised(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |first| first.to_uppercase().chain(chars).collect())
}

/// What the sizes of fixes are.
pub const SIZE: &str = "Each fix is counted at the size named, which a student could reach before the next lesson; the coach sets it.";
