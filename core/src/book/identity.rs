//! Who somebody is: the owner's own devices, cards, and meeting.
//!
//! The rule that must hold: somebody is known by their root key and by nothing
//! else; a name or an identity number that comes with another root is refused.
//! Secret keys come from the caller with each call and are never written.
//! Start at [`Book::begin_identity`], [`Book::card`] and [`Book::meet`].

use rusqlite::{Connection, OptionalExtension, TransactionBehavior, params};
use serde::Serialize;
use sha2::{Digest, Sha256};

use super::Book;
use super::error::BookError;
use super::fold::{No, author_no};
use super::members;
use super::people;
use crate::model::{AuthorId, Name, Now, PersonId, Role};
use crate::sync::identity::{Device, Identity};
use crate::sync::{Card, DeviceKeys, PublicKey, RootKey, check_phrase};

/// Somebody whose card was taken in.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Met {
    /// Their name.
    pub name: String,
    /// What they are.
    pub role: Role,
    /// Six words that they should read out alike.
    pub check_phrase: String,
    /// How many of their devices stand.
    pub devices: usize,
    /// Whether this book knew them by these keys before.
    pub known_before: bool,
}

/// Somebody of whom keys are known.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Acquaintance {
    /// Their name.
    pub name: String,
    /// What they are.
    pub role: Option<Role>,
    /// Six words that they should read out alike.
    pub check_phrase: String,
    /// Whether it is the owner of this book.
    pub owner: bool,
    /// Whether their card was taken in here, or they are known through others only.
    pub met: bool,
    /// All their devices.
    pub devices: Vec<KnownDevice>,
}

/// A device of somebody.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct KnownDevice {
    /// The identity under which it writes.
    pub device: AuthorId,
    /// Whether it still stands: not lost, not left behind.
    pub stands: bool,
    /// Whether it is the one that this book is on.
    pub this: bool,
}

impl Book {
    /// Gives the owner keys: `root` says that this device is theirs. With the
    /// same words as on a device before, this one takes its place.
    ///
    /// # Errors
    /// [`BookError::HasKeys`], [`BookError::WrongKeys`], or what the storage reports.
    pub fn begin_identity(&mut self, keys: &DeviceKeys, root: &RootKey, now: Now) -> Result<(), BookError> {
        self.must_be_ours(keys)?;
        if self.identity()?.is_some() {
            return Err(BookError::HasKeys { person: self.owner.name.to_string() });
        }
        let mut identity = Identity::unknown(root.public());
        identity.begin(root, &[Device::of(keys)], now.at.utc_ms);
        // A person who wrote before there were keys stays who they are.
        let person = if self.is_fresh()? { person_of(&root.public()) } else { self.owner.person };
        self.become_person(&identity, person, None)
    }

    /// A new list of the owner's devices by their twelve words: this one, and
    /// none of those before. What ends every quarrel.
    ///
    /// # Errors
    /// [`BookError::NoKeys`], [`BookError::Card`] for the words of somebody
    /// else, or what the storage reports.
    pub fn renew_identity(&mut self, keys: &DeviceKeys, root: &RootKey, now: Now) -> Result<(), BookError> {
        let keys = &self.numbered(keys);
        let mut identity = self.own_identity()?;
        if identity.device(self.device).is_some_and(|device| device != Device::of(keys)) {
            return Err(BookError::WrongKeys);
        }
        if identity.root() != root.public() {
            return Err(BookError::Card { why: "the words are not those of this book's owner".into() });
        }
        identity.begin(root, &[Device::of(keys)], now.at.utc_ms);
        store(&self.db, &identity, None, true)
    }

    /// The owner's public side, if the book has keys.
    ///
    /// # Errors
    /// What the storage reports.
    pub fn identity(&self) -> Result<Option<Identity>, BookError> {
        let root: Option<Vec<u8>> = self
            .db
            .query_row("SELECT value FROM about WHERE key = 'root'", [], |row| row.get(0))
            .optional()?;
        let Some(root) = root.and_then(|root| PublicKey::try_from(root).ok()) else { return Ok(None) };
        load(&self.db, &root)
    }

    /// The contact card of the owner, as this device shows it.
    ///
    /// # Errors
    /// [`BookError::NoKeys`], [`BookError::WrongKeys`], [`BookError::Revoked`],
    /// [`BookError::NeedsGuardian`], or what the storage reports.
    pub fn card(&self, keys: &DeviceKeys, now: Now) -> Result<Card, BookError> {
        let identity = self.standing_identity(keys)?;
        self.may_show_card(now)?;
        let (owner, keys) = (&self.owner, &self.numbered(keys));
        Ok(Card::new(keys, identity, owner.person, owner.name.clone(), owner.role, now.at))
    }

    /// Takes in somebody's card: from now on their files are taken in, and
    /// what is sent to them is sealed to their devices. Whoever was expected
    /// by that name is them now.
    ///
    /// # Errors
    /// [`BookError::Card`] for the owner's own card or one that contradicts a
    /// card taken in before, or what the storage reports.
    pub fn meet(&mut self, card: &Card) -> Result<Met, BookError> {
        let root = card.identity.root();
        if let Some(own) = self.identity()?.filter(|own| own.root() == root) {
            let mut merged = own;
            merged.merge(&card.identity);
            store(&self.db, &merged, None, true)?;
            return Ok(met(card, &merged, true));
        }
        claims_only_own(card)?;
        let tx = self.db.transaction_with_behavior(TransactionBehavior::Immediate)?;
        let (identity, known_before) = acquaint(&tx, card, self.owner.person)?;
        tx.commit()?;
        Ok(met(card, &identity, known_before))
    }

    /// Says that the device that made `card` is the owner's too. It joins by
    /// taking in this device's next card with [`Book::join`].
    ///
    /// # Errors
    /// [`BookError::Card`] for somebody's established device, [`BookError::Revoked`],
    /// or what the storage reports.
    pub fn add_device(&mut self, keys: &DeviceKeys, card: &Card) -> Result<(), BookError> {
        let mut identity = self.standing_identity(keys)?;
        let keys = &self.numbered(keys);
        let device = card
            .identity
            .standing()
            .into_iter()
            .find(|device| device.author == card.by())
            .ok_or_else(|| BookError::Card { why: "its device was revoked".into() })?;
        if card.identity.standing().len() > 1 {
            let why = format!(
                "it is that of {}, who has other devices; a new device is added before it is used",
                card.name
            );
            return Err(BookError::Card { why });
        }
        if !identity.vouch(keys, device) {
            return Err(BookError::Card { why: "another device has its number".into() });
        }
        store(&self.db, &identity, None, true)
    }

    /// This new device becomes one of the person's whose card it is; a device
    /// of theirs has added it before.
    ///
    /// # Errors
    /// [`BookError::Card`] if it hasn't, or if this book holds anything yet,
    /// or what the storage reports.
    pub fn join(&mut self, keys: &DeviceKeys, card: &Card) -> Result<(), BookError> {
        self.must_be_ours(keys)?;
        if !card.identity.standing().contains(&Device::of(keys)) {
            let why = format!(
                "{}'s device has not added this one yet; do that first, then make its card again",
                card.name
            );
            return Err(BookError::Card { why });
        }
        if !self.is_fresh()? {
            let why = "this book holds something already; a new device joins with a new book".into();
            return Err(BookError::Card { why });
        }
        self.become_person(&card.identity, card.person, Some((card.name.clone(), card.role)))
    }

    /// Says that a device of the owner's is lost. What it wrote stays; nothing
    /// is sealed to it any more, and no file of it is taken in by those who
    /// hear of it. `wanted` is the start of its identity.
    ///
    /// # Errors
    /// [`BookError::NoSuchDevice`], [`BookError::Revoked`], or what the storage reports.
    pub fn revoke_device(&mut self, keys: &DeviceKeys, wanted: &str) -> Result<AuthorId, BookError> {
        let mut identity = self.standing_identity(keys)?;
        let keys = &self.numbered(keys);
        let low = wanted.trim().to_lowercase();
        let fits = |device: &Device| !low.is_empty() && device.author.to_string().starts_with(&low);
        let standing = identity.standing();
        let mut found = standing.iter().filter(|device| fits(device));
        let (Some(gone), None) = (found.next(), found.next()) else {
            return Err(BookError::NoSuchDevice { wanted: crate::model::check::quoted(wanted) });
        };
        if gone.author == self.device {
            return Err(BookError::Card {
                why: "a device can't revoke itself; use another, or the twelve words".into(),
            });
        }
        identity.revoke(keys, gone.author);
        store(&self.db, &identity, None, true)?;
        Ok(gone.author)
    }

    /// Everybody of whom keys are known, the owner first, then by name.
    ///
    /// # Errors
    /// What the storage reports.
    pub fn acquaintances(&self) -> Result<Vec<Acquaintance>, BookError> {
        let mut statement = self.db.prepare_cached(
            "SELECT identity.root, person.name, person.role, met FROM identity
             LEFT JOIN person ON person.no = identity.person ORDER BY identity.root",
        )?;
        let mut rows = statement.query([])?;
        let own = self.identity()?.map(|identity| identity.root());
        let mut all = Vec::new();
        while let Some(row) = rows.next()? {
            let root: PublicKey = row.get(0)?;
            let Some(identity) = load(&self.db, &root)? else { continue };
            let owner = own == Some(root);
            let (name, role) = match (row.get::<_, Option<String>>(1)?, row.get::<_, Option<i64>>(2)?) {
                _ if owner => (self.owner.name.to_string(), Some(self.owner.role)),
                (Some(name), role) => (name, role.and_then(Role::from_code)),
                // Somebody whom another's file told of.
                (None, _) => match members::said_of(&self.db, &root)? {
                    Some(member) => (member.name.to_string(), Some(member.role)),
                    None => continue,
                },
            };
            all.push(Acquaintance {
                name,
                role,
                check_phrase: check_phrase(&root),
                owner,
                met: row.get(3)?,
                devices: identity
                    .devices()
                    .into_iter()
                    .map(|(device, stands)| KnownDevice {
                        device: device.author,
                        stands,
                        this: device.author == self.device,
                    })
                    .collect(),
            });
        }
        all.sort_by(|a, b| (!a.owner, &a.name, &a.check_phrase).cmp(&(!b.owner, &b.name, &b.check_phrase)));
        Ok(all)
    }

    /// Whether nothing was written or taken in yet.
    fn is_fresh(&self) -> Result<bool, BookError> {
        Ok(!self.db.prepare_cached("SELECT 1 FROM change LIMIT 1")?.exists([])?)
    }

    /// Keys that are given to a book without any have to be made for it.
    fn must_be_ours(&self, keys: &DeviceKeys) -> Result<(), BookError> {
        if keys.author() == self.device { Ok(()) } else { Err(BookError::WrongKeys) }
    }

    /// The keys under the number that the device has now.
    pub(super) fn numbered(&self, keys: &DeviceKeys) -> DeviceKeys {
        keys.numbered(self.device)
    }

    fn own_identity(&self) -> Result<Identity, BookError> {
        self.identity()?.ok_or(BookError::NoKeys)
    }

    /// The owner's identity, in which this device stands with these keys.
    pub(super) fn standing_identity(&self, keys: &DeviceKeys) -> Result<Identity, BookError> {
        let identity = self.own_identity()?;
        match identity.standing().into_iter().find(|device| device.author == self.device) {
            Some(device) if device == Device::of(&self.numbered(keys)) => Ok(identity),
            Some(_) => Err(BookError::WrongKeys),
            None => Err(BookError::Revoked),
        }
    }

    fn become_person(
        &mut self,
        identity: &Identity,
        person: PersonId,
        named: Option<(Name, Role)>,
    ) -> Result<(), BookError> {
        let tx = self.db.transaction_with_behavior(TransactionBehavior::Immediate)?;
        tx.execute("DELETE FROM identity WHERE person IS NULL", [])?;
        // Somebody met before may turn out to be the owner.
        tx.execute("DELETE FROM identity WHERE root = ?1", [identity.root()])?;
        let put = "INSERT OR REPLACE INTO about (key, value) VALUES (?1, ?2)";
        tx.execute(put, params!["root", identity.root()])?;
        tx.execute(put, params!["person", person.bytes()])?;
        if let Some((name, role)) = &named {
            tx.execute(put, params!["name", name.as_str()])?;
            tx.execute(put, params!["role", role.code()])?;
        }
        store(&tx, identity, None, true)?;
        tx.commit()?;
        self.owner.person = person;
        if let Some((name, role)) = named {
            self.owner.name = name;
            self.owner.role = role;
        }
        Ok(())
    }
}

/// The identity number of a person who began with keys: version 8 (RFC 9562,
/// section 5.8) over the start of SHA-256 of "chalkface person 1" and the
/// root, so that the twelve words alone say who somebody is in records.
fn person_of(root: &PublicKey) -> PersonId {
    let digest = Sha256::new().chain_update("chalkface person 1").chain_update(root).finalize();
    let mut bytes = [0; 16];
    for (to, from) in bytes.iter_mut().zip(digest) {
        *to = from;
    }
    PersonId(uuid::Builder::from_custom_bytes(bytes).into_uuid())
}

/// A number that was made from a root belongs to that root.
fn claims_only_own(card: &Card) -> Result<(), BookError> {
    let made_from_a_root = card.person.0.get_version_num() == 8;
    if made_from_a_root && card.person != person_of(&card.identity.root()) {
        return Err(BookError::Card { why: "it claims to be somebody whose keys it doesn't have".into() });
    }
    Ok(())
}

/// Notes the person of a card, who is not the owner; answers all that is
/// known of their devices now, and whether they were known before.
fn acquaint(db: &Connection, card: &Card, owner: PersonId) -> Result<(Identity, bool), BookError> {
    let root = card.identity.root();
    let contradicts = |name: &str| BookError::Card {
        why: format!(
            "{name} is known here by other keys; if they have lost theirs, they use their twelve words on the new device"
        ),
    };
    if card.person == owner {
        return Err(contradicts("the owner of this book"));
    }
    let other: Option<PublicKey> = db
        .query_row(
            "SELECT root FROM identity JOIN person ON person.no = identity.person WHERE person.id = ?1",
            [card.person.bytes()],
            |row| row.get(0),
        )
        .optional()?;
    if other.is_some_and(|other| other != root) {
        return Err(contradicts(card.name.as_str()));
    }
    let mut identity = Identity::unknown(root);
    let known = load(db, &root)?;
    let known_before = known.is_some();
    if let Some(known) = known {
        identity = known;
    }
    identity.merge(&card.identity);
    let of_root: Option<No> = db
        .query_row("SELECT person FROM identity WHERE root = ?1", [root], |row| row.get(0))
        .optional()?
        .flatten();
    let person = match of_root {
        Some(no) => {
            db.execute(
                "UPDATE person SET name = ?2, role = ?3, id = coalesce(id, ?4) WHERE no = ?1",
                params![no, card.name.as_str(), card.role.code(), card.person.bytes()],
            )?;
            no
        }
        None => people::note(db, card.person, card.name.as_str(), card.role, None)?.no,
    };
    store(db, &identity, Some(person), true)?;
    note_devices(db, &identity, person)?;
    Ok((identity, known_before))
}

/// Notes whose devices a person's are.
pub(super) fn note_devices(db: &Connection, identity: &Identity, person: No) -> Result<(), BookError> {
    for (device, _) in identity.devices() {
        let author = author_no(db, device.author)?;
        db.prepare_cached("INSERT OR IGNORE INTO device (author, person) VALUES (?1, ?2)")?
            .execute(params![author, person])?;
    }
    Ok(())
}

fn met(card: &Card, identity: &Identity, known_before: bool) -> Met {
    Met {
        name: card.name.to_string(),
        role: card.role,
        check_phrase: check_phrase(&identity.root()),
        devices: identity.standing().len(),
        known_before,
    }
}

/// What is known of a root's devices.
pub(super) fn load(db: &Connection, root: &PublicKey) -> Result<Option<Identity>, BookError> {
    let bytes: Option<Vec<u8>> = db
        .prepare_cached("SELECT statements FROM identity WHERE root = ?1")?
        .query_row([root], |row| row.get(0))
        .optional()?;
    Ok(bytes.map(|bytes| Identity::decode(&bytes)).transpose()?)
}

/// Keeps what is known of a root's devices; `person` is `None` for the owner.
pub(super) fn store(
    db: &Connection,
    identity: &Identity,
    person: Option<No>,
    met: bool,
) -> Result<(), BookError> {
    db.prepare_cached(
        "INSERT INTO identity (root, person, statements, met) VALUES (?1, ?2, ?3, ?4)
         ON CONFLICT DO UPDATE SET statements = excluded.statements, met = max(met, excluded.met),
         person = coalesce(person, excluded.person)",
    )?
    .execute(params![identity.root(), person, identity.encode(), met])?;
    Ok(())
}
