//! Keeping what was read of a picture of the powdered face.
//!
//! The rule: the picture's new marks become shots, those of earlier balls don't a second
//! time; the record of the picture keeps all of them. Start at [`record_photo`].

use super::ball::{Setting, session_for};
use super::log::{Drafted, Logged, Unsaid, drafts_of};
use crate::book::{Book, BookError, Draft};
use crate::face::photo::{Mark, Placed, accounted_for};
use crate::model::{
    MarkBy, MarkRead, Minter, Name, Now, PhotoMark, Place, RecordId, Refusal, Session, Shot, StrandId,
    StrikeMark, StrikePhoto,
};
use crate::table::Row;

/// A picture to keep.
#[derive(Debug, Clone, PartialEq)]
pub struct NewPhoto {
    /// The session's label, where it has one.
    pub session: Option<Name>,
    /// What the player calls the club.
    pub club: Option<Name>,
    /// All marks on the face, and what was found and is none.
    pub marks: Vec<PhotoMark>,
    /// A small picture of the face, as JPEG.
    pub thumbnail: Vec<u8>,
}

/// A mark as it was read off a picture.
///
/// # Errors
/// A refusal for a place off the largest face.
pub fn read_mark(mark: &Mark) -> Result<PhotoMark, Refusal> {
    let sigma = tenth(mark.sigma_mm).max(0.1);
    let place = StrikeMark::new(tenth(mark.x_mm), tenth(mark.y_mm), Some(sigma), MarkRead::Photo)?;
    Ok(PhotoMark { mark: place, by: MarkBy::Picture, earlier: false })
}

/// A mark that a person set or moved on a picture: as sure as one that is tapped.
///
/// # Errors
/// A refusal for a place off the largest face.
pub fn set_mark(toe_mm: f64, high_mm: f64) -> Result<PhotoMark, Refusal> {
    let sigma = MarkRead::Tap.assumed_sigma_mm();
    let place = StrikeMark::new(tenth(toe_mm), tenth(high_mm), Some(sigma), MarkRead::Photo)?;
    Ok(PhotoMark { mark: place, by: MarkBy::Hand, earlier: false })
}

/// A tenth of a millimetre is finer than any reading.
fn tenth(mm: f64) -> f64 {
    libm::round(mm * 10.0) / 10.0
}

/// Tells which marks were on the face before, at the picture before this one. What is found
/// again where a person said that there was no strike is none now either; a mark that was set
/// there by hand is one.
pub fn tell_earlier(marks: &mut [PhotoMark], before: &StrikePhoto) {
    let placed = |marks: &[PhotoMark]| -> Vec<Placed> {
        marks.iter().map(|m| (m.mark.toe_mm.mm(), m.mark.high_mm.mm(), m.mark.sigma_mm.mm())).collect()
    };
    let was = accounted_for(&placed(&before.marks), &placed(marks));
    for (mark, was) in marks.iter_mut().zip(was) {
        let was = was.and_then(|n| before.marks.get(n));
        mark.earlier = was.is_some_and(PhotoMark::is_strike);
        if mark.by == MarkBy::Picture && was.is_some_and(|was| !was.is_strike()) {
            mark.by = MarkBy::NoStrike;
        }
    }
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
        .filter(|mark| mark.is_new())
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

/// Keeps a picture of today and logs a ball in a setting for each of its new marks. Answers
/// how many.
///
/// # Errors
/// As [`record_photo`].
pub fn log_photo(
    book: &mut Book,
    strand: StrandId,
    now: Now,
    setting: Setting,
    marks: Vec<PhotoMark>,
    thumbnail: Vec<u8>,
) -> Result<u64, BookError> {
    let day = now.at.local_day();
    let mut minter = Minter::new(now);
    let mut drafts = Vec::new();
    let session = session_for(book, strand, day, setting, &mut minter, &mut drafts)?;
    let new = marks.iter().filter(|mark| mark.is_new());
    let shots: Vec<Shot> = new.map(|mark| Shot { mark: Some(mark.mark), ..Shot::of(session) }).collect();
    let photo = StrikePhoto { session: Some(session), day, marks, thumbnail };
    photo.check()?;
    drafts.extend(shots.iter().map(|shot| Draft::put(minter.record(), shot)));
    drafts.push(Draft::put(minter.record(), &photo));
    book.write(strand, now, drafts)?;
    Ok(shots.len() as u64)
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

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    fn found(toe_mm: f64) -> PhotoMark {
        let mark = StrikeMark::new(toe_mm, 0.0, Some(0.5), MarkRead::Photo).unwrap();
        PhotoMark { mark, by: MarkBy::Picture, earlier: false }
    }

    #[test]
    fn what_a_person_said_is_no_strike_is_none_on_the_next_picture_unless_it_is_set_by_hand() {
        let none = PhotoMark { by: MarkBy::NoStrike, ..found(12.0) };
        let before = StrikePhoto {
            session: None,
            day: crate::model::Day::parse("2026-05-04").unwrap(),
            marks: vec![found(-20.0), none],
            thumbnail: Vec::new(),
        };
        let mut now = [found(-20.5), found(12.5), found(30.0)];
        tell_earlier(&mut now, &before);
        let said = now.map(|mark| (mark.is_strike(), mark.is_new()));
        assert_eq!(said, [(true, false), (false, false), (true, true)]);
        let mut by_hand = [set_mark(12.0, 0.0).unwrap()];
        tell_earlier(&mut by_hand, &before);
        assert!(by_hand[0].is_new());
    }
}
