//! Of somebody under 16 nothing leaves the device without the guardian's box: no
//! exchange file, and of their own book no contact card.
//!
//! Only the year of birth is known, so whoever may still be 15 counts as under 16;
//! where values of the year conflict, the youngest counts. Where no year is known
//! nothing is held back: the shells ask for it. The rule that must hold: no byte is
//! written before the box is asked. Start at [`Book::needs_guardian`].

use rusqlite::{Connection, TransactionBehavior};

use super::error::BookError;
use super::exchange::Side;
use super::fold::{No, state_of};
use super::identity::load;
use super::members::Say;
use super::read::StudentEntry;
use super::write::write_in;
use super::{Book, DeviceKeys, Draft};
use crate::model::{Guardian, Kind, Now, Record, RecordId, Role, StrandId};
use crate::sync::State;

/// The field of a student's year of birth.
const BIRTH_YEAR: u16 = 4;
/// Whoever is this old by the year may still be a year younger.
const OLDEST: i64 = 16;

/// The one record of the box: the same on every device.
fn box_id() -> RecordId {
    RecordId(uuid::Builder::from_custom_bytes(*b"guardian's box 1").into_uuid())
}

impl Book {
    /// What the guardian said, as far as it counts.
    ///
    /// # Errors
    /// What the storage reports.
    pub fn guardian(&self, strand: StrandId) -> Result<Option<Guardian>, BookError> {
        match self.strand_no(strand)? {
            Some(no) => said(&self.db, no),
            None => Ok(None),
        }
    }

    /// Whether files about a student wait for the guardian's box.
    ///
    /// # Errors
    /// What the storage reports.
    pub fn needs_guardian(&self, strand: StrandId, now: Now) -> Result<bool, BookError> {
        match self.strand_no(strand)? {
            Some(no) => waits(&self.db, (no, strand), now),
            None => Ok(false),
        }
    }

    /// Sets the guardian's box, or takes it back: on the student's device, or on that
    /// of who made a student that has none.
    ///
    /// # Errors
    /// [`BookError::NotOurWord`] on other devices, or what keys and storage report.
    pub fn set_guardian(
        &mut self,
        keys: &DeviceKeys,
        student: &StudentEntry,
        guardian: &Guardian,
        now: Now,
    ) -> Result<(), BookError> {
        let own = self.standing_identity(keys)?;
        let (person, role, device) = (self.owner.person, self.owner.role, self.device);
        let tx = self.db.transaction_with_behavior(TransactionBehavior::Immediate)?;
        Side { db: &tx, device, person, role, own: &own, now }.own_strand(student)?;
        write_in(&tx, student.strand, device, now, [Draft::put(box_id(), guardian)])?;
        tx.commit()?;
        Ok(())
    }

    /// The own card tells a name too.
    pub(super) fn may_show_card(&self, now: Now) -> Result<(), BookError> {
        if self.owner.role != Role::Student {
            return Ok(());
        }
        for student in self.students()? {
            if self.needs_guardian(student.strand, now)? {
                return Err(BookError::NeedsGuardian);
            }
        }
        Ok(())
    }
}

/// Whether nothing of a strand may leave yet.
pub(super) fn waits(db: &Connection, (no, id): (No, StrandId), now: Now) -> Result<bool, BookError> {
    let Some(student) = state_of(db, no, Kind::STUDENT, RecordId(id.0))? else { return Ok(false) };
    let this_year = i64::from(now.at.local_day().parts().0);
    let young = student
        .standing_writes()
        .filter_map(|(_, fields)| fields.whole(BIRTH_YEAR))
        .any(|year| this_year - year <= OLDEST);
    Ok(young && !said(db, no)?.is_some_and(|guardian| guardian.agrees))
}

/// What the owner of a strand wrote of the box; where they said nothing, its founder.
fn said(db: &Connection, no: No) -> Result<Option<Guardian>, BookError> {
    let Some(state) = state_of(db, no, Kind::GUARDIAN, box_id())? else { return Ok(None) };
    let say = Say::of(db, no)?;
    for root in [say.owner, say.founder].into_iter().flatten() {
        let Some(person) = load(db, &root)? else { continue };
        if let Some(said) = counting(&state, |author| person.device(author).is_some()) {
            return Ok(Some(said));
        }
    }
    Ok(None)
}

fn counting(state: &State, by: impl Fn(crate::model::AuthorId) -> bool) -> Option<Guardian> {
    Guardian::from_fields(&state.current_by(by)).ok()
}
