//! A strand of a file: whether its sender may bring it, who belongs to it, and
//! what it comes to. Start at `open` and `close`.

use std::collections::{BTreeMap, BTreeSet};

use rusqlite::{OptionalExtension, params};

use super::{Intake, OpenStrand};
use crate::book::check::{digest_of_table, rebuild_strand};
use crate::book::erase::forget_name;
use crate::book::erased::{Erased, Gone, gone, sweep, sweep_all};
use crate::book::error::BookError;
use crate::book::exchange::{Side, has_gap, holds};
use crate::book::fold::{No, state_of, strand_no};
use crate::book::members::{Members, Say};
use crate::book::people::{self, Person};
use crate::book::receipt::{FieldConflict, StrandReceipt};
use crate::book::runs;
use crate::model::{AuthorId, Kind, RecordId, Role, StrandId};
use crate::sync::erasure::tag_of_all;
use crate::sync::{Change, Hlc, StrandHeader};

impl Intake<'_> {
    pub(super) fn open(&mut self, header: StrandHeader) -> Result<OpenStrand, BookError> {
        let known = self
            .db
            .prepare_cached("SELECT no FROM strand WHERE id = ?1")?
            .query_row([header.strand.bytes()], |row| row.get(0))
            .optional()?;
        let gone = known.map(|no| gone(self.db, no)).transpose()?.flatten();
        let barred = match gone {
            Some(Gone::GivenUp) => {
                Some("this device has given that student up; take them on again first".to_owned())
            }
            // What comes is looked at one by one: see `after_all`.
            Some(Gone::Erased) => None,
            None => self.bar(known, &header)?,
        };
        let no = if barred.is_some() {
            known.unwrap_or(0)
        } else {
            let no = strand_no(self.db, header.strand)?;
            if gone.is_none() {
                self.welcome(no, &header)?;
            }
            no
        };
        let members = self.members(no, barred.is_none())?;
        let erased = Erased::of(self.db, no, header.strand)?;
        let (heard, in_conflict) = (BTreeMap::new(), BTreeSet::new());
        Ok(OpenStrand {
            header,
            no,
            barred,
            members,
            gone,
            erased,
            erases: false,
            taken: 0,
            heard,
            in_conflict,
        })
    }

    /// Who belongs to a strand, once what the file says of them is stored.
    pub(super) fn members(&mut self, no: No, welcome: bool) -> Result<Members, BookError> {
        if !welcome || !self.known.signed() {
            return Ok(Members::default());
        }
        loop {
            let members = Members::of(self.db, no)?;
            let say = [members.say.owner, members.say.founder];
            let mut learned = false;
            for root in say.into_iter().flatten().chain(members.all().map(|member| member.root)) {
                learned |= self.known.keep(&root)?;
            }
            if !learned {
                return Ok(members);
            }
        }
    }

    /// Why the sender may not write into a strand, if so.
    fn bar(&self, known: Option<No>, header: &StrandHeader) -> Result<Option<String>, BookError> {
        let from = &self.header.name;
        let own = self.known.own_root();
        if own.is_some() && self.header.root == own {
            return Ok(None);
        }
        let another = || Some("they are about another student than the one this book is for".into());
        let Some(no) = known else {
            let about_another = own.is_some() && header.owner.is_some() && header.owner != own;
            let taken = !self.students.is_empty() || about_another;
            return Ok(if self.role == Role::Student && taken { another() } else { None });
        };
        let student = self.students.iter().find(|s| s.strand == header.strand);
        let say = Say::of(self.db, no)?;
        if say.owner.is_some() {
            let stranger = || {
                let whose = student.map_or("that student", |s| s.student.value.name.as_str());
                Some(format!("{from} was never sent what belongs to {whose}"))
            };
            let Some(root) = self.header.root else {
                return Err(BookError::Unsigned { from: from.clone() });
            };
            // Somebody who left may still bring what counts: each change is asked.
            let members = Members::of(self.db, no)?;
            let belongs = members.role(&root).is_some() || members.all().any(|member| member.root == root);
            return Ok(if belongs { None } else { stranger() });
        }
        let Some(student) = student else { return Ok(None) };
        // Who holds what stands in this strand was let in by somebody, perhaps
        // through a relay: only a stranger to the strand is kept out.
        let ours = holds(self.db, no, self.own)?;
        let holds_ours =
            header.holds.iter().any(|(theirs, _)| ours.iter().any(|(_, author, _)| author == theirs));
        let sender =
            Person { no: 0, id: Some(self.header.person), name: from.clone(), role: Some(self.header.role) };
        let reads = self
            .db
            .prepare_cached("SELECT 1 FROM reader JOIN person ON person.no = reader.person WHERE strand = ?1 AND person.id = ?2")?
            .exists(params![no, self.header.person.bytes()])?;
        if reads || holds_ours || people::is_the_student(&sender, student) {
            return Ok(None);
        }
        Ok(Some(format!("{from} was never sent what belongs to {}", student.student.value.name)))
    }

    /// Notes who sent a strand and what they hold of it.
    fn welcome(&mut self, no: No, header: &StrandHeader) -> Result<(), BookError> {
        let device = self.author(self.header.device)?;
        if self.known.signed() {
            self.have_a_say(no, header)?;
        } else {
            let person = people::sender(self.db, self.header, people::only_unheard(self.db, no)?)?;
            people::let_read(self.db, no, &person)?;
            self.db.execute(
                "INSERT OR REPLACE INTO device (author, person) VALUES (?1, ?2)",
                params![device, person.no],
            )?;
        }
        for (author, upto) in &header.holds {
            let author = self.author(*author)?;
            people::acknowledge(self.db, device, no, author, *upto)?;
        }
        Ok(())
    }

    /// Who says who belongs to the strand: we, if it is about us and nobody
    /// does yet; else whom the first file of it names.
    fn have_a_say(&mut self, no: No, header: &StrandHeader) -> Result<(), BookError> {
        if let Some(person) = self.known.person_no(self.header.root)? {
            people::let_read(self.db, no, &person)?;
        }
        let student = self.students.iter().find(|s| s.strand == header.strand);
        if let (Some(student), Some(own)) = (student, self.known.own()) {
            let side = Side {
                db: self.db,
                device: self.own,
                person: self.person,
                role: self.role,
                own,
                now: self.now,
            };
            side.claim((no, header.strand), student)?;
        }
        if Say::of(self.db, no)?.owner.is_none() {
            Say { owner: header.owner, founder: header.founder }.store(self.db, no)?;
        }
        Ok(())
    }

    pub(super) fn close(&mut self, strand: OpenStrand) -> Result<(), BookError> {
        let OpenStrand { header, no, barred, gone, erased, erases, taken, heard, in_conflict, .. } = strand;
        if barred.is_some() {
            return Ok(());
        }
        if gone.is_some() {
            return self.close_for_good(&header, no, erases);
        }
        let mut missing = 0;
        for (author, hlc) in heard {
            if author == self.own {
                self.receipt.came_back = true;
            } else {
                let author = self.author(author)?;
                missing += self.mark_heard(no, author, hlc)?;
            }
        }
        if erases {
            // What is erased can't be signed any more.
            if let Some(keys) = self.keys {
                runs::sign_own(self.db, keys, (no, header.strand))?;
            }
            self.receipt.erased += sweep(self.db, (no, header.strand), &erased)?.records;
        }
        for (kind, record) in in_conflict {
            let state = state_of(self.db, no, kind, record)?.unwrap_or_default();
            self.receipt.conflicts.extend(state.conflicts().into_iter().map(|conflict| FieldConflict {
                strand: header.strand,
                kind,
                record,
                conflict,
            }));
        }
        let holds: Vec<(AuthorId, u64)> =
            holds(self.db, no, self.own)?.into_iter().map(|(_, author, upto)| (author, upto)).collect();
        let ours: BTreeMap<AuthorId, u64> = holds.iter().copied().collect();
        let complete =
            header.holds.iter().all(|(author, upto)| ours.get(author).is_some_and(|have| have >= upto));
        let agrees = if holds == header.holds && header.digest != [0; 32] && !has_gap(self.db, no)? {
            // The fold can be made again at any time, so a difference is
            // mended here before it is called one.
            if digest_of_table(self.db, no)? != header.digest {
                rebuild_strand(self.db, no)?;
            }
            Some(digest_of_table(self.db, no)? == header.digest)
        } else {
            None
        };
        let name = self.student_name(no, header.strand)?;
        self.receipt.taken += taken;
        self.receipt.strands.push(StrandReceipt {
            strand: header.strand,
            student: name,
            taken,
            missing,
            complete,
            agrees,
        });
        Ok(())
    }

    /// What comes of a strand that was erased: only that it was is no news.
    pub(super) fn after_all(&mut self, strand: &OpenStrand, changes: &[Change]) {
        let word = tag_of_all(strand.header.strand);
        for change in changes {
            if (change.kind, change.record) == (Kind::ERASURE, word) {
                self.receipt.already_had += 1;
            } else {
                self.refuse(1, "all of that student was erased, as they asked");
            }
        }
    }

    /// A strand of which this file, or one before, says that all of it was erased.
    fn close_for_good(&mut self, header: &StrandHeader, no: No, erases: bool) -> Result<(), BookError> {
        if erases {
            self.receipt.erased += sweep_all(self.db, (no, header.strand), Gone::Erased)?.records;
            forget_name(self.db, no)?;
        }
        self.receipt.taken += u64::from(erases);
        self.receipt.strands.push(StrandReceipt {
            strand: header.strand,
            student: header.strand.to_string(),
            taken: u64::from(erases),
            missing: 0,
            complete: true,
            agrees: None,
        });
        Ok(())
    }

    /// Moves the mark of how far a device was heard without a gap; answers how
    /// many changes are missing before the latest that is there.
    fn mark_heard(&self, strand: No, author: No, hlc: Hlc) -> Result<u64, BookError> {
        let before: Option<i64> = self
            .db
            .prepare_cached("SELECT upto FROM heard WHERE strand = ?1 AND author = ?2")?
            .query_row(params![strand, author], |row| row.get(0))
            .optional()?;
        let mut upto = before.unwrap_or(0);
        let (mut last, mut after_gap) = (upto, 0);
        let mut statement = self.db.prepare_cached(
            "SELECT seq FROM change WHERE strand = ?1 AND author = ?2 AND seq > ?3 ORDER BY seq",
        )?;
        let mut rows = statement.query(params![strand, author, upto])?;
        while let Some(row) = rows.next()? {
            last = row.get(0)?;
            if last == upto + 1 {
                upto = last;
            } else {
                after_gap += 1;
            }
        }
        self.db
            .prepare_cached(
                "INSERT INTO heard (strand, author, upto, hlc) VALUES (?1, ?2, ?3, ?4)
                 ON CONFLICT DO UPDATE SET upto = excluded.upto, hlc = max(hlc, excluded.hlc)",
            )?
            .execute(params![strand, author, upto, hlc.packed() as i64])?;
        Ok((last - upto - after_gap) as u64)
    }

    fn student_name(&self, no: No, strand: StrandId) -> Result<String, BookError> {
        let state = state_of(self.db, no, Kind::STUDENT, RecordId(strand.0))?.unwrap_or_default();
        Ok(state.current().text(1).map_or_else(|| strand.to_string(), str::to_owned))
    }
}
