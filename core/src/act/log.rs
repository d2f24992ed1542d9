//! Logging the rows of a table: sessions, clubs and shots.

use std::collections::BTreeMap;

use serde::Serialize;

use super::trial::Trials;
use crate::book::{Book, BookError, Draft};
use crate::model::{
    Club, Day, MarkRead, Minter, Name, Now, Place, Record, RecordId, Session, Shot, StrandId, StrikeMark,
};
use crate::table::Row;

/// What rows that don't say are taken for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Unsaid {
    /// The day of sessions that don't say theirs.
    pub day: Day,
    /// Where sessions took place that don't say.
    pub place: Option<Place>,
}

/// What was logged.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize)]
pub struct Logged {
    /// New sessions.
    pub sessions: u64,
    /// New shots.
    pub shots: u64,
    /// Shots that their session had already, so that a file logged twice
    /// counts once.
    pub already_there: u64,
    /// New marks beyond the face of their club: kept, left out of flight.
    pub off_face: u64,
}

/// Logs rows into a strand, all or none.
///
/// Rows with the same session label and day make one session. A label that
/// begins with a day, such as `2026-05-04 range`, says that day.
///
/// # Errors
/// A refusal for a ball of a trial that the student doesn't have, or what the
/// storage reports; then nothing was logged.
pub fn log_rows(
    book: &mut Book,
    strand: StrandId,
    now: Now,
    rows: &[Row],
    unsaid: Unsaid,
) -> Result<Logged, BookError> {
    let drafted = drafts_of(book, strand, &mut Minter::new(now), rows, unsaid)?;
    book.write(strand, now, drafted.drafts)?;
    Ok(drafted.logged)
}

/// What logging rows will write.
pub(super) struct Drafted {
    /// Sessions, clubs and shots.
    pub drafts: Vec<Draft>,
    /// What they are.
    pub logged: Logged,
    /// The sessions of the rows, new or known, in order.
    pub sessions: Vec<RecordId>,
}

/// Drafts of rows; see [`log_rows`].
pub(super) fn drafts_of(
    book: &Book,
    strand: StrandId,
    minter: &mut Minter,
    rows: &[Row],
    unsaid: Unsaid,
) -> Result<Drafted, BookError> {
    let mut drafts = Vec::new();
    let mut logged = Logged::default();
    let mut sessions = Vec::new();
    let known_clubs: BTreeMap<RecordId, Club> =
        book.records::<Club>(strand)?.into_iter().map(|entry| (entry.id, entry.value)).collect();
    let mut clubs: BTreeMap<String, RecordId> =
        known_clubs.iter().map(|(id, club)| (club.name.as_str().to_lowercase(), *id)).collect();
    let known = book.records::<Session>(strand)?;
    let trials = Trials::of(book, strand, rows)?;
    let mut shots_of: BTreeMap<RecordId, Vec<Shot>> = BTreeMap::new();
    for entry in book.records::<Shot>(strand)? {
        shots_of.entry(entry.value.session).or_default().push(entry.value);
    }
    for ((day, name), rows) in by_session(rows, unsaid)? {
        let found = known.iter().find(|entry| entry.value.day == day && entry.value.name == name);
        let (id, session) = if let Some(entry) = found {
            (entry.id, entry.value.clone())
        } else {
            let id = minter.record();
            let club = common(&rows, |row| row.club.clone())
                .map(|name| club_named(name, &mut clubs, minter, &mut drafts));
            let session = Session {
                name,
                day,
                place: common(&rows, |row| row.place).or(unsaid.place),
                ball: common(&rows, |row| row.ball),
                powder: common(&rows, |row| row.powder),
                club,
            };
            drafts.push(Draft::put(id, &session));
            logged.sessions += 1;
            (id, session)
        };
        sessions.push(id);
        let mut there = counts(shots_of.get(&id).map_or(&[], Vec::as_slice));
        for row in rows {
            let club = row.club.clone().map(|name| club_named(name, &mut clubs, minter, &mut drafts));
            let mut shot = shot_of(row, id, &session, club)?;
            shot.trial = trials.ball_of(row, day)?;
            let known = |shot: &Shot| there.get(&key(shot)).is_some_and(|left| *left > 0);
            // A file that is logged again after another trial began says the same of the earlier one.
            if let Some(trial) =
                trials.earlier(row, day).find(|trial| known(&Shot { trial: Some(*trial), ..shot.clone() }))
            {
                shot.trial = Some(trial);
            }
            if let Some(left) = there.get_mut(&key(&shot)).filter(|left| **left > 0) {
                *left -= 1;
                logged.already_there += 1;
            } else {
                let club = shot.club.or(session.club).and_then(|id| known_clubs.get(&id));
                logged.off_face += u64::from(shot.mark.is_some_and(|mark| !mark.is_on_face_of(club)));
                drafts.push(Draft::put(minter.record(), &shot));
                logged.shots += 1;
            }
        }
    }
    Ok(Drafted { drafts, logged, sessions })
}

/// Rows by session, in order of days and labels; rows keep their order.
fn by_session(rows: &[Row], unsaid: Unsaid) -> Result<BTreeMap<(Day, Name), Vec<&Row>>, BookError> {
    let mut sessions: BTreeMap<(Day, Name), Vec<&Row>> = BTreeMap::new();
    for row in rows {
        let said = row
            .session
            .as_ref()
            .and_then(|name| name.as_str().get(..10))
            .and_then(|text| Day::parse(text).ok());
        let day = row.day.or(said).unwrap_or(unsaid.day);
        let name = match &row.session {
            Some(name) => name.clone(),
            None => Name::new(row.place.or(unsaid.place).map_or("session", Place::word))?,
        };
        sessions.entry((day, name)).or_default().push(row);
    }
    Ok(sessions)
}

/// What all rows agree on.
fn common<T: PartialEq>(rows: &[&Row], of: impl Fn(&Row) -> Option<T>) -> Option<T> {
    let first = rows.first().and_then(|row| of(row))?;
    rows.iter().all(|row| of(row).as_ref() == Some(&first)).then_some(first)
}

fn club_named(
    name: Name,
    clubs: &mut BTreeMap<String, RecordId>,
    minter: &mut Minter,
    drafts: &mut Vec<Draft>,
) -> RecordId {
    *clubs.entry(name.as_str().to_lowercase()).or_insert_with(|| {
        let id = minter.record();
        drafts.push(Draft::put(id, &Club::named(name)));
        id
    })
}

/// The row's shot; what it shares with its session is left to the session.
fn shot_of(row: &Row, id: RecordId, session: &Session, club: Option<RecordId>) -> Result<Shot, BookError> {
    let mut shot = row.shot(id);
    shot.club = club.filter(|club| session.club != Some(*club));
    shot.powder = row.powder.filter(|powder| session.powder != Some(*powder));
    // Without powder there is no mark to look at: the strike was felt.
    let bare = row.powder.or(session.powder) == Some(false);
    if let Some(mark) = shot.mark.filter(|_| bare && !row.mark_read_given) {
        let sigma_mm = row.mark_sigma_given.then(|| mark.sigma_mm.mm());
        shot.mark = Some(StrikeMark::new(mark.toe_mm.mm(), mark.high_mm.mm(), sigma_mm, MarkRead::Felt)?);
    }
    Ok(shot)
}

fn key(shot: &Shot) -> Vec<u8> {
    let mut bytes = Vec::new();
    shot.to_fields().encode(&mut bytes);
    bytes
}

fn counts(shots: &[Shot]) -> BTreeMap<Vec<u8>, u32> {
    let mut counts = BTreeMap::new();
    for shot in shots {
        *counts.entry(key(shot)).or_default() += 1;
    }
    counts
}
