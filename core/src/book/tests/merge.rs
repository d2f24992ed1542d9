//! Random histories of several devices with wrong clocks: whatever the order,
//! repetition and loss of files, the books end equal.

use proptest::prelude::*;

use super::*;

/// What one device does.
#[derive(Debug, Clone)]
enum Step {
    /// Writes a note, new or not.
    Write {
        device: usize,
        record: u8,
        text: u8,
    },
    /// Writes another field of the note.
    About {
        device: usize,
        record: u8,
        about: u8,
    },
    Remove {
        device: usize,
        record: u8,
    },
    Restore {
        device: usize,
        record: u8,
    },
    /// Writes a file for another device; it may get lost.
    Send {
        device: usize,
        to: usize,
    },
    /// Takes in one of the files written so far, perhaps once more.
    Deliver {
        file: usize,
    },
    /// Its clock jumps, by minutes or by years.
    Clock {
        device: usize,
        minutes: i32,
    },
}

const DEVICES: usize = 5;

fn any_step() -> impl Strategy<Value = Step> {
    let device = || 0..DEVICES;
    let record = || 1_u8..5;
    prop_oneof![
        4 => (device(), record(), any::<u8>()).prop_map(|(device, record, text)| Step::Write { device, record, text }),
        2 => (device(), record(), any::<u8>()).prop_map(|(device, record, about)| Step::About { device, record, about }),
        1 => (device(), record()).prop_map(|(device, record)| Step::Remove { device, record }),
        1 => (device(), record()).prop_map(|(device, record)| Step::Restore { device, record }),
        4 => (device(), device()).prop_map(|(device, to)| Step::Send { device, to }),
        4 => (0_usize..64).prop_map(|file| Step::Deliver { file }),
        1 => (device(), -600_000..600_000_i32).prop_map(|(device, minutes)| Step::Clock { device, minutes }),
    ]
}

/// The first is the student, the others teach.
fn role(n: usize) -> Role {
    if n == 0 { Role::Student } else { Role::Coach }
}

struct World {
    bench: Bench,
    books: Vec<Book>,
    skew_min: Vec<i64>,
    student: StudentEntry,
    files: Vec<(usize, Vec<u8>)>,
}

impl World {
    fn new(devices: usize) -> Self {
        let mut bench = Bench::new();
        let mut books: Vec<Book> = (0..devices).map(|n| bench.book(&format!("D{n}"), role(n))).collect();
        for one in 0..devices {
            for other in one + 1..devices {
                let (left, right) = books.split_at_mut(other);
                testing::meet(&mut left[one], &mut right[0]);
            }
        }
        let student = bench.own_student(&mut books[0], "Ina");
        let mut world = Self { bench, books, skew_min: vec![0; devices], student, files: Vec::new() };
        // The first round lets everybody in, the second tells them of each other.
        for to in (1..devices).chain(1..devices) {
            let file = world.file(0, to, true);
            world.take(to, &file);
        }
        world
    }

    fn now(&mut self, device: usize) -> Now {
        let mut now = self.bench.now();
        now.at.utc_ms += self.skew_min[device] * 60_000;
        now
    }

    fn file(&mut self, device: usize, to: usize, all: bool) -> Vec<u8> {
        let now = self.now(device);
        let student = self.student.clone();
        testing::file(&mut self.books[device], &student, &format!("D{to}"), now, all)
    }

    fn take(&mut self, to: usize, file: &[u8]) -> Receipt {
        let now = self.now(to);
        testing::receive(&mut self.books[to], file, now)
    }

    fn write(&mut self, device: usize, draft: Draft) {
        let now = self.now(device);
        self.books[device].write(self.student.strand, now, [draft]).unwrap();
    }

    fn current(&self, device: usize, record: u8) -> Note {
        let entry = self.books[device].record::<Note>(self.student.strand, id(record)).unwrap();
        entry.map_or_else(|| note("new"), |entry| entry.value)
    }

    fn step(&mut self, step: &Step) {
        let devices = self.books.len();
        match *step {
            Step::Write { device, record, text } => {
                let device = device % devices;
                let mut value = self.current(device, record);
                value.text = Remark::new(&format!("text {text}")).unwrap();
                self.write(device, Draft::put(id(record), &value));
            }
            Step::About { device, record, about } => {
                let device = device % devices;
                let mut value = self.current(device, record);
                value.about = (about % 3 > 0).then(|| id(about));
                self.write(device, Draft::put(id(record), &value));
            }
            Step::Remove { device, record } => {
                self.write(device % devices, Draft::remove(Kind::NOTE, id(record)));
            }
            Step::Restore { device, record } => {
                self.write(device % devices, Draft::restore(Kind::NOTE, id(record)));
            }
            Step::Send { device, to } => {
                let (device, to) = (device % devices, to % devices);
                if device != to {
                    let file = self.file(device, to, false);
                    self.files.push((to, file));
                }
            }
            Step::Deliver { file } => {
                if !self.files.is_empty() {
                    let (to, bytes) = self.files[file % self.files.len()].clone();
                    let receipt = self.take(to, &bytes);
                    assert!(receipt.refused.is_empty(), "{:?}", receipt.refused);
                }
            }
            Step::Clock { device, minutes } => self.skew_min[device % devices] += i64::from(minutes),
        }
    }

    /// Everybody sends everything to everybody.
    fn settle(&mut self) -> Vec<Vec<u8>> {
        let mut last = Vec::new();
        for _ in 0..2 {
            for device in 0..self.books.len() {
                for to in 0..self.books.len() {
                    if device != to {
                        let file = self.file(device, to, true);
                        let receipt = self.take(to, &file);
                        assert!(receipt.refused.is_empty(), "{:?}", receipt.refused);
                        assert_ne!(receipt.strands[0].agrees, Some(false));
                        last.push(file);
                    }
                }
            }
        }
        last
    }
}

fn converges(devices: usize, steps: &[Step], order: u64) {
    let mut world = World::new(devices);
    for step in steps {
        world.step(step);
    }
    world.settle();
    let strand = world.student.strand;
    let digest = world.books[0].digest(strand).unwrap();
    let conflicts: Vec<_> = world.books[0]
        .records::<Note>(strand)
        .unwrap()
        .into_iter()
        .map(|e| (e.id, e.conflicts, e.revived))
        .collect();
    for book in &world.books {
        assert_eq!(book.digest(strand).unwrap(), digest);
        let theirs: Vec<_> = book
            .records::<Note>(strand)
            .unwrap()
            .into_iter()
            .map(|e| (e.id, e.conflicts, e.revived))
            .collect();
        assert_eq!(theirs, conflicts);
        let check = book.check().unwrap();
        assert!(check.ok, "{:?}", check.problems);
    }
    // A book that sees the same files in yet another order, some twice.
    let mut late = world.bench.book("late", Role::Coach);
    for book in &mut world.books {
        testing::meet(book, &mut late);
    }
    let student = world.student.clone();
    let now = world.now(0);
    drop(testing::file(&mut world.books[0], &student, "late", now, true));
    world.settle();
    let digest = world.books[0].digest(strand).unwrap();
    let mut files: Vec<Vec<u8>> = Vec::new();
    for device in 0..devices {
        let now = world.now(device);
        files.push(testing::file(&mut world.books[device], &student, "late", now, true));
    }
    for turn in 0..2 * devices {
        let at = (order as usize).wrapping_add(turn * 7) % devices;
        testing::receive(&mut late, &files[at], now);
    }
    assert_eq!(late.digest(strand).unwrap(), digest);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: cases(), max_shrink_iters: 200, ..ProptestConfig::default() })]

    #[test]
    fn all_books_end_equal_whatever_happened_to_the_files(
        devices in 3..=DEVICES,
        steps in proptest::collection::vec(any_step(), 0..60),
        order in any::<u64>(),
    ) {
        converges(devices, &steps, order);
    }
}

/// How many histories to try; the long form of the tests asks for more.
#[allow(clippy::disallowed_methods, reason = "a test may be told how long to run")]
fn cases() -> u32 {
    std::env::var("CHALKFACE_HISTORIES").ok().and_then(|n| n.parse().ok()).unwrap_or(48)
}

#[test]
fn concurrent_edits_of_one_field_keep_both_values_on_every_device() {
    let mut world = World::new(3);
    world.write(0, Draft::put(id(1), &note("start")));
    world.settle();
    world.write(0, Draft::put(id(1), &note("zero")));
    world.write(1, Draft::put(id(1), &note("one")));
    world.write(2, Draft::put(id(1), &note("two")));
    world.settle();
    for book in &world.books {
        let entry = book.record::<Note>(world.student.strand, id(1)).unwrap().unwrap();
        let values: Vec<_> = entry.conflicts[0].values.iter().map(|(_, v)| v.clone()).collect();
        assert_eq!(values, ["zero", "one", "two"].map(Value::from));
    }
}
