//! A simulated season of three students: one improves, one practises and does not, one
//! does not practise. What the plan says and does in each is a reviewed snapshot.
//!
//! Everybody here is invented: spreads and gains are assumed.

use std::fmt::Write;

use super::*;
use crate::act::{
    DrillChange, NewDrill, NewStudent, Unsaid, add_drill, add_student, begin_plan, change_drill, drop_drill,
    log_practice, log_rows, record_speed,
};
use crate::book::{Book, StudentEntry};
use crate::dice::Dice;
use crate::dose::{day, keeps_the_caps};
use crate::lesson::Log;
use crate::model::quantity::HeadSpeed;
use crate::model::*;
use crate::table::Row;
use crate::words;

/// How a student changes from week to week, from 0 at the start to 1.
struct Kind {
    practises: bool,
    /// Share of the way to the target point, the held finish and the faster other side
    /// that is gone in a week.
    gain: f64,
}

struct Season {
    _dir: tempfile::TempDir,
    book: Book,
    student: StudentEntry,
    dice: Dice,
    ms: i64,
    way: f64,
    kind: Kind,
    told: String,
}

impl Season {
    fn new(kind: Kind, seed: u64) -> Self {
        let dir = tempfile::tempdir().unwrap();
        let now = at(day(0), 1);
        let name = Name::new("Student").unwrap();
        let mut book = Book::create(&dir.path().join("book"), name.clone(), Role::Student, now).unwrap();
        let birth_year = Some(BirthYear::new(1988).unwrap());
        let new = NewStudent { name, hand: Hand::Right, units: UnitSystem::Metric, birth_year };
        let student = add_student(&mut book, now, new).unwrap();
        Self { _dir: dir, book, student, dice: Dice::new(seed), ms: 0, way: 0.0, kind, told: String::new() }
    }

    fn now(&mut self, on: Day) -> Now {
        self.ms += 1;
        at(on, self.ms)
    }

    /// Fourteen marked drives: 12 mm low and scattered at first.
    fn hit(&mut self, on: Day) {
        let (high, spread) = (-6.0 + 12.0 * self.way, 7.0 - 2.0 * self.way);
        let of_day = 2.0 * self.dice.normal();
        let rows: Vec<Row> = (0..14)
            .map(|_| {
                let toe = (spread * self.dice.normal()).clamp(-40.0, 40.0);
                let high = (high + of_day + spread * self.dice.normal()).clamp(-20.0, 20.0);
                Row {
                    day: Some(on),
                    powder: Some(true),
                    mark: Some(StrikeMark::new(toe, high, None, MarkRead::Tap).unwrap()),
                    ..Row::default()
                }
            })
            .collect();
        let now = self.now(on);
        log_rows(&mut self.book, self.student.strand, now, &rows, Unsaid { day: on, place: None }).unwrap();
    }

    /// What today's page asks is done, and logged with its own measure.
    fn practise(&mut self, on: Day) {
        let papers = Papers::read(&self.book, &self.student).unwrap();
        keeps_the_caps(&papers, on);
        let shown = read(&papers, &self.book.device_names().unwrap(), on).unwrap();
        let now = today(&papers, &shown, self.book.device());
        for item in now.drills.iter().filter(|item| item.sets_left > 0) {
            let repetitions = item.sets_left * item.repetitions;
            let count = |n: i64| Count::new(n).unwrap();
            let mut practice =
                Practice::of(item.drill.planned, on, count(item.sets_left), count(repetitions));
            if item.drill.stock.is_some_and(|drill| stock(drill).goal == Goal::FinishHeld) {
                let p = (0.55 + 0.4 * self.way + 0.04 * self.dice.normal()).clamp(0.0, 1.0);
                let good = (0..repetitions).filter(|_| self.dice.uniform() < p).count() as i64;
                (practice.good, practice.tries) = (Some(count(good)), Some(count(repetitions)));
            }
            let now = self.now(on);
            log_practice(&mut self.book, self.student.strand, now, &practice).unwrap();
            if item.drill.effort == Effort::FullSpeed {
                let of_day = 0.5 * self.dice.normal();
                let swings: Vec<SpeedSwing> = (0..repetitions)
                    .map(|n| {
                        let side = if !item.drill.two_sided || n % 6 < 3 {
                            SwingSide::Playing
                        } else {
                            SwingSide::Other
                        };
                        let other = 0.84 + 0.1 * self.way;
                        let mean =
                            (42.0 + 1.5 * self.way) * if side == SwingSide::Other { other } else { 1.0 };
                        let head_speed = HeadSpeed::new(mean + of_day + 0.8 * self.dice.normal()).unwrap();
                        let planned = Some(item.drill.planned);
                        SpeedSwing {
                            session: None,
                            day: on,
                            side,
                            head_speed,
                            source: SpeedSource::Radar,
                            planned,
                        }
                    })
                    .collect();
                let now = self.now(on);
                record_speed(&mut self.book, self.student.strand, now, &swings).unwrap();
            }
        }
    }

    /// The lesson: what the plan says, and the coach does as it says.
    fn lesson(&mut self, week: i64, on: Day) {
        let strand = self.student.strand;
        let papers = Papers::read(&self.book, &self.student).unwrap();
        let names = self.book.device_names().unwrap();
        let log = Log::read(&self.book, &self.student).unwrap();
        let shown = read(&papers, &names, on).unwrap();
        let progress = Progress::of(shown, &log, &names);
        writeln!(self.told, "week {week}").unwrap();
        for line in words::plan::speed(&progress.speed, UnitSystem::Metric) {
            writeln!(self.told, "  {line}").unwrap();
        }
        for drill in progress.progress.iter().filter(|drill| !drill.drill.dropped) {
            let measured = drill.measured.as_ref().unwrap();
            writeln!(
                self.told,
                "  [{}] {}",
                words::plan::latest(measured, UnitSystem::Metric),
                words::plan::decision(drill)
            )
            .unwrap();
            let now = self.now(on);
            let id = drill.drill.planned;
            match (drill.decision, drill.next_dose, drill.instead) {
                (Decision::StepUp, Some(dose), _) => {
                    let change = DrillChange {
                        sets: Some(dose.sets()),
                        repetitions: Some(dose.repetitions()),
                        ..DrillChange::default()
                    };
                    change_drill(&mut self.book, strand, now, id, change).unwrap();
                }
                (Decision::Change, _, Some(instead)) => {
                    drop_drill(&mut self.book, strand, now, id).unwrap();
                    let now = self.now(on);
                    let plan = progress.shown.plan;
                    add_drill(&mut self.book, strand, now, plan, new_drill(instead), None).unwrap();
                }
                _ => {}
            }
        }
    }

    fn play(mut self) -> String {
        for session in 0..5 {
            self.hit(day(3 * session));
        }
        let mut own = self.student.student.value.clone();
        own.baseline_until = Some(day(12));
        let now = self.now(day(12));
        let record = crate::book::Draft::put(RecordId(self.student.strand.0), &own);
        self.book.write(self.student.strand, now, [record]).unwrap();
        self.student = self.book.student("Student").unwrap();
        let log = Log::read(&self.book, &self.student).unwrap();
        let mut found = faults_of(&log, &[]);
        writeln!(self.told, "found: {:?}", found.iter().map(|f| (f.fault, f.sure)).collect::<Vec<_>>())
            .unwrap();
        found.push(Found { fault: Fault::Speed, sure: false, said: true });
        let papers = Papers::read(&self.book, &self.student).unwrap();
        let free = Free { days: 84, sessions_a_week: 2, minutes: 45 };
        let proposal = propose(&found, &Caps::of(&papers, None, day(12)), free);
        for drill in &proposal.drills {
            writeln!(self.told, "proposed: {}, {}", drill.drill.word(), words::plan::dose(drill.dose))
                .unwrap();
        }
        let plan = Plan::new(Name::new("aim").unwrap(), day(13), Some(day(13 + 84)));
        let drills =
            proposal.drills.iter().map(|d| NewDrill { dose: d.dose, ..new_drill(d.drill) }).collect();
        let now = self.now(day(12));
        begin_plan(&mut self.book, self.student.strand, now, &plan, drills).unwrap();
        for week in 0..12 {
            for on in [day(14 + 7 * week), day(17 + 7 * week)] {
                self.hit(on);
                if self.kind.practises {
                    self.practise(on);
                }
                self.way = (self.way + 0.5 * self.kind.gain).min(1.0);
            }
            if week % 3 == 2 {
                self.lesson(week + 1, day(19 + 7 * week));
            }
        }
        self.told
    }
}

fn new_drill(stock: StockDrill) -> NewDrill {
    let data = super::stock(stock);
    let dose = Dose::new(data.sets[1], data.repetitions[1], data.times[1].min(2)).unwrap();
    NewDrill { drill: words::drill::record(stock).unwrap(), dose, note: None }
}

fn at(on: Day, ms: i64) -> Now {
    let mut entropy = [7; 16];
    entropy[..8].copy_from_slice(&ms.to_le_bytes());
    Now { at: Moment { utc_ms: on.number() * 86_400_000 + ms, offset_min: 0 }, entropy }
}

#[test]
fn the_season_of_one_who_improves() {
    insta::assert_snapshot!(Season::new(Kind { practises: true, gain: 0.3 }, 1).play());
}

#[test]
fn the_season_of_one_who_practises_and_does_not_improve() {
    insta::assert_snapshot!(Season::new(Kind { practises: true, gain: 0.0 }, 2).play());
}

#[test]
fn the_season_of_one_who_does_not_practise() {
    insta::assert_snapshot!(Season::new(Kind { practises: false, gain: 0.0 }, 3).play());
}
