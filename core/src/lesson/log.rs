//! One student's log in the order of its days: what a brief rests on.

use std::collections::{BTreeMap, BTreeSet};

use crate::book::{Book, BookError, Entry, StudentEntry};
use crate::dose::Papers;
use crate::model::{Club, Coach, Note, RecordId, Session, Shot, StrandId, Student, Trial};

/// A session with its shots.
#[derive(Debug, Clone, PartialEq)]
pub struct Visit {
    /// The session's record.
    pub id: RecordId,
    /// The session.
    pub session: Session,
    /// Its shots, in the order they were logged.
    pub shots: Vec<Shot>,
    /// The shots' records, in the same order.
    pub shot_ids: Vec<RecordId>,
}

impl Visit {
    /// The club that a shot was hit with, where it is known.
    pub fn club_of(&self, shot: &Shot) -> Option<RecordId> {
        shot.club.or(self.session.club)
    }
}

/// All that a book knows of one student.
#[derive(Debug, Clone, PartialEq)]
pub struct Log {
    /// The strand.
    pub strand: StrandId,
    /// The student.
    pub student: Student,
    /// Sessions by day, then in the order they were logged.
    pub visits: Vec<Visit>,
    /// Clubs.
    pub clubs: BTreeMap<RecordId, Club>,
    /// Coaches.
    pub coaches: Vec<Coach>,
    /// Plans, drills, what was done of them, and swings for speed.
    pub papers: Papers,
    /// Practices whose balls are off on purpose, by their drill.
    pub off_on_purpose: BTreeSet<RecordId>,
    /// Trials, the latest first day last.
    pub trials: Vec<Entry<Trial>>,
    /// Notes.
    pub notes: Vec<Note>,
    /// Records of a newer version, kept but not read.
    pub unread: u64,
}

impl Log {
    /// Reads a student's log from the book.
    ///
    /// # Errors
    /// What the storage reports.
    pub fn read(book: &Book, student: &StudentEntry) -> Result<Self, BookError> {
        let strand = student.strand;
        let mut shots: BTreeMap<RecordId, (Vec<Shot>, Vec<RecordId>)> = BTreeMap::new();
        for entry in book.records::<Shot>(strand)? {
            let (of, ids) = shots.entry(entry.value.session).or_default();
            of.push(entry.value);
            ids.push(entry.id);
        }
        let mut visits: Vec<Visit> = book
            .records::<Session>(strand)?
            .into_iter()
            .map(|entry| {
                let (shots, shot_ids) = shots.remove(&entry.id).unwrap_or_default();
                Visit { id: entry.id, session: entry.value, shots, shot_ids }
            })
            .collect();
        visits.sort_by_key(|visit| (visit.session.day, visit.id));
        let mut trials = book.records::<Trial>(strand)?;
        trials.sort_by_key(|trial| (trial.value.day, trial.id));
        let papers = Papers::read(book, student)?;
        Ok(Self {
            strand,
            student: student.student.value.clone(),
            visits,
            clubs: by_id(book.records(strand)?),
            coaches: values(book.records(strand)?),
            off_on_purpose: papers.off_on_purpose(),
            papers,
            trials,
            notes: values(book.records(strand)?),
            unread: book.unread(strand)?,
        })
    }
}

impl Log {
    /// Whether a ball was hit as in play: no other says what the student's own strike is.
    pub fn is_as_in_play(&self, shot: &Shot) -> bool {
        shot.practice.is_none_or(|practice| !self.off_on_purpose.contains(&practice))
    }

    /// All of it but its sessions.
    pub(super) fn without_visits(&self) -> Self {
        Self {
            strand: self.strand,
            student: self.student.clone(),
            visits: Vec::new(),
            clubs: self.clubs.clone(),
            coaches: self.coaches.clone(),
            papers: self.papers.clone(),
            off_on_purpose: self.off_on_purpose.clone(),
            trials: self.trials.clone(),
            notes: self.notes.clone(),
            unread: self.unread,
        }
    }
}

fn values<R>(entries: Vec<Entry<R>>) -> Vec<R> {
    entries.into_iter().map(|entry| entry.value).collect()
}

fn by_id<R>(entries: Vec<Entry<R>>) -> BTreeMap<RecordId, R> {
    entries.into_iter().map(|entry| (entry.id, entry.value)).collect()
}
