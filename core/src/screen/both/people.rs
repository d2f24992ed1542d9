//! Everybody of whom keys are known: one's own card to show, others' to take in.

use crate::chart::card_code;
use crate::model::Now;
use crate::screen::block::Block;
use crate::screen::control::{Control, FieldKind, ListRow, Look, RowsPage};
use crate::screen::event::Event;
use crate::screen::parts::{caution, field, heading, text};
use crate::screen::places::{Place, Shown};
use crate::screen::run::{Do, Frame, Held, Problem, See, Wanted};
use crate::sync::{Card, check_phrase};
use crate::words::screen::people as say;

use super::person::WHO;

const SHARE: &str = "people.share";
const CARD: &str = "people.card";
const MEET: &str = "people.meet";
const PICK: &str = "people.pick";
const LIST: &str = "people.list";
/// Rows that come with the screen.
const FIRST: usize = 20;
/// No card is longer.
const MOST_BYTES: usize = 64 * 1024;

pub fn show(see: &See<'_>) -> Result<Shown, Problem> {
    let book = see.book()?;
    let mut shown = Shown::new(say::TITLE, book.owner().name.as_str());
    shown.add(heading("people.own", say::OWN));
    match see.keys {
        None => shown.add(caution("people.no_keys", crate::words::screen::NO_KEYS)),
        Some(keys) => {
            let card = book.card(keys, Now { at: see.at, entropy: [0; 16] })?;
            let phrase = check_phrase(&card.identity.root());
            match card_code(&card.text(), card.name.as_str(), &phrase) {
                Ok(scene) => shown.add(Block::Chart { key: "people.code".into(), scene }),
                Err(error) => shown.add(caution("people.code", error.to_string())),
            }
            shown.add(text("people.phrase", format!("{}: {phrase}", say::OWN_PHRASE)));
            shown.add(text("people.use", say::OWN_USE));
            shown.add(Control::action(SHARE, say::SHARE, Look::Plain));
        }
    }
    shown.add(heading("people.others", say::MEET));
    shown.add(field(see.held(), CARD, say::TEXT, FieldKind::Lines));
    shown.add(Control::action(MEET, say::MEET_NOW, Look::Main));
    shown.add(Control::action(PICK, say::PICK, Look::Plain));
    let page = page(see, None, FIRST)?;
    shown.add(Control::Rows {
        key: LIST.into(),
        name: say::ALL.into(),
        total: page.total,
        rows: page.rows,
        empty: say::NOBODY.into(),
    });
    Ok(shown)
}

fn page(see: &See<'_>, after: Option<&str>, count: usize) -> Result<RowsPage, Problem> {
    let all = see.book()?.acquaintances()?;
    let from =
        after.and_then(|key| all.iter().position(|who| who.check_phrase == key)).map_or(0, |at| at + 1);
    let row = |who: &crate::book::Acquaintance| ListRow {
        key: who.check_phrase.clone(),
        name: who.name.clone(),
        detail: say::what(who),
        figure: String::new(),
        flag: if who.met || who.owner { String::new() } else { say::NOT_MET.into() },
    };
    Ok(RowsPage { total: all.len() as u64, rows: all.iter().skip(from).take(count).map(row).collect() })
}

pub fn rows(see: &See<'_>, key: &str, after: Option<&str>, count: usize) -> Result<RowsPage, Problem> {
    if key == LIST { page(see, after, count) } else { Ok(RowsPage::default()) }
}

pub fn act(doing: &mut Do<'_>, event: &Event) -> Result<(), Problem> {
    match event {
        Event::Open { row, .. } => {
            let mut held = Held::default();
            held.put(WHO, Some(row.as_str()));
            doing.go(Frame { held, ..Frame::new(Place::Person) });
        }
        Event::Press { key } => match key.as_str() {
            SHARE => {
                doing.ask(Wanted::ShareCard);
                doing.tell(say::SHARED);
            }
            PICK => doing.ask(Wanted::PickCard),
            MEET => {
                let written = doing.held().text(CARD).unwrap_or_default().to_owned();
                if written.trim().is_empty() {
                    return Err(Problem(say::NO_CARD.into()));
                }
                meet(doing, &written)?;
            }
            _ => {}
        },
        _ => {}
    }
    Ok(())
}

/// A card's file was picked.
///
/// # Errors
/// Where it is no card, or one that contradicts what is known.
pub fn picked(doing: &mut Do<'_>, bytes: &[u8]) -> Result<(), Problem> {
    let bytes = bytes.get(..MOST_BYTES.min(bytes.len())).unwrap_or_default();
    meet(doing, &String::from_utf8_lossy(bytes))
}

fn meet(doing: &mut Do<'_>, written: &str) -> Result<(), Problem> {
    let card = Card::read(written).map_err(|error| Problem(error.to_string()))?;
    let met = doing.with_book(&[], |book, _| book.meet(&card))?;
    doing.held().clear_all(CARD);
    doing.tell(crate::words::people::met(&met).replace('\n', " "));
    Ok(())
}
