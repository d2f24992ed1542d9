//! An export being taken in: as a file from ourselves, without its sender's seal.
//! Start at [`Importing::begin`]; what reads the export is `export::import`.

use std::collections::BTreeMap;

use rusqlite::Connection;

use super::{Intake, OpenStrand, receipt_of};
use crate::book::comeback::renumber;
use crate::book::error::BookError;
use crate::book::identity::store;
use crate::book::known::Known;
use crate::book::read::StudentEntry;
use crate::book::receipt::{Receipt, RefusedChange};
use crate::book::{Book, Owner};
use crate::model::{AuthorId, Now, StrandId};
use crate::sync::{Change, DeviceKeys, Header, Identity, PublicKey, Run, StrandHeader};

/// An export being taken in, inside one transaction.
pub(in crate::book) struct Importing<'a> {
    intake: Intake<'a>,
    open: Option<OpenStrand>,
    /// The strand that is open is new in this book.
    is_new: bool,
}

impl Book {
    /// The header of a file from us to us.
    pub(in crate::book) fn own_header(&self, own: &Identity, now: Now) -> Header {
        Header {
            device: self.device,
            person: self.owner.person,
            name: self.owner.name.to_string(),
            role: self.owner.role,
            made: now.at,
            to_name: self.owner.name.to_string(),
            to_person: Some(self.owner.person),
            root: Some(own.root()),
            to_root: Some(own.root()),
        }
    }
}

impl<'a> Importing<'a> {
    pub(in crate::book) fn begin(
        db: &'a Connection,
        (device, owner): (AuthorId, &Owner),
        (own, keys): (&Identity, &'a DeviceKeys),
        now: Now,
        header: &'a Header,
        students: &'a [StudentEntry],
    ) -> Self {
        let intake = Intake {
            db,
            own: device,
            person: owner.person,
            role: owner.role,
            now,
            header,
            students,
            known: Known::new(db, Some(own.clone())),
            keys: Some(keys),
            authors: BTreeMap::new(),
            refused: BTreeMap::new(),
            receipt: receipt_of(header.name.clone()),
        };
        Self { intake, open: None, is_new: false }
    }

    /// Somebody whose devices wrote what follows. They are kept, so that what they
    /// wrote can be sent on.
    pub(in crate::book) fn person(&mut self, person: Identity) -> Result<(), BookError> {
        let root = person.root();
        if self.intake.known.person(&root)?.is_none() {
            return store(self.intake.db, &person, None, false);
        }
        self.intake.known.hear(person)
    }

    pub(in crate::book) fn strand(
        &mut self,
        strand: StrandId,
        owner: Option<PublicKey>,
        founder: Option<PublicKey>,
    ) -> Result<(), BookError> {
        self.close()?;
        self.is_new =
            !self.intake.db.prepare_cached("SELECT 1 FROM strand WHERE id = ?1")?.exists([strand.bytes()])?;
        let header = StrandHeader { strand, holds: Vec::new(), digest: [0; 32], owner, founder };
        self.open = Some(self.intake.open(header)?);
        Ok(())
    }

    pub(in crate::book) fn run(
        &mut self,
        author: AuthorId,
        run: &Run,
        changes: Vec<Change>,
    ) -> Result<(), BookError> {
        if let Some(strand) = &mut self.open {
            return self.intake.take_run(strand, author, run, changes);
        }
        self.intake.refuse(changes.len() as u64, "they belong to no student");
        Ok(())
    }

    pub(in crate::book) fn unsigned(&mut self, change: &Change) -> Result<(), BookError> {
        match &mut self.open {
            Some(strand) if self.is_new && strand.gone.is_none() => {
                self.intake.take(strand, None, u64::MAX, std::slice::from_ref(change)).map(|_| ())
            }
            _ => {
                self.intake.refuse(1, "nobody has signed them, and this book has the student already");
                Ok(())
            }
        }
    }

    fn close(&mut self) -> Result<(), BookError> {
        match self.open.take() {
            Some(strand) => self.intake.close(strand),
            None => Ok(()),
        }
    }

    /// What came in, and the device's new number where it turned out to be an old copy.
    pub(in crate::book) fn end(
        mut self,
        own: Identity,
        keys: &DeviceKeys,
    ) -> Result<(Receipt, Option<AuthorId>), BookError> {
        self.close()?;
        let Intake { db, now, refused, mut receipt, known, .. } = self.intake;
        receipt.refused =
            refused.into_iter().map(|(reason, changes)| RefusedChange { changes, reason }).collect();
        let own = known.own().cloned().unwrap_or(own);
        let number = if receipt.came_back { Some(renumber(db, keys, own, now)?) } else { None };
        Ok((receipt, number))
    }
}
