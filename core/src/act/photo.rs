//! Keeping what was read of a picture of the powdered face.
//!
//! The rule: the picture's new marks become shots, those of earlier balls don't a second
//! time; the record of the picture keeps all of them. Start at [`record_photo`].

use super::log::{Drafted, Logged, Unsaid, drafts_of};
use crate::book::{Book, BookError, Draft};
use crate::model::{Minter, Name, Now, PhotoMark, Place, RecordId, Session, StrandId, StrikePhoto};
use crate::table::Row;

/// A picture to keep.
#[derive(Debug, Clone, PartialEq)]
pub struct NewPhoto {
    /// The session's label, where it has one.
    pub session: Option<Name>,
    /// What the player calls the club.
    pub club: Option<Name>,
    /// All marks on the face.
    pub marks: Vec<PhotoMark>,
    /// A small picture of the face, as JPEG.
    pub thumbnail: Vec<u8>,
}

/// The latest picture of a day, of the same face, if there is one.
///
/// # Errors
/// What the storage reports.
pub fn latest_photo(book: &Book, strand: StrandId, unsaid: Unsaid) -> Result<Option<StrikePhoto>, BookError> {
    let mut photos = book.records::<StrikePhoto>(strand)?;
    photos.retain(|entry| entry.value.day == unsaid.day);
    // The first 48 bits of an identity are milliseconds (RFC 9562, 5.7); of two pictures of
    // one millisecond the one with more marks is later: a face only gains some.
    photos.sort_by_key(|entry| (entry.id.0.as_u128() >> 80, entry.value.marks.len(), entry.id));
    Ok(photos.pop().map(|entry| entry.value))
}

/// Keeps a picture and logs a shot for each of its new marks.
///
/// # Errors
/// A refusal for too many marks or too large a thumbnail, or what the storage reports.
pub fn record_photo(
    book: &mut Book,
    strand: StrandId,
    now: Now,
    new: &NewPhoto,
    unsaid: Unsaid,
) -> Result<Logged, BookError> {
    let mut photo = StrikePhoto {
        session: None,
        day: unsaid.day,
        marks: new.marks.clone(),
        thumbnail: new.thumbnail.clone(),
    };
    photo.check()?;
    let rows: Vec<Row> = new
        .marks
        .iter()
        .filter(|mark| !mark.earlier)
        .map(|mark| Row {
            session: new.session.clone(),
            day: Some(unsaid.day),
            place: unsaid.place,
            club: new.club.clone(),
            powder: Some(true),
            mark: Some(mark.mark),
            mark_sigma_given: true,
            mark_read_given: true,
            ..Row::default()
        })
        .collect();
    let mut minter = Minter::new(now);
    let Drafted { mut drafts, logged, sessions } = drafts_of(book, strand, &mut minter, &rows, unsaid)?;
    photo.session = match sessions.first() {
        Some(id) => Some(*id),
        None => known_session(book, strand, new, unsaid)?,
    };
    drafts.push(Draft::put(minter.record(), &photo));
    book.write(strand, now, drafts)?;
    Ok(logged)
}

/// The session that a picture without a new mark belongs to, if it is there.
fn known_session(
    book: &Book,
    strand: StrandId,
    new: &NewPhoto,
    unsaid: Unsaid,
) -> Result<Option<RecordId>, BookError> {
    let label = match &new.session {
        Some(name) => name.clone(),
        None => Name::new(unsaid.place.map_or("session", Place::word))?,
    };
    let sessions = book.records::<Session>(strand)?;
    let of = |session: &Session| session.day == unsaid.day && session.name == label;
    Ok(sessions.iter().find(|entry| of(&entry.value)).map(|entry| entry.id))
}
