//! `drills` and `plan`: the catalogue, and a student's plan.

use std::collections::BTreeMap;
use std::path::Path;

use chalkface_core::act::{
    DrillChange, Edit, NewDrill, PlanChange, add_drill, begin_plan, drop_drill, edit_plan,
};
use chalkface_core::book::{Book, StudentEntry};
use chalkface_core::lesson::what_if::FixName;
use chalkface_core::lesson::{DRIVES_FOR_A_BRIEF, Log, Worth};
use chalkface_core::model::{
    AuthorId, Day, Dose, Drill, Name, Plan, Refusal, Remark, SpeedLimits, StockDrill,
};
use chalkface_core::plan::{
    Caps, Found, Free, Papers, Progress, Proposal, Shown, faults_of, find_own, find_planned, find_stock,
    own_drills, propose, read, stock,
};
use chalkface_core::screen::{
    Page, Records, drill_page, drills_page, own_drill_page, plan_page, proposal_page,
};
use chalkface_core::words;
use serde_json::{Value, json};

use crate::cli::Send;
use crate::cli::plan::{self as cli, OwnOptions, PlanCommand};
use crate::clock;
use crate::error::DeskError;
use crate::keys::Keys;
use crate::output::print;
use crate::render::{self, text};

/// The days of a plan whose next lesson is not said.
const USUAL_DAYS: i64 = 14;

/// A student's plan with all that it takes to show it.
pub struct Homework {
    pub student: StudentEntry,
    pub papers: Papers,
    pub names: BTreeMap<AuthorId, String>,
}

impl Homework {
    pub fn read(book: &Book, student: StudentEntry) -> Result<Self, DeskError> {
        let papers = Papers::read(book, &student)?;
        Ok(Self { papers, names: book.device_names()?, student })
    }

    pub fn shown(&self, day: Day) -> Result<Shown, DeskError> {
        read(&self.papers, &self.names, day).ok_or_else(|| {
            let name = self.name();
            DeskError::Plan(format!(
                "{name} has no plan yet; begin one with `plan {name:?} propose --accept`"
            ))
        })
    }

    pub fn name(&self) -> &str {
        self.student.student.value.name.as_str()
    }

    /// The drills' own records, for the texts of those that are not ours.
    pub fn drills(&self) -> Records {
        self.papers.drills.iter().map(|(id, entry)| (*id, entry.value.clone())).collect()
    }
}

pub fn drills(path: &Path, json: bool, options: &cli::Drills) -> Result<(), DeskError> {
    let own = if path.exists() { own_drills(&Book::open(path)?)? } else { Vec::new() };
    let Some(wanted) = &options.drill else {
        let ours: Vec<Value> = StockDrill::ALL.iter().map(|(_, drill)| drill_json(*drill)).collect();
        let value = json!({ "drills": ours, "own": own });
        return print(json, &value, || text::page(&drills_page(&own), text::WIDTH));
    };
    let Some(drill) = find_stock(wanted) else {
        let drill = find_own(&own, wanted).ok_or_else(|| no_such_drill(wanted, &own))?;
        return print(json, drill, || text::page(&own_drill_page(drill), text::WIDTH));
    };
    print(json, &drill_json(drill), || text::page(&drill_page(drill), text::WIDTH))
}

fn drill_json(drill: StockDrill) -> Value {
    let (data, said) = (stock(drill), words::drill::text(drill));
    json!({
        "drill": drill, "name": said.name, "purpose": data.purpose, "effort": data.effort, "two_sided": data.two_sided,
        "what": said.what, "steps": said.steps, "equipment": said.equipment, "log": said.log,
        "care": words::drill::cautions(drill), "sets": data.sets, "repetitions": data.repetitions,
        "times_a_week": data.times, "rest_s": data.rest_s, "goal": data.goal, "exit": data.exit,
        "exit_says": words::drill::exit(drill), "evidence": words::drill::COMMON_PRACTICE,
    })
}

fn no_such_drill(wanted: &str, own: &[Drill]) -> DeskError {
    let names: Vec<&str> = StockDrill::ALL
        .iter()
        .map(|(word, _)| *word)
        .chain(own.iter().map(|drill| drill.name.as_str()))
        .collect();
    let allowed = format!("one of: {}", names.join(", "));
    Refusal::new("drill", wanted, allowed, "to make a new one, say how to do it with --text FILE").into()
}

pub fn run(path: &Path, keys: &Keys, json: bool, options: cli::Plan) -> Result<(), DeskError> {
    let mut book = Book::open(path)?;
    let day = options.as_of.map_or_else(clock::today, Ok)?;
    let homework = Homework::read(&book, book.student(&options.student)?)?;
    match options.command {
        None => return show(&book, json, &homework, day, options.out.as_deref()),
        Some(PlanCommand::Send { to, out, all }) => {
            let to = to.unwrap_or_else(|| homework.student.student.value.name.clone());
            drop(book);
            let send = Send { student: options.student, to, out, all };
            return super::exchange::send(path, keys, json, &send);
        }
        Some(PlanCommand::Propose(propose)) => {
            let accept = propose.accept;
            let proposal = self::propose_plan(&mut book, &homework, day, propose)?;
            if !accept {
                let page = proposal_page(homework.name(), &proposal);
                return print(json, &proposal, || {
                    text::page(&page, text::WIDTH) + "\nBegin it with --accept; then change what you want."
                });
            }
        }
        Some(PlanCommand::Add(add)) => self::add(&mut book, &homework, day, add)?,
        Some(PlanCommand::Change(change)) => self::change(&mut book, &homework, day, change)?,
        Some(PlanCommand::Drop { drill }) => {
            let id = find_planned(&homework.shown(day)?, &drill)?.planned;
            drop_drill(&mut book, homework.student.strand, clock::now()?, id)?;
        }
    }
    let homework = Homework::read(&book, book.student(&homework.student.strand.to_string())?)?;
    show(&book, json, &homework, day, options.out.as_deref())
}

fn show(book: &Book, json: bool, homework: &Homework, day: Day, out: Option<&Path>) -> Result<(), DeskError> {
    let (progress, page) = make(book, homework, day)?;
    let Some(out) = out else {
        return print(json, &progress, || text::page(&page, text::WIDTH));
    };
    render::write_page(&progress, &page, out)?;
    print(json, &json!({ "file": out, "student": homework.name() }), || {
        format!("{}: the plan of {}", out.display(), homework.name())
    })
}

/// A student's plan with what came of it, as values and as a page.
///
/// # Errors
/// If there is no plan, or what the book reports.
pub fn make(book: &Book, homework: &Homework, day: Day) -> Result<(Progress, Page), DeskError> {
    let shown = homework.shown(day)?;
    let log = Log::read(book, &homework.student)?;
    let progress = Progress::of(shown, &log, &homework.names);
    let page = plan_page(homework.name(), log.student.units, &progress, &homework.drills());
    Ok((progress, page))
}

fn propose_plan(
    book: &mut Book,
    homework: &Homework,
    day: Day,
    options: cli::Propose,
) -> Result<Proposal, DeskError> {
    let log = Log::read(book, &homework.student)?;
    let found: Vec<Found> = if options.faults.is_empty() {
        // A swing that can't be computed leaves the misses to go by.
        let worth =
            if options.misses_only { None } else { Worth::of(&log, DRIVES_FOR_A_BRIEF).unwrap_or_default() };
        let ranked = worth.into_iter().flat_map(|worth| worth.found.fixes);
        let fixes: Vec<FixName> = ranked.map(|fix| fix.name).collect();
        faults_of(&log, &fixes)
    } else {
        options.faults.iter().map(|fault| Found { fault: *fault, sure: false, said: true }).collect()
    };
    if found.is_empty() {
        return Err(DeskError::Plan(
            "the log shows nothing to choose drills for; say what to work on with --for high, low, toe, heel, \
             scatter, speed, face or feel"
                .into(),
        ));
    }
    let days = options.until.map_or(USUAL_DAYS, |until| until.days_since(day));
    if days < 1 {
        let told = options.until.map(|until| until.to_string()).unwrap_or_default();
        return Err(Refusal::new(
            "until",
            told,
            "a day after today",
            "the drills are for the days before it",
        )
        .into());
    }
    let before = homework.papers.plan_on(day);
    let caps = Caps::of(&homework.papers, before, day);
    let free = Free { days, sessions_a_week: options.sessions, minutes: options.minutes };
    let proposal = propose(&found, &caps, free);
    if options.accept && proposal.drills.is_empty() {
        return Err(DeskError::Plan(format!(
            "there is no drill to begin a plan with. {}",
            words::plan::proposal(&proposal)
        )));
    }
    if options.accept {
        let aim = match options.aim {
            Some(aim) => aim,
            None => aim_of(&found)?,
        };
        let until = Day::from_number(day.number() + days)?;
        // The coach's caps go on with the next plan.
        let speed = before.map_or_else(SpeedLimits::default, |plan| plan.value.speed);
        let plan = Plan { speed, ..Plan::new(aim, day, Some(until)) };
        let drills = proposal
            .drills
            .iter()
            .map(|chosen| {
                let note = Some(Remark::new(&words::plan::note(chosen.fault, chosen.drill))?);
                Ok(NewDrill { drill: words::drill::record(chosen.drill)?, dose: chosen.dose, note })
            })
            .collect::<Result<Vec<_>, Refusal>>()?;
        begin_plan(book, homework.student.strand, clock::now()?, &plan, drills)?;
    }
    Ok(proposal)
}

fn aim_of(found: &[Found]) -> Result<Name, Refusal> {
    let faults: Vec<&str> = found.iter().take(2).map(|found| words::plan::fault(found.fault)).collect();
    Name::new(
        &format!("Against {}", faults.join(" and ")).replace("Against more head speed", "More head speed"),
    )
}

fn add(book: &mut Book, homework: &Homework, day: Day, add: cli::Add) -> Result<(), DeskError> {
    let plan = homework.shown(day)?.plan;
    let wanted = add.drill.as_str();
    let (drill, usual) = if add.own.text.is_some() {
        let drill = rewritten(Drill::named(add.drill.clone(), None), add.own)?;
        (drill, [2, 8, 2])
    } else if let Some(ours) = find_stock(wanted) {
        let data = stock(ours);
        (words::drill::record(ours)?, [data.sets[1], data.repetitions[1], data.times[1]])
    } else {
        let own = own_drills(book)?;
        let found = find_own(&own, wanted).cloned();
        (found.ok_or_else(|| no_such_drill(wanted, &own))?, [2, 8, 2])
    };
    let dose = Dose::new(
        add.dose.sets.unwrap_or(usual[0]),
        add.dose.repetitions.unwrap_or(usual[1]),
        add.dose.times.unwrap_or(usual[2]),
    )?;
    let new = NewDrill { drill, dose, note: add.dose.note };
    add_drill(book, homework.student.strand, clock::now()?, plan, new, add.dose.place)?;
    Ok(())
}

fn change(book: &mut Book, homework: &Homework, day: Day, change: cli::Change) -> Result<(), DeskError> {
    let shown = homework.shown(day)?;
    let speed = SpeedLimits { a_day: change.cap_day, a_week: change.cap_week, rest_days: change.rest_days };
    let drill = change.drill.as_deref().map(|wanted| find_planned(&shown, wanted)).transpose()?;
    let dose = change.dose;
    let of_drill = DrillChange {
        sets: dose.sets,
        repetitions: dose.repetitions,
        times_a_week: dose.times,
        note: if dose.no_note { Some(None) } else { dose.note.map(Some) },
        place: dose.place,
        text: match drill.and_then(|drill| homework.papers.drills.get(&drill.drill)) {
            Some(entry) => {
                Some(rewritten(entry.value.clone(), change.own)?).filter(|new| *new != entry.value)
            }
            None => None,
        },
    };
    if drill.is_none() && of_drill != DrillChange::default() {
        return Err(nothing_to_change("the drill whose dose, note or place it is").into());
    }
    let edit = Edit {
        plan: PlanChange { aim: change.aim, until: change.until, speed },
        drill: drill.map(|drill| (drill.planned, of_drill)),
    };
    if edit.is_empty() {
        let allowed = "a drill with what to change, or --aim, --until, --cap-day, --cap-week or --rest-days";
        return Err(nothing_to_change(allowed).into());
    }
    edit_plan(book, &homework.student, clock::now()?, shown.plan, edit)?;
    Ok(())
}

fn nothing_to_change(allowed: &str) -> Refusal {
    Refusal::new("change", "nothing", allowed, "there is nothing to change")
}

/// A drill with what its owner says of it.
fn rewritten(mut drill: Drill, own: OwnOptions) -> Result<Drill, DeskError> {
    let before = drill.clone();
    if let Some(file) = &own.text {
        let bytes = std::fs::read_to_string(file).map_err(DeskError::file(file))?;
        // Tabs and carriage returns are no text that a page can hold.
        drill.how = Some(Remark::new(&bytes.replace("\r\n", "\n").replace('\t', "    "))?);
    }
    drill.purpose = own.purpose.or(drill.purpose);
    drill.effort = own.effort.or(drill.effort);
    drill.two_sided |= own.two_sided;
    drill.goal = own.goal.or(drill.goal);
    drill.equipment = own.equipment.or(drill.equipment);
    drill.log = own.log.or(drill.log);
    drill.care = own.care.or(drill.care);
    if drill != before {
        // What somebody rewrote is theirs: its own text is shown, not the catalogue's.
        drill.stock = None;
    }
    Ok(drill)
}
