//! The book against a bare table of the same storage with the same durability,
//! in the same run.
//!
//! `cargo bench -p chalkface-core --bench book`. Peak memory of taking in
//! 100,000 changes is printed at the end, where the system tells it.
#![allow(missing_docs, clippy::unwrap_used, reason = "a bench may stop at what it did not expect")]

use std::hint::black_box;
use std::path::Path;

use chalkface_core::book::{Book, Draft};
use chalkface_core::model::quantity::{BallSpeed, HeadSpeed, Launch, Start};
use chalkface_core::model::{
    CurveByEye, Hand, MarkRead, Minter, Moment, Name, Now, Reading, RecordId, Role, Shot, StrandId,
    StrikeMark, Student,
};
use chalkface_core::sync::{DeviceKeys, RootKey};
use criterion::{BatchSize, Criterion};
use rusqlite::{Connection, params};

fn now(tick: u64) -> Now {
    let mut entropy = [0; 16];
    entropy[..8].copy_from_slice(&tick.to_le_bytes());
    Now { at: Moment { utc_ms: 1_772_000_000_000 + 20_000 * tick as i64, offset_min: 60 }, entropy }
}

/// A shot as a player logs it: a tap to half a millimetre, radar figures.
fn shot(n: u64, session: RecordId) -> Shot {
    let spread = |salt: u64, wide: f64, step: f64| {
        let mut x = (n.wrapping_mul(31) + salt).wrapping_mul(0x9e37_79b9_7f4a_7c15);
        x ^= x >> 29;
        x = x.wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let unit = (x >> 40) as f64 / f64::from(1 << 24) - 0.5;
        (unit * wide / step).round() * step
    };
    let mut shot = Shot::of(session);
    shot.mark = StrikeMark::new(spread(1, 40.0, 0.5), spread(2, 30.0, 0.5), None, MarkRead::Tap).ok();
    shot.readings.head_speed = HeadSpeed::new(tenth(42.0 + spread(3, 6.0, 0.1))).ok().map(read);
    shot.readings.ball_speed = BallSpeed::new(tenth(60.0 + spread(4, 9.0, 0.1))).ok().map(read);
    shot.readings.launch = Launch::new(tenth(12.0 + spread(5, 8.0, 0.1))).ok().map(read);
    shot.readings.start = Start::new(spread(6, 10.0, 0.5)).ok().map(read);
    shot.curve_by_eye = CurveByEye::from_code(spread(7, 4.9, 1.0) as i64);
    shot.finish_held = Some(n.is_multiple_of(3));
    shot
}

fn read<T>(value: T) -> Reading<T> {
    Reading { value, sigma: None }
}

fn tenth(value: f64) -> f64 {
    (value * 10.0).round() / 10.0
}

/// Keys of a book, the same every time.
fn keys(book: &mut Book, n: u8) -> DeviceKeys {
    let keys = DeviceKeys::from_entropy(book.device(), &[n; 32]).unwrap();
    if book.identity().unwrap().is_none() {
        book.begin_identity(&keys, &RootKey::from_entropy([n; 16]), now(2)).unwrap();
    }
    keys
}

/// A coach's empty book that has met the student.
fn bo(student: &mut Book, path: &Path, student_n: u8) -> (Book, DeviceKeys) {
    let hers = keys(student, student_n);
    let mut book = Book::create(path, Name::new("Bo").unwrap(), Role::Coach, now(9_000)).unwrap();
    let his = keys(&mut book, 2);
    student.meet(&book.card(&his, now(3)).unwrap()).unwrap();
    book.meet(&student.card(&hers, now(3)).unwrap()).unwrap();
    (book, his)
}

fn book_with_student(path: &Path, name: &str) -> (Book, StrandId) {
    let mut book = Book::create(path, Name::new(name).unwrap(), Role::Student, now(0)).unwrap();
    let strand = StrandId(Minter::new(now(1)).mint());
    let student = Student::new(Name::new(name).unwrap(), Hand::Right);
    book.write(strand, now(1), [Draft::put(RecordId(strand.0), &student)]).unwrap();
    (book, strand)
}

fn recording(c: &mut Criterion) {
    let dir = tempfile::tempdir().unwrap();
    let mut group = c.benchmark_group("record one shot durably");
    group.sample_size(60);
    let bare = Connection::open(dir.path().join("bare")).unwrap();
    bare.pragma_update(None, "journal_mode", "WAL").unwrap();
    bare.pragma_update(None, "synchronous", "FULL").unwrap();
    bare.execute_batch(
        "CREATE TABLE shot (id BLOB PRIMARY KEY, session BLOB, toe_mm REAL, high_mm REAL, sigma_mm REAL, read INTEGER,
         head_speed REAL, ball_speed REAL, launch REAL, start REAL, curve INTEGER, finish INTEGER) WITHOUT ROWID",
    )
    .unwrap();
    let mut tick = 10;
    group.bench_function("baseline: bare insert", |b| {
        b.iter(|| {
            tick += 1;
            let id = Minter::new(now(tick)).mint();
            let s = shot(tick, RecordId(id));
            let m = s.mark.unwrap();
            bare.prepare_cached("INSERT INTO shot VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12)")
                .unwrap()
                .execute(params![
                    id.as_bytes(),
                    s.session.bytes(),
                    m.toe_mm.mm(),
                    m.high_mm.mm(),
                    m.sigma_mm.mm(),
                    m.read.code(),
                    s.readings.head_speed.map(|r| r.value.mps()),
                    s.readings.ball_speed.map(|r| r.value.mps()),
                    s.readings.launch.map(|r| r.value.deg()),
                    s.readings.start.map(|r| r.value.deg()),
                    s.curve_by_eye.map(CurveByEye::code),
                    s.finish_held
                ])
                .unwrap()
        });
    });
    let (mut book, strand) = book_with_student(&dir.path().join("book"), "Ina");
    group.bench_function("book", |b| {
        b.iter(|| {
            tick += 1;
            let id = Minter::new(now(tick)).record();
            book.write(strand, now(tick), [Draft::put(id, &shot(tick, id))]).unwrap()
        });
    });
    group.finish();
}

/// A file of 100,000 shots in sessions of fifty.
fn big_file(dir: &Path) -> (Vec<u8>, DeviceKeys) {
    let (mut book, strand) = book_with_student(&dir.join("big"), "Ina");
    for session in 0..2_000_u64 {
        let mut minter = Minter::new(now(100 + session));
        let of = minter.record();
        let drafts = (0..50).map(|n| Draft::put(minter.record(), &shot(session * 50 + n, of)));
        let drafts: Vec<Draft> = drafts.collect();
        book.write(strand, now(100 + session), drafts).unwrap();
    }
    let student = book.student("Ina").unwrap();
    let mut bytes = Vec::new();
    let (_, his) = bo(&mut book, &dir.join("met"), 1);
    let keys = keys(&mut book, 1);
    book.send(&keys, &student, &Name::new("Bo").unwrap(), now(5_000), true, &mut bytes).unwrap();
    println!("exchange file: {} changes, {:.1} bytes a change", 100_002, bytes.len() as f64 / 100_002.0);
    (bytes, his)
}

fn exchange(c: &mut Criterion) {
    let dir = tempfile::tempdir().unwrap();
    let (bytes, his) = big_file(dir.path());
    let mut group = c.benchmark_group("exchange of 100,000 changes");
    group.sample_size(10);
    let mut n = 0;
    group.bench_function("baseline: bare insert of as many rows", |b| {
        b.iter_batched(
            || {
                n += 1;
                let db = Connection::open(dir.path().join(format!("bare{n}"))).unwrap();
                db.pragma_update(None, "journal_mode", "WAL").unwrap();
                db.pragma_update(None, "synchronous", "FULL").unwrap();
                db.execute_batch("CREATE TABLE change (seq INTEGER PRIMARY KEY, record BLOB, body BLOB)")
                    .unwrap();
                db
            },
            |mut db| {
                let tx = db.transaction().unwrap();
                for seq in 0..100_001_i64 {
                    tx.prepare_cached("INSERT INTO change VALUES (?1, ?2, ?3)")
                        .unwrap()
                        .execute(params![seq, [7_u8; 16], [seq as u8; 80]])
                        .unwrap();
                }
                tx.commit().unwrap();
            },
            BatchSize::PerIteration,
        );
    });
    group.bench_function("take in", |b| {
        b.iter_batched(
            || {
                n += 1;
                let path = dir.path().join(format!("coach{n}"));
                std::fs::copy(dir.path().join("met"), &path).unwrap();
                Book::open(&path).unwrap()
            },
            |mut book| black_box(book.receive(Some(&his), now(9_001), bytes.as_slice()).unwrap()),
            BatchSize::PerIteration,
        );
    });
    group.finish();
}

fn peak_memory_mb() -> Option<f64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|line| line.starts_with("VmHWM"))?;
    Some(line.split_whitespace().nth(1)?.parse::<f64>().ok()? / 1024.0)
}

fn main() {
    let mut c = Criterion::default().configure_from_args();
    recording(&mut c);
    exchange(&mut c);
    if let Some(mb) = peak_memory_mb() {
        println!("peak memory of this process, making and taking in the file: {mb:.0} MB");
    }
    c.final_summary();
}
