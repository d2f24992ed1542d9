//! Made the golden files, once: `cargo run -p chalkface-tests --example
//! make_golden -- FOLDER LOG.csv TRIAL.csv`. A folder that holds a book is left alone.
//! (Version 1 was made by this maker as it was then, without a trial; version 2
//! without keys; version 3 without anything erased.)
//!
//! It is kept so that one can see what is in them, and to start the next
//! version's from. Start at `main`; the story is in tests/golden/README.md.

use std::error::Error;
use std::fs;
use std::path::{Path, PathBuf};

use chalkface_core::act::{
    NewDrill, NewStudent, NewTrial, Unsaid, add_student, begin_plan, begin_trial, leave_out_ball,
    log_practice, log_rows,
};
use chalkface_core::book::{Book, Draft, StudentEntry};
use chalkface_core::lesson::{Log, fits};
use chalkface_core::model::quantity::{FaceHeight, FaceWidth, HeadSpeed};
use chalkface_core::model::{
    BallNo, BirthYear, Club, Coach, Count, Day, Dose, Drill, Fields, Hand, Kind, Measure, Minter, Moment,
    Name, Note, Now, Plan, PlannedDrill, Practice, Purpose, Record, RecordId, Refusal, Remark, Role,
    SpeedSource, SpeedSwing, SwingSide, Target, TrialKind, UnitSystem, Value,
};
use chalkface_core::sync::{DeviceKeys, RootKey};
use chalkface_core::table;
use serde_json::json;

type Done<T> = Result<T, Box<dyn Error>>;

/// A clock and a random source that give the same every time.
struct Clock {
    tick: u64,
}

impl Clock {
    fn now(&mut self, day: &str) -> Done<Now> {
        self.tick += 1;
        let mut entropy = [0x47; 16];
        for (to, from) in entropy.iter_mut().zip(self.tick.to_le_bytes()) {
            *to = from;
        }
        let utc_ms = Day::parse(day)?.number() * 86_400_000 + 15 * 3_600_000 + 60_000 * self.tick as i64;
        Ok(Now { at: Moment { utc_ms, offset_min: 60 }, entropy })
    }
}

/// A note with a field that no version of today knows.
struct NewerNote(Note);

impl Record for NewerNote {
    const KIND: Kind = Kind::NOTE;
    fn to_fields(&self) -> Fields {
        let mut fields = self.0.to_fields();
        fields.set(777, Value::Opaque(vec![0x82, 0x01, 0xf9, 0x3e, 0x00]));
        fields
    }
    fn from_fields(fields: &Fields) -> Result<Self, Refusal> {
        Note::from_fields(fields).map(Self)
    }
}

/// A record of a kind that no version of today knows.
struct Newer;

impl Record for Newer {
    const KIND: Kind = Kind(900);
    fn to_fields(&self) -> Fields {
        [(1, Value::from("of a newer version")), (2, Value::Bytes(vec![7; 3]))].into_iter().collect()
    }
    fn from_fields(_: &Fields) -> Result<Self, Refusal> {
        Ok(Self)
    }
}

fn main() -> Done<()> {
    let mut words = std::env::args_os().skip(1).map(PathBuf::from);
    let (Some(folder), Some(log), Some(trial)) = (words.next(), words.next(), words.next()) else {
        return Err("give a folder, a log and the log of a trial".into());
    };
    let (path, file) = (folder.join("student.book"), folder.join("from-coach.chalk"));
    if path.exists() || file.exists() {
        return Err("golden files are made once and stay as they are".into());
    }
    fs::create_dir_all(&folder)?;
    let work = tempfile::tempdir()?;
    let mut clock = Clock { tick: 0 };
    let mut coach = Book::create(
        &work.path().join("coach.book"),
        Name::new("Maja Lind")?,
        Role::Coach,
        clock.now("2026-03-01")?,
    )?;
    give_keys(&mut coach, 2, clock.now("2026-03-01")?)?;
    let student = student_part(&path, &mut coach, [&log, &trial], &mut clock)?;
    // The coach's last news, of which the student's book knows nothing yet.
    change_dose(&mut coach, &student, 12, clock.now("2026-04-21")?)?;
    let note = NewerNote(note("2026-04-21", "Ása's tee height next – 40 mm")?);
    let now = clock.now("2026-04-21")?;
    let mut minter = Minter::new(now);
    coach.write(
        student.strand,
        now,
        [Draft::put(minter.record(), &note), Draft::put(minter.record(), &Newer)],
    )?;
    let coachs = keys_of(&coach, 2)?;
    coach.send_file(&coachs, &student, &Name::new("Nils Aro")?, clock.now("2026-04-21")?, true, &file)?;
    let keys = keys_of(&Book::open(&path)?, 1)?;
    fs::write(folder.join("student.key"), keys.to_text())?;
    expect(&path, &file, &folder, work.path(), &keys)
}

/// The student's book, up to its own last news. The coach has heard of all but these.
fn student_part(
    path: &Path,
    coach: &mut Book,
    [log, trial]: [&Path; 2],
    clock: &mut Clock,
) -> Done<StudentEntry> {
    let mut book = Book::create(path, Name::new("Nils Aro")?, Role::Student, clock.now("2026-03-01")?)?;
    let keys = give_keys(&mut book, 1, clock.now("2026-03-01")?)?;
    book.meet(&coach.card(&keys_of(coach, 2)?, clock.now("2026-03-01")?)?)?;
    coach.meet(&book.card(&keys, clock.now("2026-03-01")?)?)?;
    let new = NewStudent {
        name: Name::new("Nils Aro")?,
        hand: Hand::Left,
        units: UnitSystem::Imperial,
        birth_year: Some(BirthYear::new(1988)?),
    };
    let student = add_student(&mut book, clock.now("2026-03-01")?, new)?;
    let options = table::Options { hand: Some(Hand::Left), ..table::Options::default() };
    let rows = table::read(&fs::read(log)?, &options)?.rows;
    let now = clock.now("2026-03-20")?;
    log_rows(&mut book, student.strand, now, &rows, Unsaid { day: now.at.local_day(), place: None })?;
    trial_part(&mut book, &student, trial, clock)?;
    let now = clock.now("2026-03-21")?;
    let mut minter = Minter::new(now);
    let driver = book.records::<Club>(student.strand)?.into_iter().next().ok_or("the log names no club")?;
    let measured = Club {
        face_width_mm: Some(FaceWidth::new(112.5)?),
        face_height_mm: Some(FaceHeight::new(57.0)?),
        ..driver.value
    };
    let swing = SpeedSwing {
        session: None,
        day: Day::parse("2026-03-21")?,
        side: SwingSide::Other,
        head_speed: HeadSpeed::new(38.25)?,
        source: SpeedSource::Radar,
        planned: None,
    };
    let (mistake, regretted) = (minter.record(), minter.record());
    book.write(
        student.strand,
        now,
        [
            Draft::put(driver.id, &measured),
            Draft::put(minter.record(), &swing),
            Draft::put(mistake, &note("2026-03-21", "typed by mistake")?),
            Draft::put(regretted, &note("2026-03-21", "erased since")?),
        ],
    )?;
    book.write(student.strand, clock.now("2026-03-21")?, [Draft::remove(Kind::NOTE, mistake)])?;
    book.erase(&keys, &student, &[(Kind::NOTE, regretted)], clock.now("2026-03-21")?)?;
    pass(&mut book, coach, &student, "Maja Lind", clock.now("2026-03-21")?)?;
    let planned = coach_plans(coach, clock)?;
    pass(coach, &mut book, &student, "Nils Aro", clock.now("2026-03-22")?)?;
    let mut practice = Practice::of(planned, Day::parse("2026-04-02")?, Count::new(3)?, Count::new(24)?);
    practice.note = Some(Remark::new("windy")?);
    log_practice(&mut book, student.strand, clock.now("2026-04-02")?, &practice)?;
    change_dose(&mut book, &student, 6, clock.now("2026-04-20")?)?;
    // What can be computed again is in the frozen book too.
    fits(Some(&book), &Log::read(&book, &student)?)?;
    Ok(student)
}

/// Keys from fixed numbers: nobody's secrets.
fn keys_of(book: &Book, n: u8) -> Done<DeviceKeys> {
    Ok(DeviceKeys::from_entropy(book.device(), &[n; 32])?)
}

fn give_keys(book: &mut Book, n: u8, now: Now) -> Done<DeviceKeys> {
    let keys = keys_of(book, n)?;
    book.begin_identity(&keys, &RootKey::from_entropy([n; 16]), now)?;
    Ok(keys)
}

/// A trial that is under way, with a ball left out.
fn trial_part(book: &mut Book, student: &StudentEntry, log: &Path, clock: &mut Clock) -> Done<()> {
    let new = NewTrial {
        kind: TrialKind::GrippedDown,
        arms: [Name::new("as ever")?, Name::new("gripped down ½ in")?],
        measure: Measure::Miss,
        blocks: 3,
        balls: 4,
    };
    let trial = begin_trial(book, student.strand, clock.now("2026-03-21")?, new)?;
    leave_out_ball(book, student.strand, clock.now("2026-03-21")?, trial.id, BallNo::new(4)?)?;
    let options = table::Options { hand: Some(Hand::Left), ..table::Options::default() };
    let rows = table::read(&fs::read(log)?, &options)?.rows;
    let now = clock.now("2026-03-21")?;
    log_rows(book, student.strand, now, &rows, Unsaid { day: now.at.local_day(), place: None })?;
    Ok(())
}

fn coach_plans(coach: &mut Book, clock: &mut Clock) -> Done<RecordId> {
    let student = coach.student("Nils Aro")?;
    let mut record = student.student.value.clone();
    record.target = Some(Target::new(-1.5, 7.0, 11.0)?);
    record.baseline_until = Some(Day::parse("2026-03-08")?);
    let now = clock.now("2026-03-22")?;
    let mut minter = Minter::new(now);
    let owner = coach.owner();
    let about_coach = Coach { name: owner.name.clone(), person: Some(owner.person) };
    coach.write(
        student.strand,
        now,
        [
            Draft::put(minter.record(), &about_coach),
            Draft::put(RecordId(student.strand.0), &record),
            Draft::put(minter.record(), &note("2026-03-22", "Start from the held finish.")?),
        ],
    )?;
    let plan = Plan::new(
        Name::new("Strikes up to the target point")?,
        Day::parse("2026-03-23")?,
        Some(Day::parse("2026-05-03")?),
    );
    let mut drill = Drill::named(Name::new("Target dot")?, Some(Purpose::ContactBias));
    drill.how = Some(Remark::new("Powder, one dot, three balls.")?);
    let drills = vec![NewDrill { drill, dose: Dose::new(3, 8, 2)?, note: Some(Remark::new("slowly")?) }];
    let planned = begin_plan(coach, student.strand, clock.now("2026-03-22")?, &plan, drills)?;
    planned.into_iter().next().ok_or_else(|| "a plan without a drill".into())
}

fn note(day: &str, text: &str) -> Done<Note> {
    Ok(Note { day: Day::parse(day)?, text: Remark::new(text)?, about: None })
}

fn change_dose(book: &mut Book, student: &StudentEntry, repetitions: i64, now: Now) -> Done<()> {
    let planned =
        book.records::<PlannedDrill>(student.strand)?.into_iter().next().ok_or("no planned drill")?;
    let mut value = planned.value;
    value.dose = Dose::new(value.dose.sets(), repetitions, value.dose.times_a_week())?;
    book.write(student.strand, now, [Draft::put(planned.id, &value)])?;
    Ok(())
}

fn pass(from: &mut Book, to: &mut Book, student: &StudentEntry, name: &str, now: Now) -> Done<()> {
    let mut file = Vec::new();
    let (ours, theirs) = if name == "Nils Aro" { (2, 1) } else { (1, 2) };
    from.send(&keys_of(from, ours)?, student, &Name::new(name)?, now, false, &mut file)?;
    let receipt = to.receive(Some(&keys_of(to, theirs)?), now, file.as_slice())?;
    if !receipt.refused.is_empty() {
        return Err(format!("{:?}", receipt.refused).into());
    }
    Ok(())
}

/// Writes down what the files come to.
fn expect(path: &Path, file: &Path, folder: &Path, work: &Path, keys: &DeviceKeys) -> Done<()> {
    let copy = work.join("copy.book");
    fs::copy(path, &copy)?;
    let mut book = Book::open(&copy)?;
    let before = book.check()?;
    let receipt = book.receive(Some(keys), Clock { tick: 900 }.now("2026-04-22")?, fs::File::open(file)?)?;
    let after = book.check()?;
    if !(before.ok && after.ok) {
        return Err("the books are not whole".into());
    }
    let expected = json!({
        "before": { "changes": before.changes, "digest": before.digest },
        "receipt": {
            "from": receipt.from, "taken": receipt.taken, "already_had": receipt.already_had,
            "conflicts": receipt.conflicts.len(), "refused": receipt.refused.len(),
        },
        "after": { "changes": after.changes, "digest": after.digest },
    });
    fs::write(folder.join("expected.json"), serde_json::to_string_pretty(&expected)? + "\n")?;
    println!("{expected:#}");
    Ok(())
}
