//! What the fits of a student with 2,000 balls cost, made anew and kept.
//!
//! `cargo bench -p chalkface-core --bench fits`. Goal: warm, a tenth of cold.
#![allow(
    missing_docs,
    clippy::unwrap_used,
    clippy::indexing_slicing,
    reason = "a benchmark may stop at what it did not expect"
)]

use std::fmt::Write;
use std::time::Duration;

use chalkface_core::act::{NewStudent, Unsaid, add_student, log_rows};
use chalkface_core::book::Book;
use chalkface_core::lesson::{Log, fits};
use chalkface_core::model::{Day, Hand, Moment, Name, Now, Role, UnitSystem};
use chalkface_core::table;
use criterion::{BatchSize, Criterion, criterion_group, criterion_main};

/// 2,000 balls in 100 sessions: a third with a radar's readings, a third with a mark
/// and words by eye, a third on the course by feel.
fn csv() -> String {
    let mut csv = String::from(
        "session,day,powder,toe_mm,high_mm,read,head_speed_mps,ball_speed_mps,launch_deg,start_deg,carry_m,start,curve\n",
    );
    for n in 0..2_000_u32 {
        let part = |rhythm: u32| f64::from(n * rhythm % 997) / 997.0 - 0.5;
        let (session, day) = (n / 20, Day::from_number(20_000 + i64::from(n / 20)).unwrap());
        let (toe, high) = (20.0 * part(13), 16.0 * part(29));
        let (start, curve) =
            (["left", "straight", "right"][n as usize % 3], ["left", "right"][n as usize % 2]);
        let row = match session % 3 {
            0 => format!(
                "yes,{toe},{high},photo,{},{},{},{},{},,",
                42.0 + 3.0 * part(31),
                61.0 + 4.0 * part(37),
                11.0 + 4.0 * part(41),
                4.0 * part(43),
                190.0 + 30.0 * part(47)
            ),
            1 => format!("yes,{toe},{high},tap,,,,,,{start},{curve}"),
            _ => format!("no,{toe},{high},felt,,,,,,{start},{curve}"),
        };
        let _ = writeln!(csv, "s{session},{day},{row}");
    }
    csv
}

fn book(dir: &std::path::Path) -> Book {
    let now = |n: u8| Now { at: Moment { utc_ms: 1_777_000_000_000, offset_min: 0 }, entropy: [n; 16] };
    let mut book = Book::create(&dir.join("b"), Name::new("Bo").unwrap(), Role::Coach, now(1)).unwrap();
    let new = NewStudent {
        name: Name::new("Ina").unwrap(),
        hand: Hand::Right,
        units: UnitSystem::Metric,
        birth_year: None,
    };
    let student = add_student(&mut book, now(2), new).unwrap();
    let options = table::Options { hand: Some(Hand::Right), ..table::Options::default() };
    let rows = table::read(csv().as_bytes(), &options).unwrap().rows;
    let unsaid = Unsaid { day: Day::parse("2026-05-01").unwrap(), place: None };
    log_rows(&mut book, student.strand, now(3), &rows, unsaid).unwrap();
    book
}

fn of_a_log(c: &mut Criterion) {
    let dir = tempfile::tempdir().unwrap();
    let book = book(dir.path());
    let student = book.student("Ina").unwrap();
    let log = Log::read(&book, &student).unwrap();
    assert_eq!(fits(None, &log).unwrap().iter().filter(|of| of.fit.is_ok()).count(), 2_000);
    let mut group = c.benchmark_group("fits_of_2000");
    group.sample_size(10).measurement_time(Duration::from_secs(5));
    group.bench_function("without_a_book", |b| b.iter(|| fits(None, &log).unwrap()));
    let emptied = || {
        let empty = rusqlite::Connection::open(dir.path().join("b")).unwrap();
        empty.execute_batch("DELETE FROM kept").unwrap();
    };
    group.bench_function("cold_and_kept", |b| {
        b.iter_batched(emptied, |()| fits(Some(&book), &log).unwrap(), BatchSize::PerIteration);
    });
    fits(Some(&book), &log).unwrap();
    group.bench_function("warm", |b| b.iter(|| fits(Some(&book), &log).unwrap()));
    group.bench_function("the_log_alone", |b| b.iter(|| Log::read(&book, &student).unwrap()));
    group.finish();
}

criterion_group!(benches, of_a_log);
criterion_main!(benches);
