//! Random histories of six devices of five people, with everything that can
//! go wrong between them: files lost, doubled, late and forged, clocks that
//! jump by years, devices put back from old copies. A model that only knows
//! who may say what tells what has to be in every book at the end.
//!
//! Start at `World::settle_and_check`.

use std::collections::BTreeSet;

use proptest::prelude::*;

use super::roles::Forge;
use super::*;
use crate::sync::seal::open;

/// Ina's phone and tablet, two coaches, her guardian; and somebody who has
/// met all of them and belongs to none of it.
const WHO: [(&str, Role); 6] = [
    ("Ina", Role::Student),
    ("Ina", Role::Student),
    ("Bo", Role::Coach),
    ("Cleo", Role::Coach),
    ("Tuva", Role::Reader),
    ("Eve", Role::Coach),
];
/// Their books' files.
const FILES: [&str; 6] = ["Ina", "Tablet", "Bo", "Cleo", "Tuva", "Eve"];
const PHONE: usize = 0;
const TABLET: usize = 1;
const BO: usize = 2;
const GUARDIAN: usize = 4;
const EVE: usize = 5;
/// What a file must never hold for anybody but Bo: his other student.
const SECRET: &str = "the other student's secret";

#[derive(Debug, Clone)]
enum Step {
    /// Writes a note of its own that nobody else edits.
    Note { device: usize },
    /// Both sides edit the same few notes.
    Edit { device: usize, record: u8, text: u8 },
    /// Logs a ball.
    Ball { device: usize },
    /// Erases something that was written; coaches only what they wrote.
    Erase { device: usize, which: usize },
    /// Writes a file; it may get lost.
    Send { device: usize, to: usize, all: bool },
    /// Takes in a file written so far, perhaps once more, perhaps late.
    Deliver { file: usize },
    /// Its clock jumps.
    Clock { device: usize, minutes: i32 },
    /// Keeps a copy of a book.
    Backup { device: usize },
    /// Loses the book and goes on with the copy.
    Restore { device: usize },
    /// Somebody who may not write signs a file of changes for somebody.
    Forge { by: bool, to: usize, as_if: usize },
}

fn any_step() -> impl Strategy<Value = Step> {
    let device = || 0..WHO.len();
    prop_oneof![
        4 => device().prop_map(|device| Step::Note { device }),
        3 => (device(), 1_u8..4, any::<u8>()).prop_map(|(device, record, text)| Step::Edit { device, record, text }),
        2 => device().prop_map(|device| Step::Ball { device }),
        2 => (device(), any::<usize>()).prop_map(|(device, which)| Step::Erase { device, which }),
        5 => (device(), device(), any::<bool>()).prop_map(|(device, to, all)| Step::Send { device, to, all }),
        5 => (0_usize..64).prop_map(|file| Step::Deliver { file }),
        1 => (device(), -3_000_000..3_000_000_i32).prop_map(|(device, minutes)| Step::Clock { device, minutes }),
        1 => device().prop_map(|device| Step::Backup { device }),
        1 => device().prop_map(|device| Step::Restore { device }),
        2 => (any::<bool>(), device(), device()).prop_map(|(by, to, as_if)| Step::Forge { by, to, as_if }),
    ]
}

struct World {
    bench: Bench,
    books: Vec<Option<Book>>,
    paths: Vec<std::path::PathBuf>,
    keys: Vec<crate::sync::DeviceKeys>,
    skew_min: Vec<i64>,
    copies: Vec<Option<std::path::PathBuf>>,
    student: StudentEntry,
    /// For whom, and the file.
    files: Vec<(usize, Vec<u8>)>,
    /// Records that each device has written and, since its last copy was
    /// put back, still holds: (device, record).
    written: Vec<BTreeSet<RecordId>>,
    count: u32,
}

/// What every history begins with; made once, then copied.
struct Start {
    bench: Bench,
    keys: Vec<crate::sync::DeviceKeys>,
    student: StudentEntry,
}

impl Start {
    fn get() -> &'static Self {
        static START: std::sync::OnceLock<Start> = std::sync::OnceLock::new();
        START.get_or_init(Self::make)
    }

    fn make() -> Self {
        let mut bench = Bench::new();
        // The tablet joins Ina below, and has her name from then on.
        let mut books: Vec<Book> =
            WHO.iter().zip(FILES).map(|((_, role), file)| bench.keyed(file, *role)).collect();
        let student = bench.own_student(&mut books[PHONE], "Ina");
        let keys: Vec<_> = books.iter().map(testing::keys).collect();
        let now = bench.now();
        let new = books[TABLET].card(&keys[TABLET], now).unwrap();
        books[PHONE].add_device(&keys[PHONE], &new).unwrap();
        let hers = books[PHONE].card(&keys[PHONE], now).unwrap();
        books[TABLET].join(&keys[TABLET], &hers).unwrap();
        let cards: Vec<_> = (0..WHO.len()).map(|n| books[n].card(&keys[n], now).unwrap()).collect();
        for (n, book) in books.iter_mut().enumerate() {
            for (m, card) in cards.iter().enumerate() {
                if n != m {
                    book.meet(card).unwrap();
                }
            }
        }
        let other = bench.student(&mut books[BO], "Otto");
        let now = bench.now();
        books[BO].write(other.strand, now, [Draft::put(id(1), &note(SECRET))]).unwrap();
        for to in (1..EVE).chain(1..EVE) {
            let (now, mut file) = (bench.now(), Vec::new());
            books[PHONE].send(&keys[PHONE], &student, &name(WHO[to].0), now, true, &mut file).unwrap();
            books[to].receive(Some(&keys[to]), now, file.as_slice()).unwrap();
        }
        Self { bench, keys, student }
    }
}

impl World {
    fn new() -> Self {
        let start = Start::get();
        let bench = Bench { ms: start.bench.ms, ..Bench::new() };
        let paths = FILES.map(|name| bench.path(name)).to_vec();
        let books =
            paths.iter().zip(FILES).map(|(path, name)| Some(copied(&start.bench.path(name), path))).collect();
        Self {
            bench,
            books,
            paths,
            keys: start.keys.clone(),
            skew_min: vec![0; WHO.len()],
            copies: vec![None; WHO.len()],
            student: start.student.clone(),
            files: Vec::new(),
            written: vec![BTreeSet::new(); WHO.len()],
            count: 0,
        }
    }

    fn now(&mut self, device: usize) -> Now {
        let mut now = self.bench.now();
        now.at.utc_ms += self.skew_min[device] * 60_000;
        now
    }

    fn book(&mut self, device: usize) -> &mut Book {
        self.books[device].as_mut().unwrap()
    }

    /// Whether a device holds the strand.
    fn belongs(device: usize) -> bool {
        device != EVE
    }

    fn writes(device: usize) -> bool {
        Self::belongs(device) && WHO[device].1 != Role::Reader
    }

    fn file(&mut self, device: usize, to: usize, all: bool) -> Vec<u8> {
        let (now, student, keys) = (self.now(device), self.student.clone(), self.keys[device].clone());
        let mut file = Vec::new();
        self.book(device).send(&keys, &student, &name(WHO[to].0), now, all, &mut file).unwrap();
        file
    }

    fn take(&mut self, to: usize, file: &[u8]) -> Result<Receipt, BookError> {
        let (now, keys) = (self.now(to), self.keys[to].clone());
        self.book(to).receive(Some(&keys), now, file)
    }

    fn put(&mut self, device: usize, draft: Draft) {
        let (now, strand) = (self.now(device), self.student.strand);
        self.book(device).write(strand, now, [draft]).unwrap();
    }

    fn fresh(&mut self, device: usize) -> RecordId {
        self.count += 1;
        let record =
            RecordId(Uuid::from_u128(0x0199_0000_0000_7000_8000_0000_0000_0000 + u128::from(self.count)));
        self.written[device].insert(record);
        record
    }

    fn step(&mut self, step: &Step) {
        match *step {
            Step::Note { device } if Self::writes(device) => {
                let record = self.fresh(device);
                self.put(device, Draft::put(record, &note(&said(device, record))));
            }
            Step::Ball { device } if Self::writes(device) => {
                let record = self.fresh(device);
                self.put(device, Draft::put(record, &Shot::of(id(4))));
            }
            Step::Edit { device, record, text } if Self::writes(device) => {
                let strand = self.student.strand;
                let draft = Draft::put(id(record), &note(&format!("edit {text}")));
                let now = self.now(device);
                match self.book(device).write(strand, now, [draft]) {
                    Ok(_) => {}
                    Err(BookError::WasErased) => {
                        assert!(self.book(device).is_erased(strand, Kind::NOTE, id(record)).unwrap());
                    }
                    other => panic!("{other:?}"),
                }
            }
            Step::Erase { device, which } if Self::writes(device) => self.erase(device, which),
            Step::Send { device, to, all } if device != to && Self::belongs(device) && Self::belongs(to) => {
                let file = self.file(device, to, all);
                self.is_only_of_ina(&file, to);
                self.files.push((to, file));
            }
            Step::Deliver { file } if !self.files.is_empty() => {
                let (to, bytes) = self.files[file % self.files.len()].clone();
                let receipt = self.take(to, &bytes).unwrap();
                assert_eq!(receipt.refused, []);
            }
            Step::Clock { device, minutes } => self.skew_min[device] += i64::from(minutes),
            Step::Backup { device } => {
                self.count += 1;
                let copy = self.bench.path(&format!("copy{}", self.count));
                self.book(device).backup(&copy).unwrap();
                self.copies[device] = Some(copy);
            }
            Step::Restore { device } => self.restore(device),
            Step::Forge { by, to, as_if } => self.forge(if by { EVE } else { GUARDIAN }, to, as_if),
            _ => {}
        }
    }

    /// Somebody edits what is erased meanwhile, now and then: nobody sees it again.
    fn erase(&mut self, device: usize, which: usize) {
        let all: Vec<RecordId> =
            self.written.iter().flatten().copied().chain([id(1), id(2), id(3)]).collect();
        let record = all[which % all.len()];
        let strand = self.student.strand;
        let held = |kind| self.books[device].as_ref().unwrap().history(strand, kind, record).unwrap().len();
        let kind = if held(Kind::NOTE) > 0 { Kind::NOTE } else { Kind::SHOT };
        if held(kind) == 0 {
            return;
        }
        let (now, student, keys) = (self.now(device), self.student.clone(), self.keys[device].clone());
        match self.book(device).erase(&keys, &student, &[(kind, record)], now) {
            Ok(taken) => assert!(taken.scrubbed && taken.records == 1, "{taken:?}"),
            Err(BookError::NotYoursToErase) => assert!(WHO[device].1 == Role::Coach),
            other => panic!("{other:?}"),
        }
    }

    /// What nobody else heard of since the copy is lost with the device.
    fn restore(&mut self, device: usize) {
        let Some(copy) = self.copies[device].take() else { return };
        self.books[device] = None;
        for end in ["-wal", "-shm"] {
            let mut beside = self.paths[device].clone().into_os_string();
            beside.push(end);
            let _ = std::fs::remove_file(beside);
        }
        let mut book = copied(&copy, &self.paths[device]);
        let now = self.now(device);
        book.restore(&self.keys[device], now).unwrap();
        self.books[device] = Some(book);
        let strand = self.student.strand;
        let others: Vec<usize> = (0..EVE).collect();
        let written = std::mem::take(&mut self.written[device]);
        let held = |world: &mut Self, record: RecordId| {
            others.iter().any(|other| {
                let book = world.book(*other);
                book.record::<Note>(strand, record).unwrap().is_some()
                    || book.record::<Shot>(strand, record).unwrap().is_some()
            })
        };
        let kept = written.into_iter().filter(|record| held(self, *record)).collect();
        self.written[device] = kept;
    }

    /// Changes signed by somebody who may not write them: in their own name,
    /// or as if another device had written them.
    fn forge(&mut self, by: usize, to: usize, as_if: usize) {
        if by == to || to == EVE {
            return;
        }
        let before = self.book(to).check().unwrap();
        let author = self.book(as_if).device();
        let bytes = {
            let (forger, receiver) = (self.books[by].as_ref().unwrap(), self.books[to].as_ref().unwrap());
            let forge = Forge { by: forger, to: receiver, strand: self.student.strand };
            let body = crate::sync::Body { fields: note("forged").to_fields(), replaces: Vec::new() };
            let mut change = forge.change(1, id(99), Kind::NOTE, &body);
            change.author = author;
            forge.file(&[change])
        };
        if let Ok(receipt) = self.take(to, &bytes) {
            assert_eq!(receipt.taken, 0, "{receipt:?}");
        }
        assert_eq!(self.book(to).check().unwrap(), before);
    }

    /// Opened by whoever may open it, a file holds nothing of Bo's other student.
    fn is_only_of_ina(&self, file: &[u8], to: usize) {
        let mut opened = Vec::new();
        let Ok(mut reader) = open(&self.keys[to], file) else { return };
        std::io::Read::read_to_end(&mut reader, &mut opened).unwrap();
        let mut reader = crate::sync::file::FileReader::new(opened.as_slice()).unwrap();
        while let Some(part) = reader.next_part().unwrap() {
            if let crate::sync::file::Part::Changes(changes) = part {
                for change in changes {
                    assert!(!change.body.windows(SECRET.len()).any(|w| w == SECRET.as_bytes()));
                }
            }
        }
    }

    /// Everybody who belongs to it sends everything to one of them, and that one
    /// to everybody; or, in place of a hub, everybody twice to everybody. Then all
    /// books say the same, with all that was written and nothing forged.
    fn settle_and_check(&mut self, hub: usize) {
        let everybody: Vec<(usize, usize)> =
            (0..EVE).flat_map(|from| (0..EVE).map(move |to| (from, to))).collect();
        let ways: Vec<(usize, usize)> = if hub == EVE {
            everybody.repeat(2)
        } else {
            (0..EVE).map(|from| (from, hub)).chain((0..EVE).map(|to| (hub, to))).collect()
        };
        for (from, to) in ways.into_iter().filter(|(from, to)| from != to) {
            let file = self.file(from, to, true);
            let receipt = self.take(to, &file).unwrap();
            assert_eq!(receipt.refused, [], "from {from} to {to}");
            assert_ne!(receipt.strands[0].agrees, Some(false));
        }
        let strand = self.student.strand;
        let digest = self.book(PHONE).digest(strand).unwrap();
        let erased = |world: &mut Self, record: RecordId| {
            let phone = world.book(PHONE);
            [Kind::NOTE, Kind::SHOT].iter().any(|kind| phone.is_erased(strand, *kind, record).unwrap())
        };
        let written: BTreeSet<RecordId> = self.written.iter().flatten().copied().collect();
        let (gone, all): (BTreeSet<RecordId>, BTreeSet<RecordId>) =
            written.into_iter().partition(|record| erased(self, *record));
        for device in 0..EVE {
            let path = self.paths[device].clone();
            let texts: Vec<String> =
                gone.iter().flat_map(|record| (0..EVE).map(|by| said(by, *record))).collect();
            let held = texts.iter().find(|text| super::erase::file_holds(&path, text.as_bytes()));
            assert_eq!(held, None, "device {device}");
            let book = self.book(device);
            assert_eq!(book.digest(strand).unwrap(), digest, "device {device}");
            let check = book.check().unwrap();
            assert!(check.ok, "{:?}", check.problems);
            let mut there: BTreeSet<RecordId> =
                book.records::<Note>(strand).unwrap().into_iter().map(|entry| entry.id).collect();
            there.extend(book.records::<Shot>(strand).unwrap().into_iter().map(|entry| entry.id));
            assert!(all.is_subset(&there), "device {device} lacks {:?}", all.difference(&there));
            assert!(!there.contains(&id(99)) && gone.is_disjoint(&there));
        }
        assert!(self.book(EVE).students().unwrap().is_empty());
        for device in [PHONE, TABLET, 3, GUARDIAN, EVE] {
            assert!(self.book(device).student("Otto").is_err());
        }
    }
}

/// A book put in a place where no book is open.
fn copied(from: &std::path::Path, to: &std::path::Path) -> Book {
    std::fs::copy(from, to).unwrap();
    let book = Book::open(to).unwrap();
    book.db.pragma_update(None, "synchronous", "OFF").unwrap();
    book
}

/// What a note says: nothing else says the same.
fn said(device: usize, record: RecordId) -> String {
    format!("by device {device} under {record}")
}

proptest! {
    #![proptest_config(ProptestConfig { cases: cases(), max_shrink_iters: 100, ..ProptestConfig::default() })]

    #[test]
    fn whatever_happens_between_them_all_who_belong_to_it_end_equal_and_nobody_else_says_anything(
        steps in proptest::collection::vec(any_step(), 0..50),
        hub in 0..=EVE,
    ) {
        let mut world = World::new();
        for step in &steps {
            world.step(step);
        }
        world.settle_and_check(hub);
    }
}

/// How many histories to try; the long form of the tests asks for more.
#[allow(clippy::disallowed_methods, reason = "a test may be told how long to run")]
fn cases() -> u32 {
    std::env::var("CHALKFACE_WORLDS").ok().and_then(|n| n.parse().ok()).unwrap_or(16)
}
