//! Parting with somebody and taking them back: the word of who owns a strand.
//!
//! The rule that must hold: what somebody wrote while they belonged to it
//! stays, nothing that they write later counts, and nothing more is sealed to
//! them. Start at [`Book::part_with`].

use rusqlite::{TransactionBehavior, params};

use super::error::BookError;
use super::exchange::{Side, holds};
use super::identity::load;
use super::members::{Members, member_id};
use super::read::StudentEntry;
use super::write::write_in;
use super::{Book, Draft, people};
use crate::model::{Member, Name, Now, Role};
use crate::sync::DeviceKeys;

impl Book {
    /// Somebody doesn't belong to the student's people any more. They keep
    /// what they hold; no file can take that back.
    ///
    /// # Errors
    /// [`BookError::NotOurWord`], [`BookError::NotMet`] for somebody who never
    /// belonged to them, or what keys and storage report.
    pub fn part_with(
        &mut self,
        keys: &DeviceKeys,
        student: &StudentEntry,
        who: &Name,
        now: Now,
    ) -> Result<(), BookError> {
        self.say(keys, student, who, now, true)
    }

    /// Somebody whom the owner parted with belongs to their people again.
    ///
    /// # Errors
    /// As [`Book::part_with`].
    pub fn let_in_again(
        &mut self,
        keys: &DeviceKeys,
        student: &StudentEntry,
        who: &Name,
        now: Now,
    ) -> Result<(), BookError> {
        self.say(keys, student, who, now, false)
    }

    fn say(
        &mut self,
        keys: &DeviceKeys,
        student: &StudentEntry,
        who: &Name,
        now: Now,
        left: bool,
    ) -> Result<(), BookError> {
        let own = self.standing_identity(keys)?;
        let (person, role, device) = (self.owner.person, self.owner.role, self.device);
        let tx = self.db.transaction_with_behavior(TransactionBehavior::Immediate)?;
        let strand = Side { db: &tx, device, person, role, own: &own, now }.own_strand(student)?;
        let members = Members::of(&tx, strand)?;
        let mut member =
            members.named(&tx, who)?.ok_or_else(|| BookError::NotMet { person: who.to_string() })?;
        member.left = left;
        member.counted.clear();
        if left {
            // What is here of theirs counts; what they write from now on doesn't.
            let theirs = load(&tx, &member.root)?;
            for (_, author, upto) in holds(&tx, strand, device)? {
                if theirs.as_ref().is_some_and(|theirs| theirs.device(author).is_some()) {
                    member.counted.push((*author.bytes(), upto));
                }
            }
            tx.execute(
                "DELETE FROM reader WHERE strand = ?1 AND person =
                 (SELECT person FROM identity WHERE root = ?2)",
                params![strand, member.root],
            )?;
        }
        write_in(&tx, student.strand, device, now, [Draft::put(member_id(&member.root), &member)])?;
        tx.commit()?;
        Ok(())
    }
}

impl Members {
    /// The member called so; also who began the strand and was never mentioned.
    fn named(&self, db: &rusqlite::Connection, who: &Name) -> Result<Option<Member>, BookError> {
        if let Some(member) = self.all().find(|m| people::same_name(m.name.as_str(), who.as_str())) {
            return Ok(Some(member.clone()));
        }
        let Some(founder) = self.say.founder else { return Ok(None) };
        let name: Option<String> = people::name_of(db, &founder)?;
        Ok(name
            .filter(|name| people::same_name(name, who.as_str()))
            .and_then(|name| Name::new(&name).ok())
            .map(|name| Member::new(name, Role::Coach, founder)))
    }
}
