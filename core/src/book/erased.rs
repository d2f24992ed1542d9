//! What was erased in a strand, and taking it out of the book.
//!
//! An erased change keeps its row, so that numbers have no gap, and nothing in
//! it: no clock, kind, record or body; its run keeps what the signature needs.
//! The rule that must hold: what is covered by an erasure that the book holds is
//! nowhere in it, be it here before or come later. Start at [`Erased::of`] for
//! what is covered, and at [`sweep`].

use std::collections::{BTreeMap, BTreeSet};

use minicbor::Decoder;
use rusqlite::{Connection, OptionalExtension, params};

use super::error::BookError;
use super::exchange::root_of_device;
use super::fold::{No, author_no, state_of, store_state};
use super::identity::load;
use super::runs::{self, each_change};
use crate::model::{AuthorId, Kind, RecordId, StrandId};
use crate::sync::erasure::{Scope, scope, tag, tag_of_all};
use crate::sync::{Body, Change, Hlc, PublicKey, Run, Stamp, State};

/// Why a strand is not here any more.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Gone {
    /// All of it was erased.
    Erased = 1,
    /// This device gave it up.
    GivenUp = 2,
}

/// Whether and why a strand is gone.
pub(super) fn gone(db: &Connection, strand: No) -> Result<Option<Gone>, BookError> {
    // A book that could not be brought up to date has none that is gone.
    if !db.column_exists(None, "strand", "gone")? {
        return Ok(None);
    }
    let code: Option<i64> = db
        .prepare_cached("SELECT gone FROM strand WHERE no = ?1")?
        .query_row([strand], |row| row.get(0))
        .optional()?;
    Ok(match code {
        Some(1) => Some(Gone::Erased),
        Some(2) => Some(Gone::GivenUp),
        _ => None,
    })
}

/// What was erased in a strand.
#[derive(Debug, Default, Clone)]
pub(super) struct Erased {
    records: BTreeSet<RecordId>,
    own: BTreeMap<RecordId, BTreeSet<PublicKey>>,
    everything: bool,
}

impl Erased {
    /// Reads it.
    pub(super) fn of(db: &Connection, strand: No, id: StrandId) -> Result<Self, BookError> {
        let mut erased = Self::default();
        let mut statement =
            db.prepare_cached("SELECT id, state FROM record WHERE strand = ?1 AND kind = ?2")?;
        let mut rows = statement.query(params![strand, Kind::ERASURE.0])?;
        while let Some(row) = rows.next()? {
            let state = State::decode(row.get_ref(1)?.as_blob().unwrap_or_default())?;
            erased.add(db, id, RecordId::from_bytes(row.get(0)?), &state)?;
        }
        Ok(erased)
    }

    /// What was erased of one record.
    pub(super) fn of_tag(
        db: &Connection,
        (strand, id): (No, StrandId),
        tag: RecordId,
    ) -> Result<Self, BookError> {
        let mut erased = Self::default();
        if let Some(state) = state_of(db, strand, Kind::ERASURE, tag)? {
            erased.add(db, id, tag, &state)?;
        }
        Ok(erased)
    }

    fn add(&mut self, db: &Connection, id: StrandId, tag: RecordId, state: &State) -> Result<(), BookError> {
        for (stamp, fields) in state.standing_writes() {
            match scope(&Body { fields: fields.clone(), replaces: Vec::new() }) {
                Some(Scope::Record) => {
                    self.records.insert(tag);
                }
                Some(Scope::Own) => {
                    if let Some(root) = whose(db, stamp.author)? {
                        self.own.entry(tag).or_default().insert(root);
                    }
                }
                Some(Scope::Strand) => self.everything |= tag == tag_of_all(id),
                None => {}
            }
        }
        Ok(())
    }

    pub(super) fn everything(&self) -> bool {
        self.everything
    }

    pub(super) fn is_empty(&self) -> bool {
        self.records.is_empty() && self.own.is_empty() && !self.everything
    }

    /// Whether what somebody wrote of what a tag names is gone.
    pub(super) fn covers(&self, tag: &RecordId, by: Option<&PublicKey>) -> bool {
        let theirs = || self.own.get(tag).is_some_and(|roots| by.is_some_and(|by| roots.contains(by)));
        self.everything || self.records.contains(tag) || theirs()
    }

    fn names(&self, tag: &RecordId) -> bool {
        self.records.contains(tag) || self.own.contains_key(tag)
    }
}

/// The root of the person whose device it is, as far as the book knows.
pub(super) fn whose(db: &Connection, author: AuthorId) -> Result<Option<PublicKey>, BookError> {
    let own: Option<Vec<u8>> = db
        .prepare_cached("SELECT value FROM about WHERE key = 'root'")?
        .query_row([], |row| row.get(0))
        .optional()?;
    if let Some(root) = own.and_then(|root| PublicKey::try_from(root).ok())
        && load(db, &root)?.is_some_and(|own| own.device(author).is_some())
    {
        return Ok(Some(root));
    }
    if let Some(root) = root_of_device(db, author_no(db, author)?)? {
        return Ok(Some(root));
    }
    // Those who belong to a strand of ours without having met us.
    let mut statement =
        db.prepare_cached("SELECT root FROM identity WHERE person IS NULL AND met = 0 ORDER BY root")?;
    let roots: Vec<PublicKey> = statement.query_map([], |row| row.get(0))?.collect::<Result<_, _>>()?;
    for root in roots {
        if load(db, &root)?.is_some_and(|person| person.device(author).is_some()) {
            return Ok(Some(root));
        }
    }
    Ok(None)
}

/// Puts a row in the place of an erased change, where there is none.
pub(super) fn leave_blank(db: &Connection, strand: No, author: No, seq: u64) -> Result<bool, BookError> {
    let added = db
        .prepare_cached(
            "INSERT OR IGNORE INTO change (strand, author, seq, hlc, made_ms, offset_min, kind, record, body)
             VALUES (?1, ?2, ?3, 0, 0, 0, 0, zeroblob(16), x'')",
        )?
        .execute(params![strand, author, seq as i64])?;
    Ok(added == 1)
}

/// Whether the change under a number was erased.
pub(super) fn is_blank(db: &Connection, strand: No, author: No, seq: u64) -> Result<bool, BookError> {
    Ok(db
        .prepare_cached("SELECT 1 FROM change WHERE strand = ?1 AND author = ?2 AND seq = ?3 AND kind = 0")?
        .exists(params![strand, author, seq as i64])?)
}

/// Which of a device's numbers from `first` to `last` have an erased change under
/// them: one look for a whole run.
pub(super) fn blanks(
    db: &Connection,
    strand: No,
    author: No,
    (first, last): (u64, u64),
) -> Result<BTreeSet<u64>, BookError> {
    db.prepare_cached(
        "SELECT seq FROM change WHERE strand = ?1 AND author = ?2 AND seq >= ?3 AND seq <= ?4 AND kind = 0",
    )?
    .query_map(params![strand, author, first as i64, last as i64], |row| Ok(row.get::<_, i64>(0)? as u64))?
    .map(|seq| Ok(seq?))
    .collect()
}

/// What a sweep took out.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(super) struct Swept {
    pub records: u64,
    pub changes: u64,
}

/// Takes out of a strand what is covered, whose changes have all been signed by
/// who wrote them. Whoever calls it sees to it that the file is scrubbed.
pub(super) fn sweep(
    db: &Connection,
    (strand, id): (No, StrandId),
    erased: &Erased,
) -> Result<Swept, BookError> {
    let named = named(db, (strand, id), erased)?;
    if named.is_empty() {
        return Ok(Swept::default());
    }
    let (mut gone, mut latest) = (BTreeMap::<No, BTreeSet<u64>>::new(), 0_i64);
    let mut touched = BTreeSet::new();
    let mut roots = BTreeMap::new();
    let mut statement = db.prepare_cached(
        "SELECT author.no, author.id, seq, hlc, kind, record FROM change JOIN author ON author.no = change.author
         WHERE strand = ?1 AND kind <> 0",
    )?;
    let mut rows = statement.query([strand])?;
    while let Some(row) = rows.next()? {
        let about = (Kind(row.get(4)?), RecordId::from_bytes(row.get(5)?));
        let Some(tag) = named.get(&about) else { continue };
        let no: No = row.get(0)?;
        let root = match roots.get(&no) {
            Some(root) => *root,
            None => *roots.entry(no).or_insert(whose(db, AuthorId::from_bytes(row.get(1)?))?),
        };
        if erased.covers(tag, root.as_ref()) {
            latest = latest.max(row.get(3)?);
            gone.entry(no).or_default().insert(row.get::<_, i64>(2)? as u64);
            touched.insert(about);
        }
    }
    drop(rows);
    let mut swept = Swept { records: touched.len() as u64, changes: 0 };
    for (author, seqs) in gone {
        swept.changes += seqs.len() as u64;
        cut_runs(db, (strand, id), author, &seqs)?;
        let mut blank = db.prepare_cached(
            "UPDATE change SET hlc = 0, made_ms = 0, offset_min = 0, kind = 0, record = zeroblob(16), body = x''
             WHERE strand = ?1 AND author = ?2 AND seq = ?3",
        )?;
        for seq in seqs {
            blank.execute(params![strand, author, seq as i64])?;
        }
    }
    fold_again(db, strand, &touched)?;
    if swept.changes > 0 {
        // Nothing that was computed may remember it, nor a file that waits here, and
        // the clock doesn't go back behind what it showed.
        forget_kept(db, strand)?;
        db.prepare_cached("UPDATE heard SET hlc = max(hlc, ?2) WHERE strand = ?1")?
            .execute(params![strand, latest])?;
        scrub_later(db)?;
    }
    Ok(swept)
}

/// The records of a strand that tags name.
fn named(
    db: &Connection,
    (strand, id): (No, StrandId),
    erased: &Erased,
) -> Result<BTreeMap<(Kind, RecordId), RecordId>, BookError> {
    let mut named = BTreeMap::new();
    if erased.is_empty() {
        return Ok(named);
    }
    let mut statement = db.prepare_cached("SELECT kind, id FROM record WHERE strand = ?1")?;
    let mut rows = statement.query([strand])?;
    while let Some(row) = rows.next()? {
        let (kind, record) = (Kind(row.get(0)?), RecordId::from_bytes(row.get(1)?));
        let tag = tag(id, kind, record);
        if erased.names(&tag) && crate::sync::erasure::may_go(kind) {
            named.insert((kind, record), tag);
        }
    }
    Ok(named)
}

/// Takes the salts of changes that are about to go out of the runs that cover them.
fn cut_runs(
    db: &Connection,
    (strand, id): (No, StrandId),
    author: No,
    seqs: &BTreeSet<u64>,
) -> Result<(), BookError> {
    let device: [u8; 16] = db.query_row("SELECT id FROM author WHERE no = ?1", [author], |row| row.get(0))?;
    let device = AuthorId::from_bytes(device);
    let mut statement = db.prepare_cached(
        "SELECT run, after FROM run WHERE strand = ?1 AND author = ?2 AND first <= ?4 AND first + count > ?3
         ORDER BY first",
    )?;
    let (Some(low), Some(high)) = (seqs.first(), seqs.last()) else { return Ok(()) };
    let all: Vec<(Vec<u8>, crate::sync::run::Link)> = statement
        .query_map(params![strand, author, *low as i64, *high as i64], |row| Ok((row.get(0)?, row.get(1)?)))?
        .collect::<Result<_, _>>()?;
    for (bytes, after) in all {
        let run = Run::decode(&mut Decoder::new(&bytes))?;
        if seqs.range(run.first..=run.last()).next().is_none() {
            continue;
        }
        let mut changes: Vec<(Change, bool)> = Vec::with_capacity(run.count as usize);
        each_change(db, strand, (author, device), run.first, run.last(), |change| {
            let going = seqs.contains(&change.seq);
            changes.push((change, going));
            true
        })?;
        runs::put(db, strand, author, &run.without(id, &changes), &after)?;
    }
    Ok(())
}

/// Makes records anew from what is left of their changes.
fn fold_again(db: &Connection, strand: No, touched: &BTreeSet<(Kind, RecordId)>) -> Result<(), BookError> {
    let mut states: BTreeMap<(Kind, RecordId), State> = BTreeMap::new();
    let mut statement = db.prepare_cached(
        "SELECT author.id, hlc, kind, record, body FROM change JOIN author ON author.no = change.author
         WHERE strand = ?1 AND kind <> 0 ORDER BY change.author, seq",
    )?;
    let mut rows = statement.query([strand])?;
    while let Some(row) = rows.next()? {
        let about = (Kind(row.get(2)?), RecordId::from_bytes(row.get(3)?));
        if !touched.contains(&about) {
            continue;
        }
        let hlc = Hlc::from_packed(row.get::<_, i64>(1)? as u64)
            .ok_or_else(|| BookError::Damaged { what: "a clock beyond all time".into() })?;
        let stamp = Stamp { hlc, author: AuthorId::from_bytes(row.get(0)?) };
        let body = Body::decode(row.get_ref(4)?.as_blob().unwrap_or_default())?;
        states.entry(about).or_default().merge(stamp, body);
    }
    drop(rows);
    for (kind, record) in touched {
        match states.get(&(*kind, *record)) {
            Some(state) => store_state(db, strand, *kind, *record, state)?,
            None => {
                db.prepare_cached("DELETE FROM record WHERE strand = ?1 AND kind = ?2 AND id = ?3")?
                    .execute(params![strand, kind.0, record.bytes()])?;
            }
        }
    }
    Ok(())
}

fn forget_kept(db: &Connection, strand: No) -> Result<(), BookError> {
    if db.table_exists(None, "kept")? {
        db.prepare_cached("DELETE FROM kept WHERE strand = ?1")?.execute([strand])?;
    }
    if db.table_exists(None, "held")? {
        db.execute("DELETE FROM held", [])?;
    }
    Ok(())
}

/// Takes out all of a strand but the word that it is gone.
pub(super) fn sweep_all(
    db: &Connection,
    (strand, id): (No, StrandId),
    why: Gone,
) -> Result<Swept, BookError> {
    let count = |sql: &str| -> Result<u64, BookError> {
        Ok(db.query_row(sql, [strand], |row| row.get::<_, i64>(0))? as u64)
    };
    let swept = Swept {
        records: count("SELECT count(*) FROM record WHERE strand = ?1 AND kind <> 16")?,
        changes: count("SELECT count(*) FROM change WHERE strand = ?1 AND kind NOT IN (0, 16)")?,
    };
    let word = tag_of_all(id);
    // No record has this number.
    let nothing = RecordId::from_bytes([0; 16]);
    let stays = *if why == Gone::Erased { word } else { nothing }.bytes();
    db.execute(
        "DELETE FROM run WHERE strand = ?1 AND NOT EXISTS
         (SELECT 1 FROM change WHERE change.strand = run.strand AND change.author = run.author
          AND change.seq = run.first AND run.count = 1 AND kind = 16 AND record = ?2)",
        params![strand, stays],
    )?;
    db.execute(
        "DELETE FROM change WHERE strand = ?1 AND NOT (kind = 16 AND record = ?2)",
        params![strand, stays],
    )?;
    db.execute(
        "DELETE FROM record WHERE strand = ?1 AND NOT (kind = 16 AND id = ?2)",
        params![strand, stays],
    )?;
    db.execute("DELETE FROM heard WHERE strand = ?1", [strand])?;
    db.execute("DELETE FROM acknowledged WHERE strand = ?1", [strand])?;
    if why == Gone::GivenUp {
        db.execute("DELETE FROM reader WHERE strand = ?1", [strand])?;
    }
    forget_kept(db, strand)?;
    db.execute("UPDATE strand SET gone = ?2 WHERE no = ?1", params![strand, why as i64])?;
    scrub_later(db)?;
    Ok(swept)
}

const DUE: &str = "scrub";

/// Notes that the file still has to be freed of what was taken out.
pub(super) fn scrub_later(db: &Connection) -> Result<(), BookError> {
    db.execute("INSERT OR REPLACE INTO about (key, value) VALUES (?1, 1)", [DUE])?;
    Ok(())
}

/// Frees the file of what was taken out, if that is due: pages that were freed,
/// what they held before, and the storage's own log.
pub(super) fn scrub(db: &Connection) -> Result<(), BookError> {
    let due = db.prepare_cached("SELECT 1 FROM about WHERE key = ?1")?.exists([DUE])?;
    if !due {
        return Ok(());
    }
    // The file is built anew, page by page: no page keeps what once stood in it.
    db.execute_batch("VACUUM")?;
    let busy: i64 = db.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |row| row.get(0))?;
    if busy != 0 {
        return Err(BookError::InUse);
    }
    db.execute("DELETE FROM about WHERE key = ?1", [DUE])?;
    Ok(())
}
