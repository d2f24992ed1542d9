//! Doing a drill, tap by tap, so that an interrupted app loses nothing.
//!
//! The rule: each call is one transaction, and the book is all that the next one rests
//! on. A practice is counted by the device that began it: another device begins one of
//! its own, and both add up. Start at [`begin_drill`].

use super::ball::{Setting, session_for};
use crate::book::{Book, BookError, Draft, Entry, StudentEntry};
use crate::dose::going::{Tap, begun, tap};
use crate::dose::{Held, Papers, Shape, TodayDrill, read, today};
use crate::model::{
    Count, Day, Drill, Effort, Goal, Kind, Minter, Now, Place, PlannedDrill, Practice, RecordId, Refusal,
    Session, Shot, StartByEye, StrandId,
};

/// Begins a planned drill today, or goes on with it where this device has begun it, and
/// answers its practice.
///
/// # Errors
/// A refusal where today's plan doesn't have the drill, or holds all of a full-speed
/// drill back; or what the storage reports.
pub fn begin_drill(
    book: &mut Book,
    student: &StudentEntry,
    now: Now,
    planned: RecordId,
) -> Result<RecordId, BookError> {
    let papers = Papers::read(book, student)?;
    let item = of_today(book, &papers, now.at.local_day(), planned)?;
    if let Some(going) = &item.going {
        return Ok(going.practice);
    }
    let held = item.drill.held.iter().chain(&item.held_today).next().copied();
    if item.repetitions_left() == 0 && (item.drill.effort == Effort::FullSpeed || item.drill.dose.is_none()) {
        let why = held.map_or("as much of it was done as is good for now", why_not);
        return Err(Refusal::new("drill", item.drill.name, "a drill with something to do today", why).into());
    }
    let shape = shape(book, student.strand, planned)?;
    let a_set = item.drill.dose.map_or(item.drill.asked.repetitions(), |_| item.repetitions);
    let id = Minter::new(now).record();
    let practice = begun(planned, now.at.local_day(), now.at.utc_ms, &shape, Count::new(a_set.max(1))?);
    book.write(student.strand, now, [Draft::put(id, &practice)])?;
    Ok(id)
}

/// Takes one tap while a drill is being done, and answers its practice after it.
///
/// # Errors
/// A refusal where the practice isn't under way on this device today, or the tap means
/// nothing; or what the storage reports. Then nothing was changed.
pub fn do_drill(
    book: &mut Book,
    student: &StudentEntry,
    now: Now,
    practice: RecordId,
    what: Tap,
) -> Result<Practice, BookError> {
    let entry = under_way(book, student.strand, now, practice, what == Tap::End)?;
    let shape = shape(book, student.strand, entry.value.planned)?;
    let last = entry.value.under_way.as_ref().and_then(|at| at.last);
    let after = tap(entry.value, &shape, now.at.utc_ms, what)?;
    let mut drafts = vec![Draft::put(practice, &after)];
    // A ball that is taken back is no ball that was hit.
    let shot = last.and_then(|last| last.shot).filter(|_| what == Tap::Undo);
    drafts.extend(shot.map(|shot| Draft::remove(Kind::SHOT, shot)));
    book.write(student.strand, now, drafts)?;
    Ok(after)
}

/// Logs a ball that was hit in a drill: the ball, its link to the practice and the counts
/// as one transaction; the ball's own session is not asked. Answers the practice after it.
///
/// # Errors
/// As [`do_drill`].
pub fn log_drill_ball(
    book: &mut Book,
    student: &StudentEntry,
    now: Now,
    practice: RecordId,
    ball: &Shot,
) -> Result<Practice, BookError> {
    let entry = under_way(book, student.strand, now, practice, false)?;
    let shape = shape(book, student.strand, entry.value.planned)?;
    let mut minter = Minter::new(now);
    let mut drafts = Vec::new();
    let mut before = entry.value;
    let session = if let Some(session) = before.session {
        session
    } else {
        // A mark that was looked at was looked at in powder.
        let powder = ball.powder.unwrap_or(ball.mark.is_some());
        let setting = usual_setting(book, student.strand, before.day, powder)?;
        session_for(book, student.strand, before.day, setting, &mut minter, &mut drafts)?
    };
    before.session = Some(session);
    let good = match shape.goal {
        Some(Goal::StartLine) => ball.start_by_eye.map(|start| start == StartByEye::Straight),
        Some(Goal::FinishHeld) => ball.finish_held,
        _ => None,
    };
    let shot = minter.record();
    let after = tap(before, &shape, now.at.utc_ms, Tap::Ball { shot, good })?;
    drafts.push(Draft::put(shot, &Shot { session, practice: Some(practice), ..ball.clone() }));
    drafts.push(Draft::put(practice, &after));
    book.write(student.strand, now, drafts)?;
    Ok(after)
}

/// A drill as it stands on a day.
fn of_today(book: &Book, papers: &Papers, day: Day, planned: RecordId) -> Result<TodayDrill, BookError> {
    let shown = read(papers, &book.device_names()?, day);
    let items = shown.map(|shown| today(papers, &shown, book.device()).drills);
    let found = items.into_iter().flatten().find(|item| item.drill.planned == planned);
    found.ok_or_else(|| {
        let allowed = "a drill of the plan that holds today";
        Refusal::new(Kind::PLANNED_DRILL.word(), planned.to_string(), allowed, "only these are done now")
            .into()
    })
}

/// The shape of a planned drill, whatever was taken out since it was begun. A tap reads
/// plans and drills, which are few, and not the log.
fn shape(book: &Book, strand: StrandId, planned: RecordId) -> Result<Shape, BookError> {
    let all = book.records_and_removed::<PlannedDrill>(strand)?;
    let found = all.into_iter().find(|assigned| assigned.entry.id == planned).ok_or_else(|| {
        let allowed = "a drill of one of this student's plans";
        Refusal::new("drill", planned.to_string(), allowed, "there is none such")
    })?;
    let drills = book.records_and_removed::<Drill>(strand)?;
    let drill = drills.iter().find(|drill| drill.entry.id == found.entry.value.drill);
    Ok(Shape::of(drill.map(|drill| &drill.entry.value)))
}

/// A practice that is under way on this device today; `ending` one may be of another day.
fn under_way(
    book: &Book,
    strand: StrandId,
    now: Now,
    id: RecordId,
    ending: bool,
) -> Result<Entry<Practice>, BookError> {
    let refused = |why: &str| Refusal::new("drill", "this one", "one that is under way here today", why);
    let entry = book
        .record::<Practice>(strand, id)?
        .filter(|entry| entry.value.going().is_some())
        .ok_or_else(|| refused("none such is; begin it first"))?;
    if entry.last.author != book.device() {
        return Err(refused("it was begun on another device; begin it here, and both add up").into());
    }
    if entry.value.day != now.at.local_day() && !ending {
        return Err(refused("it was begun on another day; begin it again").into());
    }
    Ok(entry)
}

/// What a drill's balls are hit with, where nobody says: as the day's latest session on a
/// range or in a lesson, else on a range. So balls of one day are one session, which a
/// comparison takes as one unit.
fn usual_setting(book: &Book, strand: StrandId, day: Day, powder: bool) -> Result<Setting, BookError> {
    const MOST: usize = 20;
    let latest = book.latest::<Session>(strand, MOST)?.into_iter().filter(|entry| entry.value.day == day);
    let mut settings = latest.filter_map(|entry| Setting::of(&entry.value));
    let known = settings.find(|setting| setting.place != Place::Course && setting.powder == powder);
    Ok(known.unwrap_or(Setting { place: Place::Range, ball: None, powder, club: None }))
}

/// Why a drill isn't begun.
fn why_not(held: Held) -> &'static str {
    match held {
        Held::Pain => "pain was reported: no speed work until a licensed professional allows it",
        Held::Day => "the cap of full-speed swings for one day is reached",
        Held::Week => "the cap of full-speed swings for seven days is reached",
        Held::Rest => "today is a day of rest from speed work",
        Held::NotCome => "the drill itself has not come with a file yet",
        Held::Dropped => "it was taken out of the plan",
        Held::EarlierPlan => "it is of another plan, which does not hold any more",
    }
}
