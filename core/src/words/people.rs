//! Cards, meeting and people, in sentences. Start at [`met`] and [`people`].

use super::number::count;
use crate::book::{Acquaintance, Met};

/// Names the drawing of a card.
pub fn card_title(whose: &str) -> String {
    format!("Contact card of {whose}")
}

/// The drawing of a card for who can't see it.
pub fn card_alt(whose: &str, check_phrase: &str) -> String {
    format!(
        "A QR code with the contact card of {whose}, to be read by another device's camera. Check phrase: {check_phrase}."
    )
}

/// What to do with a card.
pub fn card_use(check_phrase: &str) -> String {
    format!(
        "Check phrase: {check_phrase}\nGive the card to the other person and take theirs (`meet`). Then read your phrases to each other: they must be the same on both devices."
    )
}

/// What the twelve words are for.
pub fn phrase_use(phrase: &str) -> String {
    format!(
        "Your twelve words:\n  {phrase}\nWrite them on paper and keep it apart from your devices. They are shown this once. On a new phone they say that it is you; whoever has them can say so too."
    )
}

/// What was learned from a card.
pub fn met(met: &Met) -> String {
    let known = if met.known_before { "was known; the card is up to date" } else { "is known now" };
    format!(
        "{} ({}) {known}, with {}.\nTheir check phrase: {}\nLet them read theirs to you. If it differs, the card isn't theirs: don't send them anything.",
        met.name,
        met.role.word(),
        count(met.devices as u64, "device"),
        met.check_phrase
    )
}

/// A new device of the owner's was added.
pub fn added(check_phrase: &str) -> String {
    format!(
        "That device is yours now, if its check phrase is: {check_phrase}\nMake a card here once more and take it in there: `meet CARD --join`. Give that card to the people you know, too."
    )
}

/// This device joined its owner's others.
pub fn joined(name: &str, check_phrase: &str) -> String {
    format!("This is a device of {name} now. Check phrase: {check_phrase}")
}

/// Everybody of whom keys are known.
pub fn people(all: &[Acquaintance]) -> String {
    if all.is_empty() {
        return "Nobody yet: `card` makes yours, `meet` takes in another's.".into();
    }
    let mut lines = Vec::new();
    for who in all {
        let role = who.role.map_or("", |role| role.word());
        let what = match (who.owner, who.met) {
            (true, _) => "this book's owner",
            (false, true) => "met",
            (false, false) => "known through others; take in their card before you send to them",
        };
        lines.push(format!("{} ({role}), {what}", who.name));
        lines.push(format!("  check phrase: {}", who.check_phrase));
        for device in &who.devices {
            let state = match (device.this, device.stands) {
                (_, false) => "gone",
                (true, true) => "this device",
                (false, true) => "in use",
            };
            lines.push(format!("  device {}: {state}", device.device));
        }
    }
    lines.join("\n")
}
