//! Logging one ball as it is hit, into today's session.
//!
//! The rule: a ball goes into the day's latest session where that is of the same place,
//! ball, powder and club; else it begins one. Start at [`log_ball`].

use crate::book::{Book, BookError, Draft, Entry};
use crate::model::{Ball, Day, Minter, Name, Now, Place, RecordId, Session, Shot, StrandId};

/// What a ball is hit with and where.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Setting {
    /// Where.
    pub place: Place,
    /// With which balls.
    pub ball: Option<Ball>,
    /// Whether the face is powdered; never on the course.
    pub powder: bool,
    /// With which club.
    pub club: Option<RecordId>,
}

impl Setting {
    /// The setting of a session.
    pub fn of(session: &Session) -> Option<Self> {
        Some(Self {
            place: session.place?,
            ball: session.ball,
            powder: session.powder.unwrap_or(false),
            club: session.club,
        })
    }
}

/// The day's latest session of a setting.
///
/// # Errors
/// What the storage reports.
pub fn session_of(
    book: &Book,
    strand: StrandId,
    day: Day,
    setting: Setting,
) -> Result<Option<Entry<Session>>, BookError> {
    /// Sessions of one day are few; what was made later of an earlier day stands between them.
    const MOST: usize = 20;
    let fits = |entry: &Entry<Session>| entry.value.day == day && Setting::of(&entry.value) == Some(setting);
    Ok(book.latest::<Session>(strand, MOST)?.into_iter().find(fits))
}

/// What a session is called that nobody named.
fn name_at(place: Place) -> &'static str {
    match place {
        Place::Lesson => "Lesson",
        Place::Range => "Range",
        Place::Course => "Course",
    }
}

/// Logs a ball in a setting; its session is the day's, or a new one. Answers the shot's
/// and the session's records.
///
/// # Errors
/// What the storage reports; then nothing was logged.
pub fn log_ball(
    book: &mut Book,
    strand: StrandId,
    now: Now,
    setting: Setting,
    shot: Shot,
) -> Result<(RecordId, RecordId), BookError> {
    let day = now.at.local_day();
    let mut minter = Minter::new(now);
    let mut drafts = Vec::new();
    let session = session_for(book, strand, day, setting, &mut minter, &mut drafts)?;
    let id = minter.record();
    drafts.push(Draft::put(id, &Shot { session, ..shot }));
    book.write(strand, now, drafts)?;
    Ok((id, session))
}

/// The day's latest session of a setting, or a draft of a new one.
pub(super) fn session_for(
    book: &Book,
    strand: StrandId,
    day: Day,
    setting: Setting,
    minter: &mut Minter,
    drafts: &mut Vec<Draft>,
) -> Result<RecordId, BookError> {
    if let Some(known) = session_of(book, strand, day, setting)? {
        return Ok(known.id);
    }
    let id = minter.record();
    let session = Session {
        name: Name::new(name_at(setting.place))?,
        day,
        place: Some(setting.place),
        ball: setting.ball,
        powder: Some(setting.powder),
        club: setting.club,
    };
    drafts.push(Draft::put(id, &session));
    Ok(id)
}
