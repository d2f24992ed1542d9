//! What impact, flight and the inverse cost, one at a time and in batches.
//!
//! `cargo bench -p chalkface-core --bench flight`; targets beside each group.
#![allow(missing_docs, clippy::unwrap_used, reason = "a benchmark may stop at what it did not expect")]

use std::hint::black_box;
use std::time::Duration;

use chalkface_core::flight::{
    Club, Conditions, Delivery, Face, FiveConstantLaw, Flier, Hand, Launch, Prior, Quantity, Seen, Setting,
    fit, fly_many, hit, hit_many, impact, split,
};
use criterion::{BenchmarkId, Criterion, Throughput, criterion_group, criterion_main};

/// A repeatable stream of numbers.
struct Variety(u64);

impl Variety {
    fn next(&mut self, low: f64, high: f64) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        low + (high - low) * ((self.0 >> 11) as f64 / (1u64 << 53) as f64)
    }
}

/// Drives as amateurs hit them.
fn deliveries(count: usize) -> Vec<Delivery> {
    let mut v = Variety(7);
    (0..count)
        .map(|_| Delivery {
            head_speed_mps: v.next(35.0, 50.0),
            loft_deg: v.next(10.0, 17.0),
            face_deg: v.next(-4.0, 4.0),
            path_deg: v.next(-6.0, 6.0),
            attack_deg: v.next(-4.0, 4.0),
            toe_mm: v.next(-20.0, 20.0),
            high_mm: v.next(-12.0, 14.0),
        })
        .collect()
}

fn launches(count: usize) -> Vec<Launch> {
    let mut v = Variety(8);
    (0..count)
        .map(|_| Launch {
            ball_speed_mps: v.next(52.0, 74.0),
            launch_deg: v.next(7.0, 17.0),
            start_deg: v.next(-5.0, 5.0),
            backspin_rpm: v.next(1500.0, 3800.0),
            sidespin_rpm: v.next(-900.0, 900.0),
            rifle_rpm: 0.0,
        })
        .collect()
}

/// Targets: impact under 0.5 us, one flight under 6 us.
fn one(c: &mut Criterion) {
    let head = Club::default().conforming().unwrap();
    let law = FiveConstantLaw::ODS_FIT;
    let flier = Flier::new(&law, &Conditions::default()).unwrap();
    let (swings, balls) = (deliveries(1024), launches(1024));
    let mut i = 0;
    let mut next = move || {
        i = (i + 1) % 1024;
        i
    };
    let mut group = c.benchmark_group("one");
    group.bench_function("impact", |b| {
        b.iter(|| swings.get(next()).map(|d| impact(&head, Hand::Right, Face::Dry, black_box(d))));
    });
    group.bench_function("flight", |b| b.iter(|| balls.get(next()).map(|l| flier.fly(black_box(l)))));
    group.bench_function("shot", |b| {
        b.iter(|| swings.get(next()).map(|d| hit(&head, Hand::Right, Face::Dry, &flier, black_box(d))));
    });
    group.finish();
}

/// Target: at most 2 us a flight and core, 1 us if it can be had.
fn many(c: &mut Criterion) {
    let head = Club::default().conforming().unwrap();
    let law = FiveConstantLaw::ODS_FIT;
    let flier = Flier::new(&law, &Conditions::default()).unwrap();
    let mut group = c.benchmark_group("many");
    for count in [1_000, 10_000, 100_000] {
        group.throughput(Throughput::Elements(count as u64));
        let balls = launches(count);
        let mut flights = vec![None; count];
        group.bench_with_input(BenchmarkId::new("flights", count), &balls, |b, balls| {
            b.iter(|| fly_many(&flier, black_box(balls), &mut flights).unwrap());
        });
        let swings = deliveries(count);
        let mut shots = vec![None; count];
        group.bench_with_input(BenchmarkId::new("shots", count), &swings, |b, swings| {
            b.iter(|| {
                hit_many(&head, Hand::Right, Face::Dry, &flier, black_box(swings), &mut shots).unwrap();
            });
        });
    }
    group.finish();
}

/// Target: one fit under 1 ms.
fn back(c: &mut Criterion) {
    let head = Club::default().conforming().unwrap();
    let law = FiveConstantLaw::ODS_FIT;
    let flier = Flier::new(&law, &Conditions::default()).unwrap();
    let setting = Setting { head: &head, hand: Hand::Right, face: Face::Dry, flier: &flier };
    let prior = Prior::default();
    let mark = Seen::nothing()
        .with_number(Quantity::Toe, 11.0)
        .and_then(|s| s.with_number(Quantity::High, -4.0))
        .unwrap();
    let eye = mark.with_start_by_eye(1).with_curve_by_eye(-1);
    let radar = mark
        .with_number(Quantity::HeadSpeed, 43.0)
        .and_then(|s| s.with_number(Quantity::BallSpeed, 61.5))
        .and_then(|s| s.with_number(Quantity::Launch, 12.0))
        .and_then(|s| s.with_number(Quantity::Start, 2.5))
        .and_then(|s| s.with_number(Quantity::Backspin, 2700.0))
        .and_then(|s| s.with_number(Quantity::Sidespin, -350.0))
        .unwrap();
    let landed = radar.with_number(Quantity::Carry, 182.0).unwrap();
    let mut group = c.benchmark_group("back");
    for (name, seen) in [("fit/eye", eye), ("fit/radar", radar), ("fit/radar and carry", landed)] {
        group.bench_function(name, |b| b.iter(|| fit(&setting, &prior, black_box(&seen)).unwrap()));
    }
    let d = Delivery::default().struck_at(15.0, -5.0);
    group.bench_function("split", |b| b.iter(|| split(&setting, black_box(&d), [0.0, 4.0]).unwrap()));
    group.finish();
}

criterion_group! {
    name = benches;
    config = Criterion::default().warm_up_time(Duration::from_millis(500)).measurement_time(Duration::from_secs(2)).sample_size(30);
    targets = one, many, back
}
criterion_main!(benches);
