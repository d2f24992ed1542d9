//! Whom a strand's news go to when nobody says so each time: those who belong
//! to it and whose cards were taken in. Start at [`Book::audience`].

use rusqlite::{Connection, params};
use sha2::{Digest, Sha256};

use super::Book;
use super::check::hex;
use super::erased::gone;
use super::error::BookError;
use super::exchange::holds;
use super::fold::{No, author_no};
use super::identity::load;
use super::members::Members;
use super::people;
use super::read::StudentEntry;
use crate::model::{Name, StrandId};
use crate::sync::PublicKey;

/// Somebody who is to hear of a strand.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Listener {
    /// Their name.
    pub name: Name,
    /// A name for the file to them that says nothing: hexadecimal, the same
    /// each time for one person and strand.
    pub letterbox: String,
    /// What decides whether a new file would say anything else: equal strings,
    /// equal news.
    pub state: String,
}

impl Book {
    /// Those who belong to a student's people and are known here by their
    /// cards, but for the owner's other devices.
    ///
    /// # Errors
    /// What the storage reports.
    pub fn audience(&self, student: &StudentEntry) -> Result<Vec<Listener>, BookError> {
        let Some(no) = self.strand_no(student.strand)? else { return Ok(Vec::new()) };
        let Some(own) = self.identity()? else { return Ok(Vec::new()) };
        let members = Members::of(&self.db, no)?;
        let is_gone = gone(&self.db, no)?.is_some();
        let mut roots: Vec<PublicKey> =
            [members.say.owner, members.say.founder].into_iter().flatten().collect();
        roots.extend(members.all().map(|member| member.root));
        if is_gone {
            roots.extend(told_before(&self.db, no)?);
        }
        roots.sort_unstable();
        roots.dedup();
        let mut audience = Vec::new();
        for root in roots {
            if root == own.root() || (members.role(&root).is_none() && !is_gone) {
                continue;
            }
            let met = self
                .db
                .prepare_cached("SELECT 1 FROM identity WHERE root = ?1 AND met = 1")?
                .exists([root])?;
            if let (true, Some(name)) = (met, people::name_of(&self.db, &root)?) {
                audience.push(Listener {
                    name: Name::new(&name)?,
                    letterbox: letterbox(student.strand, &root),
                    state: self.state_for(no, &root)?,
                });
            }
        }
        Ok(audience)
    }

    fn state_for(&self, no: No, root: &PublicKey) -> Result<String, BookError> {
        let mut hash = Sha256::new();
        for (_, author, upto) in holds(&self.db, no, self.device)? {
            hash.update(author.bytes());
            hash.update(upto.to_be_bytes());
        }
        for device in load(&self.db, root)?.iter().flat_map(crate::sync::Identity::standing) {
            hash.update(device.author.bytes());
            for (author, upto) in acknowledged_by(&self.db, no, author_no(&self.db, device.author)?)? {
                hash.update(author.to_be_bytes());
                hash.update(upto.to_be_bytes());
            }
        }
        Ok(hex(&hash.finalize()))
    }
}

/// Those to whom a strand was sent, or from whom it came.
fn told_before(db: &Connection, strand: No) -> Result<Vec<PublicKey>, BookError> {
    Ok(db
        .prepare_cached(
            "SELECT identity.root FROM reader JOIN identity ON identity.person = reader.person
             WHERE reader.strand = ?1 ORDER BY identity.root",
        )?
        .query_map([strand], |row| row.get(0))?
        .collect::<Result<_, _>>()?)
}

/// The first eight bytes of SHA-256 over "chalkface letterbox 1", the strand and the root.
fn letterbox(strand: StrandId, root: &PublicKey) -> String {
    let digest = Sha256::new()
        .chain_update("chalkface letterbox 1")
        .chain_update(strand.bytes())
        .chain_update(root)
        .finalize();
    hex(digest.get(..8).unwrap_or_default())
}

fn acknowledged_by(db: &Connection, strand: No, device: No) -> Result<Vec<(i64, i64)>, BookError> {
    Ok(db
        .prepare_cached(
            "SELECT author, upto FROM acknowledged WHERE device = ?1 AND strand = ?2 ORDER BY author",
        )?
        .query_map(params![device, strand], |row| Ok((row.get(0)?, row.get(1)?)))?
        .collect::<Result<_, _>>()?)
}
