//! `demo`: the whole loop with invented people and real files in one folder.
//!
//! Two students log on their own devices, the coach's device takes both logs
//! in, plans go back, both sides change the same figure without knowing of
//! each other, and the books end equal. The clock is the story's, so the demo
//! gives the same books every time.

use std::fs;
use std::path::{Path, PathBuf};

use chalkface_core::act::{NewDrill, NewStudent, Unsaid, add_student, begin_plan, log_practice, log_rows};
use chalkface_core::book::{Book, Draft, StudentEntry};
use chalkface_core::model::{
    BirthYear, Count, Day, Dose, Drill, Hand, Minter, Moment, Name, Note, Now, Plan, PlannedDrill, Practice,
    RecordId, Remark, Role, Session, StockDrill, Target, UnitSystem,
};
use chalkface_core::sync::{DeviceKeys, RootKey, check_phrase};
use chalkface_core::{table, words};
use serde_json::{Value, json};

use super::brief;
use super::plan::{self, Homework};
use crate::cli;
use crate::error::DeskError;
use crate::keys::Keys;
use crate::output::print;
use crate::render;

const COACH: &str = "Ruth Ferrand";

macro_rules! logs {
    ($folder:literal: $($name:literal),+ $(,)?) => {
        &[$(($name, include_str!(concat!("../../demo/", $folder, "/", $name, ".csv")))),+]
    };
}

/// A student of the story.
struct Cast {
    name: &'static str,
    short: &'static str,
    hand: Hand,
    units: UnitSystem,
    born: i64,
    /// Logs up to the first lesson's homework, and those after it.
    before: &'static [(&'static str, &'static str)],
    after: &'static [(&'static str, &'static str)],
    baseline_until: &'static str,
    plan_from: &'static str,
    last: &'static str,
    aim: &'static str,
    drills: [(&'static str, StockDrill, [i64; 3]); 2],
    /// Days on which each drill was practised.
    practised: [&'static [&'static str]; 2],
    note: &'static str,
}

const CAST: [Cast; 2] = [
    Cast {
        name: "Ben Harlow",
        short: "ben",
        hand: Hand::Right,
        units: UnitSystem::Imperial,
        born: 1979,
        before: logs!["ben-harlow": "2026-04-07-range", "2026-04-09-lesson", "2026-04-12-range"],
        after: logs![
            "ben-harlow": "2026-04-16-lesson", "2026-04-19-range", "2026-04-25-course", "2026-04-28-range",
            "2026-05-05-range", "2026-05-09-course", "2026-05-14-lesson", "2026-05-20-range", "2026-05-27-range",
        ],
        baseline_until: "2026-04-12",
        plan_from: "2026-04-16",
        last: "2026-05-27",
        aim: "Strikes off the low heel, up to the target point",
        drills: [
            ("Target dot", StockDrill::TargetDot, [3, 8, 2]),
            ("Tee ladder", StockDrill::TeeLadder, [2, 6, 1]),
        ],
        practised: [
            &[
                "2026-04-19",
                "2026-04-24",
                "2026-04-28",
                "2026-05-05",
                "2026-05-08",
                "2026-05-20",
                "2026-05-22",
                "2026-05-27",
            ],
            &["2026-04-19", "2026-04-28", "2026-05-05", "2026-05-20", "2026-05-27"],
        ],
        note: "Tee the ball higher before anything else.",
    },
    Cast {
        name: "Ida Kranz",
        short: "ida",
        hand: Hand::Left,
        units: UnitSystem::Metric,
        born: 1996,
        before: logs!["ida-kranz": "2026-04-08-range", "2026-04-11-lesson", "2026-04-15-range"],
        after: logs![
            "ida-kranz": "2026-04-22-range", "2026-04-26-course", "2026-04-30-lesson", "2026-05-06-range",
            "2026-05-13-range", "2026-05-17-course", "2026-05-23-range", "2026-05-30-lesson",
        ],
        baseline_until: "2026-04-15",
        plan_from: "2026-04-15",
        last: "2026-05-30",
        aim: "A finish that holds, and with it a tighter pattern",
        drills: [
            ("Held finish", StockDrill::HeldFinish, [3, 10, 3]),
            ("Gripped-down block", StockDrill::GrippedDown, [2, 10, 1]),
        ],
        practised: [&["2026-04-22", "2026-05-06", "2026-05-23"], &["2026-05-13"]],
        note: "Balance first: feet together for the first five balls.",
    },
];

pub fn run(json: bool, options: &cli::Demo) -> Result<(), DeskError> {
    let dir = &options.into;
    fs::create_dir_all(dir).map_err(DeskError::file(dir))?;
    if fs::read_dir(dir).map_err(DeskError::file(dir))?.next().is_some() {
        return Err(DeskError::NotEmpty(dir.clone()));
    }
    let mut story = Story { dir, tick: 0, steps: Vec::new(), quiet: json };
    let mut coach = story.book("ruth.book", COACH, Role::Coach, "2026-04-06")?;
    let mut strands = Vec::new();
    for cast in &CAST {
        strands.push(story.play(cast, &mut coach)?);
    }
    let equal = strands.iter().all(|strand| strand["digests_equal"] == true);
    let value = json!({ "folder": dir, "steps": story.steps, "strands": strands, "equal": equal });
    print(json, &value, || {
        let briefs: Vec<String> =
            CAST.iter().map(|c| dir.join(format!("brief-{}.html", c.short)).display().to_string()).collect();
        format!("\nRead the briefs: {}", briefs.join(", "))
    })
}

/// The keys of a book of the story, where they were written.
fn keys_of(dir: &Path, book: &Book) -> Result<DeviceKeys, DeskError> {
    let short = book.owner().name.as_str().split(' ').next().unwrap_or_default().to_lowercase();
    Keys::of(&dir.join(format!("{short}.book")), None).read()
}

fn demo_keys(book: &Book, now: Now) -> Result<DeviceKeys, DeskError> {
    let mut entropy = [0x52; 32];
    for (to, from) in entropy.iter_mut().zip(now.entropy) {
        *to = from;
    }
    DeviceKeys::from_entropy(book.device(), &entropy).map_err(DeskError::Words)
}

/// The story so far: where its files lie, its clock, what has happened.
struct Story<'a> {
    dir: &'a Path,
    tick: u64,
    steps: Vec<Value>,
    quiet: bool,
}

impl Story<'_> {
    /// One student's part, from the first log to equal books.
    fn play(&mut self, cast: &Cast, coach: &mut Book) -> Result<Value, DeskError> {
        let (short, last) = (cast.short, cast.last);
        self.tell(&format!("\n{} ({}-handed) and {COACH}", cast.name, cast.hand.word()));
        let mut phone = self.book(&format!("{short}.book"), cast.name, Role::Student, "2026-04-06")?;
        let new = NewStudent {
            name: Name::new(cast.name)?,
            hand: cast.hand,
            units: cast.units,
            birth_year: Some(BirthYear::new(cast.born)?),
        };
        let student = add_student(&mut phone, self.now("2026-04-06")?, new)?;
        self.meet(&mut phone, coach, "2026-04-06")?;
        self.log(&mut phone, &student, cast, cast.before, cast.baseline_until)?;
        self.exchange(
            &mut phone,
            coach,
            &student,
            COACH,
            &format!("{short}-1-to-ruth"),
            cast.baseline_until,
        )?;

        let planned = self.plan(coach, &student, cast)?;
        self.exchange(
            coach,
            &mut phone,
            &student,
            cast.name,
            &format!("{short}-2-from-ruth"),
            cast.plan_from,
        )?;

        self.log(&mut phone, &student, cast, cast.after, last)?;
        self.practise(&mut phone, &student, cast, &planned)?;
        self.exchange(&mut phone, coach, &student, COACH, &format!("{short}-3-to-ruth"), last)?;
        self.brief(coach, &student, cast)?;

        self.tell("  Now both change the plan without knowing of each other.");
        self.dose(coach, &student, planned.first(), last, 12, COACH)?;
        self.dose(&mut phone, &student, planned.first(), last, 6, cast.name)?;
        self.exchange(coach, &mut phone, &student, cast.name, &format!("{short}-4-from-ruth"), last)?;
        self.exchange(&mut phone, coach, &student, COACH, &format!("{short}-5-to-ruth"), last)?;

        let (ours, theirs) = (phone.digest(student.strand)?, coach.digest(student.strand)?);
        let equal = ours == theirs;
        let digest: String = ours.iter().take(8).map(|byte| format!("{byte:02x}")).collect();
        self.tell(&format!(
            "  Both books hold the same: {} (digest {digest}…)",
            if equal { "yes" } else { "NO" }
        ));
        self.brief(coach, &student, cast)?;
        Ok(json!({ "student": cast.name, "digests_equal": equal, "digest": digest }))
    }

    fn tell(&mut self, line: &str) {
        if !self.quiet {
            println!("{line}");
        }
    }

    /// A moment of the story: each is a minute after the one before.
    fn now(&mut self, day: &str) -> Result<Now, DeskError> {
        self.tick += 1;
        let mut entropy = [0x51; 16];
        for (to, from) in entropy.iter_mut().zip(self.tick.to_le_bytes()) {
            *to = from;
        }
        let evening_ms = Day::parse(day)?.number() * 86_400_000 + 16 * 3_600_000;
        Ok(Now { at: Moment { utc_ms: evening_ms + 60_000 * self.tick as i64, offset_min: 120 }, entropy })
    }

    /// A book, with keys that are the same every time: nobody's secrets.
    fn book(&mut self, file: &str, name: &str, role: Role, day: &str) -> Result<Book, DeskError> {
        let (path, now) = (self.dir.join(file), self.now(day)?);
        let mut book = Book::create(&path, Name::new(name)?, role, now)?;
        let keys = demo_keys(&book, now)?;
        Keys::of(&path, None).write(&keys)?;
        book.begin_identity(&keys, &RootKey::from_entropy(now.entropy), now)?;
        Ok(book)
    }

    /// Two people take in each other's card.
    fn meet(&mut self, one: &mut Book, other: &mut Book, day: &str) -> Result<(), DeskError> {
        let now = self.now(day)?;
        let (first, second) =
            (one.card(&keys_of(self.dir, one)?, now)?, other.card(&keys_of(self.dir, other)?, now)?);
        one.meet(&second)?;
        other.meet(&first)?;
        let phrase = check_phrase(&first.identity.root());
        self.tell(&format!(
            "  {} and {} take in each other's card; {}'s check phrase: {phrase}.",
            first.name, second.name, first.name
        ));
        Ok(())
    }

    fn log(
        &mut self,
        phone: &mut Book,
        student: &StudentEntry,
        cast: &Cast,
        logs: &[(&str, &str)],
        day: &str,
    ) -> Result<(), DeskError> {
        let options = table::Options { hand: Some(cast.hand), ..table::Options::default() };
        let mut shots = 0;
        for (name, csv) in logs {
            let table = table::read(csv.as_bytes(), &options)
                .map_err(|problem| DeskError::Table { path: PathBuf::from(name), problem })?;
            let now = self.now(day)?;
            let unsaid = Unsaid { day: now.at.local_day(), place: None };
            shots += log_rows(phone, student.strand, now, &table.rows, unsaid)?.shots;
        }
        self.steps.push(json!({ "step": "log", "student": cast.name, "files": logs.len(), "shots": shots }));
        self.tell(&format!("  {} logs {shots} balls from {} files.", cast.name, logs.len()));
        Ok(())
    }

    fn exchange(
        &mut self,
        from: &mut Book,
        to: &mut Book,
        student: &StudentEntry,
        to_name: &str,
        file: &str,
        day: &str,
    ) -> Result<(), DeskError> {
        let path = self.dir.join(format!("{file}.chalk"));
        let now = self.now(day)?;
        let sent =
            from.send_file(&keys_of(self.dir, from)?, student, &Name::new(to_name)?, now, false, &path)?;
        let bytes = fs::metadata(&path).map_err(DeskError::file(&path))?.len();
        let read = fs::File::open(&path).map_err(DeskError::file(&path))?;
        let receipt = to.receive(Some(&keys_of(self.dir, to)?), now, std::io::BufReader::new(read))?;
        self.tell(&format!("  {file}.chalk: {} changes in {bytes} bytes for {to_name}.", sent.changes));
        for line in words::exchange::receipt(&receipt, &to.device_names()?).lines() {
            self.tell(&format!("    {line}"));
        }
        self.steps.push(json!({
            "step": "exchange", "file": path, "to": to_name, "changes": sent.changes, "bytes": bytes,
            "taken": receipt.taken, "conflicts": receipt.conflicts.len(),
        }));
        Ok(())
    }

    /// The coach sets target, baseline and plan.
    fn plan(
        &mut self,
        coach: &mut Book,
        student: &StudentEntry,
        cast: &Cast,
    ) -> Result<Vec<RecordId>, DeskError> {
        let mut record = coach.student(cast.name)?.student.value;
        record.target = Some(Target::new(0.0, 6.0, 12.0)?);
        record.baseline_until = Some(Day::parse(cast.baseline_until)?);
        let now = self.now(cast.plan_from)?;
        let note = Note { day: Day::parse(cast.plan_from)?, text: Remark::new(cast.note)?, about: None };
        let coach_record = chalkface_core::model::Coach {
            name: coach.owner().name.clone(),
            person: Some(coach.owner().person),
        };
        let mut minter = Minter::new(now);
        coach.write(
            student.strand,
            now,
            [
                Draft::put(minter.record(), &coach_record),
                Draft::put(RecordId(student.strand.0), &record),
                Draft::put(minter.record(), &note),
            ],
        )?;
        let frame =
            Plan::new(Name::new(cast.aim)?, Day::parse(cast.plan_from)?, Some(Day::parse(cast.last)?));
        let mut drills = Vec::new();
        for (name, drill, [sets, repetitions, times]) in cast.drills {
            drills.push(NewDrill {
                drill: Drill { name: Name::new(name)?, ..words::drill::record(drill)? },
                dose: Dose::new(sets, repetitions, times)?,
                note: None,
            });
        }
        let now = self.now(cast.plan_from)?;
        let planned = begin_plan(coach, student.strand, now, &frame, drills)?;
        self.tell(&format!("  {COACH} sets the target point, the baseline and a plan: {}.", cast.aim));
        Ok(planned)
    }

    fn practise(
        &mut self,
        phone: &mut Book,
        student: &StudentEntry,
        cast: &Cast,
        planned: &[RecordId],
    ) -> Result<(), DeskError> {
        let sessions = phone.records::<Session>(student.strand)?;
        let mut times = 0;
        for ((planned, days), (_, _, [sets, repetitions, _])) in
            planned.iter().zip(cast.practised).zip(cast.drills)
        {
            for day in days {
                let (sets, repetitions) = (Count::new(sets)?, Count::new(sets * repetitions)?);
                let day_of = Day::parse(day)?;
                let session = sessions.iter().find(|entry| entry.value.day == day_of).map(|entry| entry.id);
                let practice = Practice { session, ..Practice::of(*planned, day_of, sets, repetitions) };
                let now = self.now(day)?;
                log_practice(phone, student.strand, now, &practice)?;
                times += 1;
            }
        }
        self.tell(&format!("  {} practises {times} times.", cast.name));
        Ok(())
    }

    /// One side changes how many repetitions a drill has.
    fn dose(
        &mut self,
        book: &mut Book,
        student: &StudentEntry,
        planned: Option<&RecordId>,
        day: &str,
        repetitions: i64,
        who: &str,
    ) -> Result<(), DeskError> {
        let Some(id) = planned else { return Ok(()) };
        let Some(entry) = book.record::<PlannedDrill>(student.strand, *id)? else { return Ok(()) };
        let mut drill = entry.value;
        drill.dose = Dose::new(drill.dose.sets(), repetitions, drill.dose.times_a_week())?;
        let now = self.now(day)?;
        book.write(student.strand, now, [Draft::put(*id, &drill)])?;
        self.tell(&format!("  {who} sets {repetitions} repetitions a set."));
        Ok(())
    }

    fn brief(&mut self, coach: &Book, student: &StudentEntry, cast: &Cast) -> Result<(), DeskError> {
        let values = brief::make(coach, &student.strand.to_string(), Day::parse(cast.last)?)?;
        for ending in ["html", "png", "pdf"] {
            let out = self.dir.join(format!("brief-{}.{ending}", cast.short));
            brief::write_brief(&values, brief::Form::Page, &out)?;
        }
        brief::write_brief(&values, brief::Form::Card, &self.dir.join(format!("card-{}.html", cast.short)))?;
        self.steps.push(json!({ "step": "brief", "student": cast.name, "balls": values.balls }));
        let day = Day::parse(cast.last)?;
        let (values, page) = plan::make(coach, &Homework::read(coach, coach.student(cast.name)?)?, day)?;
        for ending in ["html", "png", "pdf"] {
            render::write_page(&values, &page, &self.dir.join(format!("plan-{}.{ending}", cast.short)))?;
        }
        let short = cast.short;
        self.tell(&format!("  {COACH} reads the brief: brief-{short}.html; on a phone: card-{short}.html"));
        self.tell(&format!("  {COACH} reads the plan: plan-{short}.html"));
        Ok(())
    }
}
