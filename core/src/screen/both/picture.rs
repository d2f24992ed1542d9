//! Strikes off a picture of the powdered face: its ends and marks to look at and to drag,
//! what is wrong with the picture, then a ball for each new mark.
//!
//! The rule: the picture waits in the book under a handle until its marks are logged or
//! another takes its place, and is let go then; what a person dragged, added or took out is
//! theirs and says so. A mark that was on the face before is no second ball. Start at [`show`].

mod looked;

use std::sync::Arc;

use self::looked::{Looked, Mark, Read, are_dragged, listed, read_ask, read_it, show_it, shown_ask, view};
use crate::act::{Unsaid, latest_photo, log_photo};
use crate::book::{Book, StudentEntry};
use crate::face::photo::{PhotoError, Pixel, Preview};
use crate::model::{Day, MOST_MARKS, PhotoMark, RecordId, StrikePhoto};
use crate::screen::block::Block;
use crate::screen::control::{Control, DragPoint, ListRow, Look, Picture, PointLook};
use crate::screen::event::Event;
use crate::screen::parts::{caution, heading, text};
use crate::screen::places::{Place, Shown};
use crate::screen::run::{Do, Held, Problem, See, Seen, Wanted};
use crate::screen::student::ball::{Here, powdered};
use crate::words::screen::picture as say;

const TAKE: &str = "picture.take";
const CHOOSE: &str = "picture.choose";
const FILE: &str = "picture.file";
const PAD: &str = "picture.pad";
const MARKS: &str = "picture.marks";
const CHOSEN: &str = "picture.chosen";
const ADD: &str = "picture.add";
const ADDED: &str = "picture.added";
const LEAVE_OUT: &str = "picture.leave_out";
const OUT: &str = "picture.out";
const WAS: &str = "picture.was";
const TURNED: &str = "picture.turned";
const FRESH: &str = "picture.fresh";
const WHOLE: &str = "picture.whole";
const SAVE: &str = "picture.save";
const ENDS: [&str; 4] = ["heel", "toe", "crown", "sole"];
/// No picture of a phone has more bytes.
const MOST_BYTES: usize = 100 << 20;
/// Marks that somebody adds to one picture at most.
const MOST_ADDED: i64 = 6;

/// The day's picture before this one.
fn before(
    book: &Book,
    student: &StudentEntry,
    day: Day,
    here: &Here,
) -> Result<Option<StrikePhoto>, Problem> {
    let unsaid = Unsaid { day, place: Some(here.setting().place) };
    Ok(latest_photo(book, student.strand, unsaid)?)
}

pub fn show(see: &See<'_>) -> Result<Shown, Problem> {
    let (book, student, held) = (see.book()?, see.student()?, see.held());
    let here = powdered(book, student.clone(), held, see.day(), see.coach())?;
    let name = student.student.value.name.as_str();
    let mut shown = Shown::new(say::TITLE, if see.coach() { name } else { "" });
    let Some(file) = held.record(FILE) else {
        let how = say::HOW.iter().map(|&how| how.into()).collect();
        shown.add(Block::Steps { key: "picture.how".into(), items: how });
        shown.add(caution("picture.powder", say::POWDER));
        take(&mut shown, say::TAKE, Look::Main);
        shown.add(text("picture.stays", say::STAYS));
        return Ok(shown);
    };
    let preview = match see.answer::<Preview>(shown_ask(&student, see.day(), file), show_it) {
        Seen::Waiting => return Ok(shown),
        Seen::Found(preview) => preview,
        Seen::Failed(Problem(problem)) => {
            shown.add(caution("picture.unread", problem));
            take(&mut shown, say::TAKE_AGAIN, Look::Main);
            return Ok(shown);
        }
    };
    let before = before(book, &student, see.day(), &here)?;
    let (mut waits, mut unread) = (false, None);
    let looked = Looked::at(held, here.hand(), &preview, before.as_ref(), |ends| {
        match see.answer::<Option<Arc<Read>>>(read_ask(&student, see.day(), &here, file, ends), read_it) {
            Seen::Found(found) => return (*found).clone(),
            Seen::Failed(Problem(problem)) => unread = Some(problem),
            Seen::Waiting => waits = true,
        }
        None
    })?;
    match (&looked.read, unread) {
        (_, Some(problem)) => shown.add(caution("picture.unread", problem)),
        (None, None) if waits => {}
        (None, None) => shown.add(text("picture.no_face", say::NO_FACE)),
        (Some(read), None) => {
            for (n, trouble) in read.photo.quality.problems.iter().enumerate() {
                shown.add(caution(&format!("picture.trouble.{n}"), say::trouble(*trouble)));
            }
            let by_hand = are_dragged(held);
            shown.add(text("picture.ends", if by_hand { say::ENDS_SET } else { say::ENDS_FIRST }));
        }
    }
    shown.add(pad(held, file, &preview, &looked));
    if looked.found.is_some() {
        shown.add(Control::switch(WHOLE, say::WHOLE, held.flag(WHOLE).unwrap_or(false)));
    }
    let good = looked.read.as_ref().is_some_and(|read| read.photo.quality.good);
    if looked.read.is_some() {
        listed_marks(&mut shown, held, &looked);
        let look = if good { Look::Main } else { Look::Plain };
        shown.add(Control::action(SAVE, say::save(looked.new_marks()), look));
    }
    take(&mut shown, say::TAKE_AGAIN, if good || waits { Look::Plain } else { Look::Main });
    if before.is_some() {
        let fresh = held.flag(FRESH).unwrap_or(false);
        shown.add(Control::switch(FRESH, say::FRESH, fresh).hint(say::FRESH_HINT));
    }
    let (_, _, measured) = here.measured_face_mm();
    if !measured {
        shown.add(text("picture.usual", say::USUAL_FACE));
    }
    shown.add(text("picture.stays", say::STAYS));
    Ok(shown)
}

fn take(shown: &mut Shown, name: &str, look: Look) {
    shown.add(Control::action(TAKE, name, look));
    shown.add(Control::action(CHOOSE, say::CHOOSE, Look::Plain));
}

/// The picture with its points.
fn pad(held: &Held, file: RecordId, preview: &Preview, looked: &Looked) -> Control {
    let [width_px, height_px] = preview.size_px.map(|side| side as u32);
    let point = |key: &str, name: String, at: Pixel, look| DragPoint {
        key: key.into(),
        name,
        x_px: at.x,
        y_px: at.y,
        look,
        no: held.point(PAD, key).map_or(0, |(_, _, no)| no),
    };
    let ends = ENDS.iter().zip(say::ENDS).zip(looked.ends);
    let ends = ends.map(|((key, name), at)| point(key, name.into(), at, PointLook::Handle));
    let marks = looked.marks.iter().enumerate().map(|(n, mark)| {
        let look = if mark.placed.earlier { PointLook::Earlier } else { PointLook::New };
        point(&mark.key, name_of(n, mark), mark.at, look)
    });
    Control::Picture {
        key: PAD.into(),
        name: say::PICTURE.into(),
        picture: Picture {
            id: file.to_string(),
            width_px,
            height_px,
            view_px: view(preview, looked.found.as_ref().filter(|_| held.flag(WHOLE) != Some(true))),
            jpeg: preview.jpeg.as_slice().into(),
        },
        points: ends.chain(marks).collect(),
        chosen: held.text(CHOSEN).map(str::to_owned),
        says: say::seen(looked.marks.len(), looked.new_marks()),
    }
}

fn name_of(n: usize, mark: &Mark) -> String {
    say::mark(n + 1, mark.placed.mark.toe_mm.mm(), mark.placed.mark.high_mm.mm())
}

/// The marks in words, and what can be done to the chosen one.
fn listed_marks(shown: &mut Shown, held: &Held, looked: &Looked) {
    let row = |(n, mark): (usize, &Mark)| ListRow {
        key: mark.key.clone(),
        name: name_of(n, mark),
        detail: mark.read.map_or_else(|| say::SET.into(), |(sigma, sure)| say::read(sigma, sure)),
        figure: if mark.placed.earlier { say::EARLIER } else { say::NEW }.into(),
        flag: String::new(),
    };
    shown.add(Control::Rows {
        key: MARKS.into(),
        name: say::MARKS.into(),
        total: looked.marks.len() as u64,
        rows: looked.marks.iter().enumerate().map(row).collect(),
        empty: say::NO_MARKS.into(),
    });
    let chosen = held.text(CHOSEN);
    let mut marks = looked.marks.iter().enumerate();
    if let Some((n, mark)) = marks.find(|(_, mark)| chosen == Some(&mark.key)) {
        shown.add(heading("picture.one", name_of(n, mark)));
        shown.add(Control::switch(WAS, say::WAS, mark.placed.earlier).hint(say::WAS_HINT));
        shown.add(Control::action(LEAVE_OUT, say::OUT, Look::Takes));
    }
    if held.whole(ADDED).unwrap_or(0) < MOST_ADDED {
        shown.add(Control::action(ADD, say::ADD, Look::Plain).hint(say::ADD_HINT));
    }
}

pub fn act(doing: &mut Do<'_>, event: &Event) -> Result<(), Problem> {
    match event {
        Event::Press { key } => match key.as_str() {
            TAKE => doing.ask(Wanted::Picture { camera: true }),
            CHOOSE => doing.ask(Wanted::Picture { camera: false }),
            SAVE => save(doing)?,
            ADD => {
                let held = doing.held();
                let so_far = held.whole(ADDED).unwrap_or(0);
                held.put(ADDED, Some((so_far + 1) as f64));
                held.put(CHOSEN, Some(format!("added{so_far}").as_str()));
            }
            LEAVE_OUT => {
                turn_chosen(doing.held(), OUT);
                doing.held().clear(CHOSEN);
            }
            _ => {}
        },
        Event::Switch { key, .. } if key == WAS => {
            doing.held().clear(WAS);
            turn_chosen(doing.held(), TURNED);
        }
        Event::Open { row: of, .. } | Event::Choose { option: of, .. } | Event::Drag { point: of, .. } => {
            let end = ENDS.contains(&of.as_str());
            if end && matches!(event, Event::Drag { .. }) {
                between_other_ends(doing.held());
            } else if !end {
                doing.held().put(CHOSEN, Some(of.as_str()));
            }
        }
        _ => {}
    }
    Ok(())
}

/// Marks are found anew between other ends: what was done to those found before goes.
fn between_other_ends(held: &mut Held) {
    held.clear_all(&format!("{PAD}.mark"));
    for list in [OUT, TURNED] {
        let added: Vec<&str> = listed(held, list).filter(|key| key.starts_with("added")).collect();
        let added = added.join(" ");
        held.put(list, Some(added.as_str()));
    }
    held.clear(CHOSEN);
}

/// Puts the chosen mark's key into a held list, or takes it out.
fn turn_chosen(held: &mut Held, list: &str) {
    let Some(chosen) = held.text(CHOSEN) else { return };
    let mut keys: Vec<&str> = listed(held, list).filter(|of| *of != chosen).collect();
    if !listed(held, list).any(|of| of == chosen) {
        keys.push(chosen);
    }
    let keys = keys.join(" ");
    held.put(list, Some(keys.as_str()));
}

fn save(doing: &mut Do<'_>) -> Result<(), Problem> {
    let (student, day, coach, held) = (doing.student()?, doing.day(), doing.coach(), doing.held().clone());
    let here = powdered(doing.book()?, student.clone(), &held, day, coach)?;
    let gone = || Problem(say::GONE.into());
    let file = held.record(FILE).ok_or_else(gone)?;
    let preview = doing.answer::<Preview>(&shown_ask(&student, day, file)).ok_or_else(gone)?;
    let before = before(doing.book()?, &student, day, &here)?;
    let looked = Looked::at(&held, here.hand(), &preview, before.as_ref(), |ends| {
        let found = doing.answer::<Option<Arc<Read>>>(&read_ask(&student, day, &here, file, ends))?;
        (*found).clone()
    })?;
    let thumbnail = looked.read.as_ref().ok_or_else(gone)?.thumbnail.clone();
    let (all, new) = (looked.marks.len(), looked.new_marks());
    let mut placed: Vec<PhotoMark> = looked.marks.into_iter().map(|mark| mark.placed).collect();
    let room = MOST_MARKS.saturating_sub(placed.len());
    placed.extend(looked.no_strikes.into_iter().take(room));
    doing.write(student.strand, say::what(new), |book, now| {
        log_photo(book, student.strand, now, here.setting(), placed, thumbnail)
    })?;
    doing.with_book(&[], |book, _| book.let_go(file.bytes()))?;
    doing.held().clear_all("picture.");
    doing.tell(say::done(all, new));
    doing.ask(Wanted::Buzz);
    Ok(())
}

/// A picture came: it is held, and looked at next.
///
/// # Errors
/// Where it is larger than any picture of a phone.
pub fn picked(doing: &mut Do<'_>, bytes: &[u8]) -> Result<(), Problem> {
    if bytes.len() > MOST_BYTES {
        return Err(Problem(PhotoError::NotAPicture.to_string()));
    }
    if doing.place() != Some(Place::Picture) {
        doing.go_on(Place::Picture);
    }
    if let Some(last) = doing.held().record(FILE) {
        doing.with_book(&[], |book, _| book.let_go(last.bytes()))?;
    }
    let handle = doing.with_book(&[], |book, now| book.hold(now, bytes))?;
    let held = doing.held();
    held.clear_all("picture.");
    held.put(FILE, Some(RecordId::from_bytes(handle)));
    Ok(())
}
