//! Clubs, and how one is built.

use crate::book::Draft;
use crate::model::quantity::{ClubLength, FaceHeight, FaceWidth, HeadMass, Loft};
use crate::model::{Club, Minter, Name, Record, Refusal};
use crate::screen::control::{Control, FieldKind, ListRow, Look, RowsPage};
use crate::screen::event::Event;
use crate::screen::parts::{decimal, field, field_from, text};
use crate::screen::places::{Place, Shown};
use crate::screen::run::{Do, Frame, Problem, See};
use crate::words::number::fixed;
use crate::words::screen::{rest as say, sessions};

use super::session::found;
use super::sessions::{list, page, record};

const LIST: &str = "clubs.list";
const NAME: &str = "clubs.name";
const ADD: &str = "clubs.add";

fn all(see: &See<'_>) -> Result<Vec<ListRow>, Problem> {
    let clubs = see.book()?.records::<Club>(see.student()?.strand)?;
    let row = |entry: crate::book::Entry<Club>| {
        let known =
            entry.value.to_fields().iter().filter(|(_, value)| **value != crate::model::Value::Null).count();
        ListRow {
            key: entry.id.to_string(),
            name: entry.value.name.to_string(),
            detail: say::club_known(known.saturating_sub(1) as u64),
            figure: String::new(),
            flag: String::new(),
        }
    };
    Ok(clubs.into_iter().map(row).collect())
}

pub fn show(see: &See<'_>) -> Result<Shown, Problem> {
    let mut shown = Shown::new(say::CLUBS, "");
    shown.add(list(LIST, say::CLUBS, &all(see)?, say::CLUBS_EMPTY));
    shown.add(field(see.held(), NAME, say::CLUB_NAME, FieldKind::Name));
    shown.add(Control::action(ADD, say::CLUB_ADD, Look::Main));
    Ok(shown)
}

pub fn rows(see: &See<'_>, _: &str, after: Option<&str>, count: usize) -> Result<RowsPage, Problem> {
    Ok(page(&all(see)?, after, count))
}

pub fn act(doing: &mut Do<'_>, event: &Event) -> Result<(), Problem> {
    let strand = doing.student()?.strand;
    match event {
        Event::Open { row, .. } => {
            let id = record(row)?;
            doing.go(Frame::new(Place::Club).of(strand).about(id));
        }
        Event::Press { key } if key == ADD => {
            let written = doing.held().text(NAME).filter(|name| !name.trim().is_empty());
            let name = Name::new(written.ok_or_else(|| Problem(say::CLUB_NEED.into()))?)?;
            let club = Club::named(name);
            doing.write(strand, club.name.as_str(), |book, now| {
                book.write(strand, now, [Draft::put(Minter::new(now).record(), &club)])
            })?;
            doing.held().clear(NAME);
            doing.tell(say::club_added(club.name.as_str()));
        }
        _ => {}
    }
    Ok(())
}

/// One club.
pub mod one {
    use super::{
        Club, ClubLength, Control, Do, Draft, Event, FaceHeight, FaceWidth, FieldKind, HeadMass, Loft, Look,
        Problem, Refusal, See, Shown, decimal, field_from, fixed, found, say, sessions, text,
    };

    const SAVE: &str = "club.save";

    struct Figure {
        key: &'static str,
        name: &'static str,
        unit: &'static str,
        factor: f64,
        get: fn(&Club) -> Option<f64>,
        set: fn(&mut Club, Option<f64>) -> Result<(), Refusal>,
    }

    macro_rules! figures {
        ($($field:ident $kind:ident $of:ident $name:literal $unit:literal $factor:literal;)+) => {
            const FIGURES: &[Figure] = &[$(Figure {
                key: concat!("club.", stringify!($field)),
                name: $name,
                unit: $unit,
                factor: $factor,
                get: |club| club.$field.map($kind::$of),
                set: |club, value| {
                    club.$field = value.map($kind::new).transpose()?;
                    Ok(())
                },
            }),+];
        };
    }

    figures! {
        length_m ClubLength m "Length" "cm" 100.0;
        loft_deg Loft deg "Loft" "°" 1.0;
        head_mass_kg HeadMass kg "Mass of the head" "g" 1000.0;
        face_width_mm FaceWidth mm "Width of the face" "mm" 1.0;
        face_height_mm FaceHeight mm "Height of the face" "mm" 1.0;
    }

    pub fn show(see: &See<'_>) -> Result<Shown, Problem> {
        let kept = found::<Club>(see.book()?, see.student()?.strand, see.frame.record)?;
        let mut shown = Shown::new(kept.entry.value.name.as_str(), say::CLUBS);
        shown.add(text("club.note", say::CLUB_NOTE));
        for figure in FIGURES {
            let begins = as_text(figure, &kept.entry.value);
            shown.add(
                field_from(see.held(), figure.key, figure.name, FieldKind::Number, &begins).unit(figure.unit),
            );
        }
        shown.add(Control::action(SAVE, sessions::SAVE, Look::Main));
        Ok(shown)
    }

    fn as_text(figure: &Figure, club: &Club) -> String {
        (figure.get)(club).map_or_else(String::new, |value| fixed(value * figure.factor, 1))
    }

    pub fn act(doing: &mut Do<'_>, event: &Event) -> Result<(), Problem> {
        if !matches!(event, Event::Press { key } if key == SAVE) {
            return Ok(());
        }
        let strand = doing.student()?.strand;
        let kept = found::<Club>(doing.book()?, strand, doing.record())?;
        let (id, mut club) = (kept.entry.id, kept.entry.value);
        for figure in FIGURES {
            let before = as_text(figure, &club);
            if doing.held().text(figure.key).is_some_and(|written| written.trim() != before) {
                let value = decimal(doing.held(), figure.key, figure.name)?;
                (figure.set)(&mut club, value.map(|value| value / figure.factor))?;
            }
        }
        let what = sessions::correction(club.name.as_str());
        let written =
            doing.write(strand, what, |book, now| book.write(strand, now, [Draft::put(id, &club)]))?;
        if written == 0 {
            return Err(Problem(sessions::UNCHANGED.into()));
        }
        doing.back();
        doing.tell(sessions::SAVED);
        Ok(())
    }
}
