//! Who belongs to a strand, and who may write what there.
//!
//! A strand has an *owner*, who alone says who else belongs to it: the person
//! who made it (its *founder*) until they name the student, from then on the
//! student. Both are roots. What is said are `member` records; of each only
//! what the owner wrote counts, and where the owner said nothing, what the
//! founder wrote. The rule that must hold: nobody else can make or change what
//! counts. Start at [`Members::of`] and [`Members::may_write`].

use std::collections::BTreeMap;

use rusqlite::{Connection, OptionalExtension, params};
use sha2::{Digest, Sha256};

use super::error::BookError;
use super::fold::{No, state_of};
use super::identity::load;
use crate::model::{AuthorId, Kind, Member, Record, RecordId, Role};
use crate::sync::erasure::{self, Scope};
use crate::sync::{Body, Change, Identity, PublicKey, State};

/// Kinds of record that are changed only by the person who wrote them.
const OWN_ONLY: [Kind; 3] = [Kind::SHOT, Kind::SPEED_SWING, Kind::PRACTICE];

/// Who has a say in a strand.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct Say {
    pub owner: Option<PublicKey>,
    pub founder: Option<PublicKey>,
}

impl Say {
    /// What this book knows of a strand.
    pub(super) fn of(db: &Connection, strand: No) -> Result<Self, BookError> {
        Ok(db
            .prepare_cached("SELECT owner, founder FROM strand WHERE no = ?1")?
            .query_row([strand], |row| Ok(Self { owner: row.get(0)?, founder: row.get(1)? }))
            .optional()?
            .unwrap_or_default())
    }

    pub(super) fn store(self, db: &Connection, strand: No) -> Result<(), BookError> {
        db.prepare_cached("UPDATE strand SET owner = ?2, founder = ?3 WHERE no = ?1")?.execute(params![
            strand,
            self.owner,
            self.founder
        ])?;
        Ok(())
    }
}

/// The record that says whether somebody belongs to a strand: the same
/// whoever writes it (a UUID of version 8, RFC 9562).
pub(super) fn member_id(root: &PublicKey) -> RecordId {
    let digest = Sha256::new().chain_update("chalkface member 1").chain_update(root).finalize();
    let mut bytes = [0; 16];
    for (to, from) in bytes.iter_mut().zip(digest) {
        *to = from;
    }
    RecordId(uuid::Builder::from_custom_bytes(bytes).into_uuid())
}

/// What any strand says of somebody, to call them by a name.
pub(super) fn said_of(db: &Connection, root: &PublicKey) -> Result<Option<Member>, BookError> {
    let mut statement = db.prepare_cached("SELECT no FROM strand ORDER BY no")?;
    let strands: Vec<No> = statement.query_map([], |row| row.get(0))?.collect::<Result<_, _>>()?;
    for strand in strands {
        let state = state_of(db, strand, Kind::MEMBER, member_id(root))?;
        if let Some(member) = state.and_then(|state| Member::from_fields(&state.current()).ok()) {
            return Ok(Some(member));
        }
    }
    Ok(None)
}

/// Who belongs to one strand, as far as is known now.
#[derive(Debug, Clone, Default)]
pub(super) struct Members {
    pub say: Say,
    members: BTreeMap<PublicKey, Member>,
}

impl Members {
    /// Reads them.
    pub(super) fn of(db: &Connection, strand: No) -> Result<Self, BookError> {
        let mut members = Self { say: Say::of(db, strand)?, members: BTreeMap::new() };
        members.read(db, strand)?;
        // The founder's word on who the student is makes them the owner, once.
        if members.say.owner == members.say.founder {
            let named = members.members.iter().find(|(root, member)| {
                member.role == Role::Student && !member.left && members.say.founder != Some(**root)
            });
            if let Some((root, _)) = named {
                members.say.owner = Some(*root);
                members.say.store(db, strand)?;
                members.read(db, strand)?;
            }
        }
        Ok(members)
    }

    fn read(&mut self, db: &Connection, strand: No) -> Result<(), BookError> {
        self.members.clear();
        let known = |root: Option<PublicKey>| -> Result<Option<Identity>, BookError> {
            root.map(|root| load(db, &root)).transpose().map(Option::flatten)
        };
        let (owner, founder) = (known(self.say.owner)?, known(self.say.founder)?);
        let mut statement =
            db.prepare_cached("SELECT state FROM record WHERE strand = ?1 AND kind = ?2 ORDER BY id")?;
        let mut rows = statement.query(params![strand, Kind::MEMBER.0])?;
        while let Some(row) = rows.next()? {
            let state = State::decode(row.get_ref(0)?.as_blob().unwrap_or_default())?;
            let said = |by: &Option<Identity>| {
                let by = by.as_ref()?;
                Member::from_fields(&state.current_by(|author| by.device(author).is_some())).ok()
            };
            if let Some(member) = said(&owner).or_else(|| said(&founder)) {
                // Two records about one person: the first one counts.
                self.members.entry(member.root).or_insert(member);
            }
        }
        Ok(())
    }

    /// What somebody is in this strand, if they belong to it now.
    pub(super) fn role(&self, root: &PublicKey) -> Option<Role> {
        match self.members.get(root) {
            Some(member) => (!member.left).then_some(member.role),
            None if self.say.owner.as_ref() == Some(root) => Some(Role::Student),
            None if self.say.founder.as_ref() == Some(root) => Some(Role::Coach),
            None => None,
        }
    }

    /// Everybody of whom it was said that they belong to it, or did.
    pub(super) fn all(&self) -> impl Iterator<Item = &Member> {
        self.members.values()
    }

    /// Why a change may not be here, if so: `by` wrote it, `body` is what it
    /// says, `before` the record's state without it.
    pub(super) fn may_write(
        &self,
        by: &Identity,
        change: &Change,
        body: &Body,
        before: Option<&State>,
    ) -> Option<&'static str> {
        let root = by.root();
        if let Some(left) = self.members.get(&root).filter(|member| member.left) {
            let counts =
                |(device, upto): &([u8; 16], u64)| device == change.author.bytes() && change.seq <= *upto;
            if !left.counted.iter().any(counts) {
                return Some("their writer had left the student's people");
            }
        } else {
            match self.role(&root) {
                Some(Role::Reader) => return Some("their writer may read and not write"),
                None if self.say.owner.is_some() => {
                    return Some("their writer doesn't belong to the student's people");
                }
                // Where nobody has said yet who belongs to it, as before there were
                // keys, whoever brings it may.
                Some(Role::Student | Role::Coach) | None => {}
            }
        }
        let own = |author: &AuthorId| by.device(*author).is_some();
        let only_own = body.replaces.iter().all(|(stamp, _)| own(&stamp.author));
        let of_the_owner = [Kind::MEMBER, Kind::GUARDIAN].contains(&change.kind);
        if of_the_owner && self.say.owner != Some(root) {
            let lawful = self.say.founder == Some(root) && only_own;
            return (!lawful).then_some(
                "only the student says so: who belongs to their people, and what their guardian allows",
            );
        }
        if change.kind == Kind::ERASURE {
            return self.may_erase(&root, change, body);
        }
        if OWN_ONLY.contains(&change.kind) {
            let first = before.and_then(State::stamps);
            if !only_own || first.is_some_and(|(first, _)| !own(&first.author)) {
                return Some("balls and practice are changed only by who wrote them");
            }
        }
        None
    }

    /// The student may erase all that is in their strand, everybody else what
    /// they wrote: such an erasure takes nothing that others did.
    fn may_erase(&self, root: &PublicKey, change: &Change, body: &Body) -> Option<&'static str> {
        match erasure::scope(body) {
            Some(Scope::Own) if self.say.owner.is_some() => None,
            Some(Scope::Record | Scope::Strand) if self.say.owner.as_ref() == Some(root) => None,
            Some(_) => Some("only who wrote it, or the student whom it is about, can erase something"),
            None if change.body.is_empty() => Some("they can't be read"),
            None => Some("they say more of an erasure than that it is one"),
        }
    }
}
