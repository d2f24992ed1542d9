//! Adding a drill to a plan: one of the catalogue, one of one's own, or a new one.

use crate::act::{NewDrill, add_drill};
use crate::book::Book;
use crate::model::{Dose, Drill, Name, Remark, StockDrill};
use crate::plan::{own_drills, stock};
use crate::screen::control::{Control, FieldKind, ListRow, Look, RowsPage};
use crate::screen::event::Event;
use crate::screen::parts::{field, heading};
use crate::screen::places::Shown;
use crate::screen::run::{Do, Problem, See};
use crate::words::screen::plan as say;

use super::plan::in_force;
use super::sessions::{list, page};

const LIST: &str = "add.list";
const NAME: &str = "add.name";
const HOW: &str = "add.how";
const ADD: &str = "add.own";
/// The usual dose of a drill of one's own (common practice, no source).
const USUAL: [i64; 3] = [2, 8, 2];

/// What there is: our own drills by their number, then the coach's by their name.
fn choices(book: &Book) -> Result<Vec<(ListRow, Drill, [i64; 3])>, Problem> {
    let mut all = Vec::new();
    for (_, drill) in StockDrill::ALL {
        let (data, words) = (stock(*drill), crate::words::drill::text(*drill));
        let row = ListRow {
            key: format!("stock.{}", drill.code()),
            name: words.name.into(),
            detail: data.purpose.word().into(),
            figure: String::new(),
            flag: String::new(),
        };
        all.push((
            row,
            crate::words::drill::record(*drill)?,
            [data.sets[1], data.repetitions[1], data.times[1]],
        ));
    }
    for (n, drill) in own_drills(book)?.into_iter().enumerate() {
        let row = ListRow {
            key: format!("own.{n}.{}", drill.name),
            name: drill.name.to_string(),
            detail: say::OWN.into(),
            figure: String::new(),
            flag: String::new(),
        };
        all.push((row, drill, USUAL));
    }
    Ok(all)
}

fn listed(book: &Book) -> Result<Vec<ListRow>, Problem> {
    Ok(choices(book)?.into_iter().map(|(row, ..)| row).collect())
}

pub fn show(see: &See<'_>) -> Result<Shown, Problem> {
    let held = see.held();
    let mut shown = Shown::new(say::ADD, see.student()?.student.value.name.as_str());
    shown.add(list(LIST, say::CATALOGUE, &listed(see.book()?)?, ""));
    shown.add(heading("add.new", say::NEW));
    shown.add(field(held, NAME, say::NEW_NAME, FieldKind::Line));
    shown.add(field(held, HOW, say::NEW_HOW, FieldKind::Lines));
    shown.add(Control::action(ADD, say::NEW_ADD, Look::Plain));
    Ok(shown)
}

pub fn rows(see: &See<'_>, _: &str, after: Option<&str>, count: usize) -> Result<RowsPage, Problem> {
    Ok(page(&listed(see.book()?)?, after, count))
}

pub fn act(doing: &mut Do<'_>, event: &Event) -> Result<(), Problem> {
    let (student, day) = (doing.student()?, doing.day());
    let (drill, dose) = match event {
        Event::Open { row, .. } => {
            let found = choices(doing.book()?)?.into_iter().find(|(choice, ..)| choice.key == *row);
            found.map(|(_, drill, dose)| (drill, dose)).ok_or_else(|| Problem(say::DRILL_GONE.into()))?
        }
        Event::Press { key } if key == ADD => {
            let held = doing.held();
            let written = held.text(NAME).filter(|name| !name.trim().is_empty());
            let name = Name::new(written.ok_or_else(|| Problem(say::NEED_NAME.into()))?)?;
            let how =
                held.text(HOW).map(str::trim).filter(|how| !how.is_empty()).map(Remark::new).transpose()?;
            (Drill { how, ..Drill::named(name, None) }, USUAL)
        }
        _ => return Ok(()),
    };
    let plan = in_force(doing.book()?, &student, day)?.ok_or_else(|| Problem(say::EMPTY.into()))?.plan;
    let name = drill.name.to_string();
    let [sets, repetitions, times] = dose;
    let new = NewDrill { drill, dose: Dose::new(sets, repetitions, times)?, note: None };
    doing.write(student.strand, name.as_str(), |book, now| {
        add_drill(book, student.strand, now, plan, new, None)
    })?;
    doing.back();
    doing.tell(say::added(&name));
    Ok(())
}
