//! Words of the screens of people: one's own card, others' cards, lost devices.

use super::super::number::count;
use crate::book::Acquaintance;
use crate::model::Role;

/// The title.
pub const TITLE: &str = "People and keys";
/// Under the way to it.
pub const HINT: &str = "Your card, other people's cards, lost phones.";
/// One's own card.
pub const OWN: &str = "Your card";
/// What to do with it.
pub const OWN_USE: &str = "Let the other person read the code with their camera, or send them the card. They do the same with theirs. Then read your six words to each other: both devices must show the same.";
/// Sends it.
pub const SHARE: &str = "Send my card";
/// That it was made.
pub const SHARED: &str = "Your card is ready to be handed over.";
/// That it was handed over.
pub const HANDED: &str = "Your card was handed over. Take in theirs, then compare the six words.";
/// Takes in another's.
pub const MEET: &str = "Take in somebody's card";
/// The text.
pub const TEXT: &str = "Their card, as text";
/// Does it.
pub const MEET_NOW: &str = "Take in this card";
/// From a file.
pub const PICK: &str = "Choose the file of their card";
/// Nothing was written.
pub const NO_CARD: &str = "Paste the text of their card, or choose its file.";
/// All known.
pub const ALL: &str = "Known people";
/// None.
pub const NOBODY: &str = "Nobody yet: show your card, and take in theirs.";
/// The owner.
pub const YOU: &str = "you";
/// Met.
pub const MET: &str = "met";
/// Not met.
pub const NOT_MET: &str = "take in their card before you send to them";
/// A person that is gone.
pub const GONE: &str = "Nobody of that name is known any more: go back.";
/// The six words.
pub const PHRASE: &str = "Their six words";
/// One's own.
pub const OWN_PHRASE: &str = "Your six words";
/// What they are for.
pub const PHRASE_USE: &str =
    "Let them read theirs to you. If they differ, this card is not theirs: send them nothing.";
/// Devices.
pub const DEVICES: &str = "Devices";
/// This one.
pub const THIS: &str = "this device";
/// In use.
pub const IN_USE: &str = "in use";
/// Lost or replaced.
pub const LEFT: &str = "lost or replaced";
/// Nothing is sealed to a lost device any more.
pub const LOST: &str = "That device is lost";
/// What it does.
pub const LOST_HINT: &str = "What it wrote stays. Nothing is sealed to it any more, and those who hear of it take in no file of it. This can't be taken back.";
/// To be sure.
pub const LOST_SURE: &str = "Yes, it is lost for good";
/// Done.
pub const LOST_DONE: &str =
    "That device doesn't speak for you any more. Send your next file soon: it tells the others.";
/// Tells which.
pub const WHICH: &str = "Choose one of the devices first.";
/// Parts.
pub const PART: &str = "End with this person";
/// What it does.
pub const PART_HINT: &str = "They get nothing new of yours and change nothing. They keep what they hold.";
/// Lets in again.
pub const AGAIN: &str = "Let this person in again";
/// Ended.
pub const PARTED: &str = "Ended. Your next files are not for them.";
/// Let in.
pub const LET_IN: &str = "They belong to your people again.";
/// The twelve words.
pub const WORDS: &str = "Your twelve words";
/// What they are for.
pub const WORDS_HINT: &str = "After a loss: they say that this device alone is yours now.";
/// Does it.
pub const ONLY_THIS: &str = "Only this device is mine";
/// What it does.
pub const ONLY_THIS_HINT: &str = "All your other devices lose their say. This can't be taken back.";
/// To be sure.
pub const ONLY_THIS_SURE: &str = "Yes, only this one";
/// Done.
pub const ONLY_THIS_DONE: &str = "This device alone is yours now. Give your new card to the people you know.";

/// `student · met`.
pub fn what(who: &Acquaintance) -> String {
    let state = match (who.owner, who.met) {
        (true, _) => YOU,
        (false, true) => MET,
        (false, false) => NOT_MET,
    };
    let standing = who.devices.iter().filter(|device| device.stands).count() as u64;
    let devices = count(standing, "device");
    format!("{}{state}, {devices}", who.role.map_or_else(String::new, |role| format!("{} · ", role_of(role))))
}

/// A role.
pub fn role_of(role: Role) -> &'static str {
    role.word()
}

/// A device's state.
pub fn state(this: bool, stands: bool) -> &'static str {
    match (this, stands) {
        (_, false) => LEFT,
        (true, true) => THIS,
        (false, true) => IN_USE,
    }
}

/// A device's name: the start of its identity.
pub fn device(id: &str) -> String {
    format!("Device {}", id.chars().rev().take(8).collect::<Vec<_>>().into_iter().rev().collect::<String>())
}

/// A card's file.
pub fn file_name(name: &str) -> String {
    let plain: String = name.chars().map(|c| if c.is_alphanumeric() { c } else { '-' }).collect();
    format!("card-{}.txt", plain.to_lowercase())
}
