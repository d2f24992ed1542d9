//! Who may write what: asked of the author of each change, whoever brings it.
//! Start at `Forge`, which signs what a book of ours would not.

use super::exchange::{Take, pair};
use super::*;
use crate::sync::file::FileWriter;
use crate::sync::run::base;
use crate::sync::seal::seal;
use crate::sync::{Body, Change as SyncChange, Header, Hlc, Identity, Run, StrandHeader};

/// Writes files that a book of ours would not, with keys that are real.
pub(super) struct Forge<'a> {
    pub by: &'a Book,
    pub to: &'a Book,
    pub strand: StrandId,
}

impl Forge<'_> {
    pub(super) fn identity(book: &Book) -> Identity {
        book.identity().unwrap().unwrap()
    }

    pub(super) fn change(&self, seq: u64, record: RecordId, kind: Kind, body: &Body) -> SyncChange {
        let ms = 1_773_000_000_000 + seq as i64;
        let made = Moment { utc_ms: ms, offset_min: 60 };
        let author = self.by.device();
        SyncChange { author, seq, hlc: Hlc::after(None, ms), made, kind, record, body: body.encode() }
    }

    /// One run of changes, signed and sealed as if all was well.
    pub(super) fn file(&self, changes: &[SyncChange]) -> Vec<u8> {
        let keys = testing::keys(self.by);
        let (run, _) = Run::sign(&keys, self.strand, base(self.strand, keys.author()), changes);
        self.file_with(&run, changes)
    }

    fn file_with(&self, run: &Run, changes: &[SyncChange]) -> Vec<u8> {
        self.file_of(run, changes[0].author, changes)
    }

    pub(super) fn file_of(&self, run: &Run, author: AuthorId, changes: &[SyncChange]) -> Vec<u8> {
        let keys = testing::keys(self.by);
        let owner = self.by.owner();
        let header = Header {
            device: self.by.device(),
            person: owner.person,
            name: owner.name.to_string(),
            role: owner.role,
            made: Moment { utc_ms: 1_773_000_000_000, offset_min: 60 },
            to_name: self.to.owner().name.to_string(),
            to_person: Some(self.to.owner().person),
            root: Some(Self::identity(self.by).root()),
            to_root: Some(Self::identity(self.to).root()),
        };
        let sealed = seal(&[testing::keys(self.to).sealing_public()], Vec::new()).unwrap();
        let mut writer = FileWriter::new(sealed, &header).unwrap();
        writer.person(&Self::identity(self.by)).unwrap();
        let (owner, founder) = (header.root, header.root);
        let holds = vec![(author, run.last())];
        writer.strand(&StrandHeader { strand: self.strand, holds, digest: [0; 32], owner, founder }).unwrap();
        writer.run(author, run, changes).unwrap();
        writer.finish(&keys).unwrap().finish().unwrap()
    }
}

fn put<R: Record>(record: &R) -> Body {
    Body { fields: record.to_fields(), replaces: Vec::new() }
}

/// A third person, met by both, whom the student has let in.
pub(super) fn third(
    bench: &mut Bench,
    ina: &mut Book,
    bo: &mut Book,
    student: &StudentEntry,
    role: Role,
) -> Book {
    let mut cleo = bench.keyed("Cleo", role);
    testing::meet(ina, &mut cleo);
    testing::meet(bo, &mut cleo);
    let now = bench.now();
    let file = testing::file(ina, student, "Cleo", now, true);
    cleo.take(&file).unwrap();
    cleo
}

fn reasons(receipt: &Receipt) -> Vec<&str> {
    receipt.refused.iter().map(|refused| refused.reason.as_str()).collect()
}

#[test]
fn a_reader_reads_and_what_they_write_is_kept_out_wherever_it_comes_from() {
    let mut bench = Bench::new();
    let (mut ina, mut bo, student) = pair(&mut bench);
    let mut guardian = third(&mut bench, &mut ina, &mut bo, &student, Role::Reader);
    assert_eq!(guardian.digest(student.strand).unwrap(), ina.digest(student.strand).unwrap());
    let now = bench.now();
    let notes = (1..4).map(|n| Draft::put(id(n), &note("not for me to say")));
    guardian.write(student.strand, now, notes).unwrap();
    let before = ina.digest(student.strand).unwrap();
    let file = testing::file(&mut guardian, &student, "Ina", bench.now(), true);
    let receipt = ina.take(&file).unwrap();
    assert_eq!((receipt.taken, reasons(&receipt)), (0, vec!["their writer may read and not write"]));
    assert_eq!(ina.digest(student.strand).unwrap(), before);
}

#[test]
fn a_second_coach_is_known_through_the_student_and_their_changes_keep_their_author() {
    let mut bench = Bench::new();
    let (mut ina, mut bo, student) = pair(&mut bench);
    let mut cleo = bench.keyed("Cleo", Role::Coach);
    testing::meet(&mut ina, &mut cleo);
    let file = testing::file(&mut ina, &student, "Cleo", bench.now(), true);
    cleo.take(&file).unwrap();
    let now = bench.now();
    cleo.write(student.strand, now, [Draft::put(id(1), &note("from Cleo"))]).unwrap();
    let file = testing::file(&mut cleo, &student, "Ina", bench.now(), false);
    ina.take(&file).unwrap();
    // Bo has never met Cleo, and takes in what Ina passes on.
    let file = testing::file(&mut ina, &student, "Bo Berg", bench.now(), false);
    let receipt = bo.take(&file).unwrap();
    assert_eq!(receipt.refused, []);
    let history = bo.history(student.strand, Kind::NOTE, id(1)).unwrap();
    assert_eq!(history[0].stamp.author, cleo.device());
    assert_eq!(bo.digest(student.strand).unwrap(), cleo.digest(student.strand).unwrap());
    let known = bo.acquaintances().unwrap();
    assert!(known.iter().any(|who| !who.owner && !who.met), "{known:?}");
}

#[test]
fn nobody_writes_in_the_name_of_another() {
    let mut bench = Bench::new();
    let (mut ina, mut bo, student) = pair(&mut bench);
    let cleo = third(&mut bench, &mut ina, &mut bo, &student, Role::Coach);
    let file = testing::file(&mut ina, &student, "Bo Berg", bench.now(), true);
    bo.take(&file).unwrap();
    let before = bo.check().unwrap();
    let forge = Forge { by: &cleo, to: &bo, strand: student.strand };
    let mut change = forge.change(9, id(1), Kind::NOTE, &put(&note("as if Ina had said so")));
    change.author = ina.device();
    // Cleo signs with her own key, which is all that she has.
    let (run, _) = Run::sign(&testing::keys(&cleo), student.strand, [0; 32], &[change.clone()]);
    let receipt = bo.take(&forge.file_with(&run, &[change])).unwrap();
    assert_eq!((receipt.taken, reasons(&receipt)), (0, vec!["their signature is not their writer's"]));
    assert_eq!(bo.check().unwrap(), before);
}

#[test]
fn a_stranger_to_a_student_brings_nothing_in() {
    let mut bench = Bench::new();
    let (mut ina, mut bo, student) = pair(&mut bench);
    let mut eve = bench.keyed("Eve", Role::Coach);
    testing::meet(&mut eve, &mut bo);
    let forge = Forge { by: &eve, to: &bo, strand: student.strand };
    let change = forge.change(1, id(1), Kind::NOTE, &put(&note("not mine")));
    let before = bo.check().unwrap();
    let receipt = bo.take(&forge.file(&[change])).unwrap();
    assert_eq!(receipt.taken, 0);
    assert!(receipt.refused[0].reason.contains("never sent"), "{:?}", receipt.refused);
    assert_eq!(bo.check().unwrap(), before);
    // Nor on the student's own phone, about her or about somebody else.
    testing::meet(&mut eve, &mut ina);
    for strand in [student.strand, StrandId::from_bytes([3; 16])] {
        let forge = Forge { by: &eve, to: &ina, strand };
        let receipt =
            ina.take(&forge.file(&[forge.change(1, id(1), Kind::NOTE, &put(&note("no")))])).unwrap();
        assert_eq!((receipt.taken, receipt.refused[0].changes), (0, 1));
    }
}

#[test]
fn a_coach_lets_nobody_in_and_makes_nobody_more_than_they_are() {
    let mut bench = Bench::new();
    let (mut ina, mut bo, student) = pair(&mut bench);
    let mut guardian = third(&mut bench, &mut ina, &mut bo, &student, Role::Reader);
    let forge = Forge { by: &bo, to: &ina, strand: student.strand };
    let root = Forge::identity(&guardian).root();
    let member = Member::new(name("Cleo"), Role::Coach, root);
    let grant = forge.change(1, id(77), Kind::MEMBER, &put(&member));
    let receipt = ina.take(&forge.file(&[grant])).unwrap();
    assert_eq!(
        reasons(&receipt),
        ["only the student says so: who belongs to their people, and what their guardian allows"]
    );
    let now = bench.now();
    guardian.write(student.strand, now, [Draft::put(id(1), &note("no"))]).unwrap();
    let file = testing::file(&mut guardian, &student, "Ina", bench.now(), true);
    assert_eq!(ina.take(&file).unwrap().taken, 0);
    // And a coach can't send her strand to a friend.
    let mut eve = bench.keyed("Eve", Role::Coach);
    testing::meet(&mut bo, &mut eve);
    let (keys, now) = (testing::keys(&bo), bench.now());
    let refused = bo.send(&keys, &student, &name("Eve"), now, true, Vec::new());
    assert!(matches!(refused, Err(BookError::NotTheirs { .. })));
}

#[test]
fn balls_and_practice_are_changed_by_nobody_but_who_wrote_them() {
    let mut bench = Bench::new();
    let (mut ina, mut bo, student) = pair(&mut bench);
    let shot = Shot::of(id(4));
    let now = bench.now();
    ina.write(student.strand, now, [Draft::put(id(5), &shot)]).unwrap();
    let file = testing::file(&mut ina, &student, "Bo Berg", bench.now(), false);
    bo.take(&file).unwrap();
    let mut other = shot.clone();
    other.finish_held = Some(true);
    let now = bench.now();
    bo.write(student.strand, now, [Draft::put(id(6), &Shot::of(id(4))), Draft::put(id(5), &other)]).unwrap();
    let file = testing::file(&mut bo, &student, "Ina", bench.now(), false);
    let receipt = ina.take(&file).unwrap();
    // His own ball goes in, his change of hers doesn't.
    assert_eq!(
        (receipt.taken, reasons(&receipt)),
        (1, vec!["balls and practice are changed only by who wrote them"])
    );
    assert_eq!(ina.record::<Shot>(student.strand, id(5)).unwrap().unwrap().value, shot);
}

#[test]
fn a_coach_who_began_hands_the_strand_to_its_student_and_stays_their_coach() {
    let mut bench = Bench::new();
    let mut bo = bench.keyed("Bo", Role::Coach);
    let mut ina = bench.keyed("Ina", Role::Student);
    testing::meet(&mut bo, &mut ina);
    let student = bench.student(&mut bo, "Ina");
    let secret = bench.student(&mut bo, "Secretly Named");
    let (keys, now) = (testing::keys(&bo), bench.now());
    let refused = bo.send(&keys, &secret, &name("Ina"), now, true, Vec::new());
    assert!(matches!(refused, Err(BookError::NotTheirs { .. })));
    let file = testing::file(&mut bo, &student, "Ina", bench.now(), false);
    ina.take(&file).unwrap();
    assert_eq!(ina.students().unwrap().len(), 1);
    let mut opened = Vec::new();
    let hers = testing::keys(&ina);
    std::io::Read::read_to_end(&mut crate::sync::seal::open(&hers, file.as_slice()).unwrap(), &mut opened)
        .unwrap();
    assert!(!opened.windows(16).any(|w| w == secret.strand.bytes()));
    // She lets a second coach in; the first one's writing still counts for both.
    let mut cleo = bench.keyed("Cleo", Role::Coach);
    testing::meet(&mut ina, &mut cleo);
    let now = bench.now();
    bo.write(student.strand, now, [Draft::put(id(1), &note("from Bo"))]).unwrap();
    let file = testing::file(&mut bo, &student, "Ina", bench.now(), false);
    assert_eq!(ina.take(&file).unwrap().refused, []);
    let file = testing::file(&mut ina, &student, "Cleo", bench.now(), true);
    assert_eq!(cleo.take(&file).unwrap().refused, []);
    assert_eq!(cleo.digest(student.strand).unwrap(), ina.digest(student.strand).unwrap());
    // Bo no longer says who belongs to it.
    testing::meet(&mut bo, &mut cleo);
    let (keys, now) = (testing::keys(&bo), bench.now());
    let refused = bo.send(&keys, &student, &name("Cleo"), now, true, Vec::new());
    assert!(matches!(refused, Err(BookError::NotTheirs { .. })), "{refused:?}");
}

#[test]
fn a_file_of_a_lost_phone_is_refused_by_who_heard_of_the_loss_and_what_it_wrote_stays() {
    let mut bench = Bench::new();
    let (mut ina, mut bo, student) = pair(&mut bench);
    let mut tablet = bench.keyed("Tablet", Role::Student);
    let (phone_keys, tablet_keys, now) = (testing::keys(&ina), testing::keys(&tablet), bench.now());
    ina.add_device(&phone_keys, &tablet.card(&tablet_keys, now).unwrap()).unwrap();
    tablet.join(&tablet_keys, &ina.card(&phone_keys, now).unwrap()).unwrap();
    let file = testing::file(&mut ina, &student, "Ina", bench.now(), true);
    tablet.take(&file).unwrap();
    tablet.meet(&bo.card(&testing::keys(&bo), now).unwrap()).unwrap();
    let now = bench.now();
    ina.write(student.strand, now, [Draft::put(id(1), &note("before the loss"))]).unwrap();
    let late = testing::file(&mut ina, &student, "Bo Berg", bench.now(), false);
    tablet.revoke_device(&tablet_keys, &ina.device().to_string()).unwrap();
    let now = bench.now();
    tablet.write(student.strand, now, [Draft::put(id(2), &note("from the tablet"))]).unwrap();
    // A file tells of the loss by itself: no card is needed.
    let file = testing::file(&mut tablet, &student, "Bo Berg", bench.now(), true);
    let receipt = bo.take(&file).unwrap();
    assert_eq!(receipt.refused, []);
    assert_eq!(bo.record::<Note>(student.strand, id(2)).unwrap().unwrap().value, note("from the tablet"));
    let before = bo.check().unwrap();
    assert!(matches!(bo.take(&late), Err(BookError::GivenUp { .. })));
    assert_eq!(bo.check().unwrap(), before);
    assert_eq!(bo.device_names().unwrap()[&ina.device()], "Ina");
    // What Bo sends goes to the tablet alone.
    let file = testing::file(&mut bo, &student, "Ina", bench.now(), true);
    assert!(matches!(ina.take(&file), Err(BookError::File(crate::sync::FileError::NotOurs))));
    assert!(tablet.take(&file).is_ok());
}

#[test]
fn a_file_from_before_there_were_keys_is_refused_once_there_are() {
    let mut bench = Bench::new();
    let golden = std::path::PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../tests/golden/v2");
    std::fs::copy(golden.join("student.book"), bench.path("nils")).unwrap();
    let bytes = std::fs::read(golden.join("from-coach.chalk")).unwrap();
    let mut nils = Book::open(&bench.path("nils")).unwrap();
    let now = bench.now();
    assert!(nils.receive(None, now, bytes.as_slice()).unwrap().taken > 0);
    // Now he has keys, and says who belongs to him.
    let mut bo = bench.keyed("Bo", Role::Coach);
    testing::meet(&mut nils, &mut bo);
    let student = nils.student("Nils Aro").unwrap();
    let file = testing::file(&mut nils, &student, "Bo", bench.now(), false);
    let before = nils.check().unwrap();
    let now = bench.now();
    assert!(matches!(nils.receive(None, now, bytes.as_slice()), Err(BookError::Unsigned { .. })));
    assert_eq!(nils.check().unwrap(), before);
    // His own changes of before are signed now and go to Bo; the coach's of
    // before, whose keys nobody knows, stay where they are.
    let receipt = bo.take(&file).unwrap();
    assert!(receipt.taken > 20 && receipt.refused.is_empty(), "{receipt:?}");
    let history = bo.history(student.strand, Kind::STUDENT, RecordId(student.strand.0)).unwrap();
    assert!(history.iter().all(|change| change.stamp.author == nils.device()));
}

#[test]
fn a_coach_whom_the_student_parts_with_keeps_what_he_wrote_and_brings_nothing_new() {
    let mut bench = Bench::new();
    let (mut ina, mut bo, student) = pair(&mut bench);
    let mut cleo = third(&mut bench, &mut ina, &mut bo, &student, Role::Coach);
    let now = bench.now();
    bo.write(student.strand, now, [Draft::put(id(1), &note("while he taught her"))]).unwrap();
    let file = testing::file(&mut bo, &student, "Ina", bench.now(), false);
    ina.take(&file).unwrap();
    let (keys, now) = (testing::keys(&ina), bench.now());
    ina.part_with(&keys, &student, &name("bo berg"), now).unwrap();
    // He goes on writing, and so would have his file of before, had it come now.
    let now = bench.now();
    let notes = (2..5).map(|n| Draft::put(id(n), &note("after that")));
    bo.write(student.strand, now, notes).unwrap();
    let late = testing::file(&mut bo, &student, "Ina", bench.now(), true);
    let receipt = ina.take(&late).unwrap();
    assert_eq!((receipt.taken, reasons(&receipt)), (0, vec!["their writer had left the student's people"]));
    // A new coach gets the whole book, with what he wrote while he belonged to it.
    let file = testing::file(&mut ina, &student, "Cleo", bench.now(), true);
    assert_eq!(cleo.take(&file).unwrap().refused, []);
    assert_eq!(
        cleo.record::<Note>(student.strand, id(1)).unwrap().unwrap().value,
        note("while he taught her")
    );
    let refused = cleo.take(&{
        let forge = Forge { by: &bo, to: &cleo, strand: student.strand };
        forge.file(&[forge.change(1, id(5), Kind::NOTE, &put(&note("by another way")))])
    });
    assert_eq!(refused.unwrap().taken, 0);
    assert_eq!(cleo.digest(student.strand).unwrap(), ina.digest(student.strand).unwrap());
    let (keys, now) = (testing::keys(&ina), bench.now());
    let refused = ina.send(&keys, &student, &name("Bo Berg"), now, true, Vec::new());
    assert!(matches!(refused, Err(BookError::Parted { .. })));
    let refused = cleo.part_with(&testing::keys(&cleo), &student, &name("Ina"), now);
    assert!(matches!(refused, Err(BookError::NotOurWord { .. })));
    // Taken back, he may again, and nothing was lost.
    ina.let_in_again(&keys, &student, &name("Bo Berg"), now).unwrap();
    assert_eq!(ina.take(&late).unwrap().taken, 3);
    testing::file(&mut ina, &student, "Bo Berg", bench.now(), true);
}
