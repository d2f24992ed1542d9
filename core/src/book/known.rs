//! Whom a file's changes can be checked by: those whom the book knows, and
//! those whom the file itself tells of.
//!
//! The rule that must hold: whose device it is was said first by somebody the
//! book knows, and stays so; what a file says of others is kept only where
//! they belong to a strand that was taken in. Start at [`Known::who`].

use std::collections::BTreeMap;

use rusqlite::{Connection, OptionalExtension, params};

use super::error::BookError;
use super::fold::{No, author_no};
use super::identity::{load, note_devices, store};
use super::people::Person;
use crate::model::AuthorId;
use crate::sync::{Device, Identity, PublicKey};

/// The most people whom a file may tell of.
const MOST_PEOPLE: usize = 64;

/// Whom one file's changes can be checked by.
pub(super) struct Known<'a> {
    db: &'a Connection,
    own: Option<Identity>,
    heard: BTreeMap<PublicKey, Identity>,
    devices: BTreeMap<AuthorId, Option<(Identity, Device)>>,
}

impl<'a> Known<'a> {
    /// `own` is who we are; without it nothing is signed.
    pub(super) fn new(db: &'a Connection, own: Option<Identity>) -> Self {
        Self { db, own, heard: BTreeMap::new(), devices: BTreeMap::new() }
    }

    /// Whether the file is one with signatures.
    pub(super) fn signed(&self) -> bool {
        self.own.is_some()
    }

    pub(super) fn own(&self) -> Option<&Identity> {
        self.own.as_ref()
    }

    pub(super) fn own_root(&self) -> Option<PublicKey> {
        self.own.as_ref().map(Identity::root)
    }

    /// Whether it is somebody whose card was taken in, or ourselves.
    pub(super) fn has_met(&self, root: &PublicKey) -> bool {
        self.own_root().as_ref() == Some(root)
            || self
                .db
                .prepare_cached("SELECT 1 FROM identity WHERE root = ?1 AND met = 1")
                .and_then(|mut statement| statement.exists([root]))
                .unwrap_or(false)
    }

    /// Takes in what a file says of somebody. Of those who are known here it is kept.
    pub(super) fn hear(&mut self, person: Identity) -> Result<(), BookError> {
        let root = person.root();
        self.devices.clear();
        if let Some(own) = self.own.as_mut().filter(|own| own.root() == root) {
            own.merge(&person);
            return store(self.db, own, None, true);
        }
        match load(self.db, &root)? {
            Some(mut known) => {
                known.merge(&person);
                store(self.db, &known, None, false)?;
                if let Some(no) = self.no(&root)? {
                    note_devices(self.db, &known, no)?;
                }
            }
            None if self.heard.len() < MOST_PEOPLE => {
                self.heard.entry(root).and_modify(|heard| heard.merge(&person)).or_insert(person);
            }
            None => {}
        }
        Ok(())
    }

    /// Keeps what was heard of somebody who belongs to a strand of ours.
    /// Whether there was anything new.
    pub(super) fn keep(&mut self, root: &PublicKey) -> Result<bool, BookError> {
        let Some(heard) = self.heard.remove(root) else { return Ok(false) };
        store(self.db, &heard, None, false)?;
        self.devices.clear();
        Ok(true)
    }

    /// All that is known of somebody now.
    pub(super) fn person(&self, root: &PublicKey) -> Result<Option<Identity>, BookError> {
        match &self.own {
            Some(own) if own.root() == *root => Ok(Some(own.clone())),
            _ => load(self.db, root),
        }
    }

    /// The row of somebody among the people.
    pub(super) fn person_no(&self, root: Option<PublicKey>) -> Result<Option<Person>, BookError> {
        let Some(no) = root.map(|root| self.no(&root)).transpose()?.flatten() else { return Ok(None) };
        Ok(Some(Person { no, id: None, name: String::new(), role: None }))
    }

    fn no(&self, root: &PublicKey) -> Result<Option<No>, BookError> {
        Ok(self
            .db
            .prepare_cached("SELECT person FROM identity WHERE root = ?1")?
            .query_row([root], |row| row.get(0))
            .optional()?
            .flatten())
    }

    /// Whose device it is that wrote under an identity.
    pub(super) fn who(&mut self, author: AuthorId) -> Result<Option<(Identity, Device)>, BookError> {
        if let Some(known) = self.devices.get(&author) {
            return Ok(known.clone());
        }
        let found = self.look_up(author)?;
        self.devices.insert(author, found.clone());
        Ok(found)
    }

    fn look_up(&self, author: AuthorId) -> Result<Option<(Identity, Device)>, BookError> {
        let of = |person: &Identity| person.device(author).map(|device| (person.clone(), device));
        if let Some(ours) = self.own.as_ref().and_then(of) {
            return Ok(Some(ours));
        }
        let no = author_no(self.db, author)?;
        let pinned: Option<PublicKey> = self
            .db
            .prepare_cached(
                "SELECT identity.root FROM device JOIN identity ON identity.person = device.person
                 WHERE device.author = ?1",
            )?
            .query_row(params![no], |row| row.get(0))
            .optional()?;
        if let Some(root) = pinned {
            return Ok(load(self.db, &root)?.as_ref().and_then(of));
        }
        // Those who belong to a strand of ours without having met us.
        let mut statement = self
            .db
            .prepare_cached("SELECT root FROM identity WHERE person IS NULL AND met = 0 ORDER BY root")?;
        let roots: Vec<PublicKey> = statement.query_map([], |row| row.get(0))?.collect::<Result<_, _>>()?;
        for root in roots {
            if let Some(found) = load(self.db, &root)?.as_ref().and_then(of) {
                return Ok(Some(found));
            }
        }
        Ok(self.heard.values().find_map(of))
    }
}
