//! Reading a few records of a kind: the latest ones, or the shots of one session.
//!
//! The rule: identities are in order of time, so both are a range of the table. Start at
//! [`Book::latest`] and [`Book::shots_of`].

use rusqlite::ToSql;

use super::Book;
use super::error::BookError;
use super::read::{Entry, OrRemoved, entry};
use crate::model::{Kind, Record, RecordId, Shot, StrandId};
use crate::sync::State;

impl Book {
    /// The latest live records of a kind, the last made first, `most` of them.
    ///
    /// # Errors
    /// What the storage reports.
    pub fn latest<R: Record>(&self, strand: StrandId, most: usize) -> Result<Vec<Entry<R>>, BookError> {
        let sql = "SELECT id, state FROM record WHERE strand = ?1 AND kind = ?2 AND removed = 0
             ORDER BY id DESC LIMIT ?3";
        let all = self.some(strand, sql, &[&R::KIND.0, &(most as i64)])?;
        Ok(all.into_iter().map(|kept| kept.entry).collect())
    }

    /// How many live records of a kind a strand has.
    ///
    /// # Errors
    /// What the storage reports.
    pub fn count(&self, strand: StrandId, kind: Kind) -> Result<u64, BookError> {
        let Some(no) = self.strand_no(strand)? else { return Ok(0) };
        let sql = "SELECT count(*) FROM record WHERE strand = ?1 AND kind = ?2 AND removed = 0";
        let count: i64 =
            self.db.prepare_cached(sql)?.query_row(rusqlite::params![no, kind.0], |row| row.get(0))?;
        Ok(count as u64)
    }

    /// The shots of a session, removed ones too, in the order they were made.
    ///
    /// # Errors
    /// What the storage reports.
    pub fn shots_of(&self, strand: StrandId, session: RecordId) -> Result<Vec<OrRemoved<Shot>>, BookError> {
        // A shot is made after its session, but perhaps by a device whose clock lags behind.
        const LAG_MS: u64 = 24 * 3600 * 1000;
        // The session's identity stands in the state of each of its shots: those without it need
        // not be read. Where it stands there as something else, the shot is read and left out.
        let sql = "SELECT id, state FROM record WHERE strand = ?1 AND kind = ?2 AND id > ?3
                   AND instr(state, ?4) > 0 ORDER BY id";
        let from = session.earlier(LAG_MS);
        let mut all = self.some::<Shot>(strand, sql, &[&Shot::KIND.0, from.bytes(), session.bytes()])?;
        all.retain(|kept| kept.entry.value.session == session);
        Ok(all)
    }

    fn some<R: Record>(
        &self,
        strand: StrandId,
        sql: &str,
        with: &[&dyn ToSql],
    ) -> Result<Vec<OrRemoved<R>>, BookError> {
        let Some(no) = self.strand_no(strand)? else { return Ok(Vec::new()) };
        let mut statement = self.db.prepare_cached(sql)?;
        let all: Vec<&dyn ToSql> = std::iter::once(&no as &dyn ToSql).chain(with.iter().copied()).collect();
        let mut rows = statement.query(all.as_slice())?;
        let mut entries = Vec::new();
        while let Some(row) = rows.next()? {
            let state = State::decode(row.get_ref(1)?.as_blob().unwrap_or_default())?;
            let found = entry(RecordId::from_bytes(row.get(0)?), &state);
            entries.extend(found.map(|entry| OrRemoved { entry, removed: state.is_removed() }));
        }
        Ok(entries)
    }
}
