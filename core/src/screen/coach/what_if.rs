//! What each fix would change, at sizes that are set by hand: rough figures answer while
//! an amount moves, full ones follow.

use std::sync::Arc;

use crate::book::Book;
use crate::flight::law::AirLaw;
use crate::flight::{Conditions, FiveConstantLaw, Flier};
use crate::lesson::what_if::{Care, Sizes, Want};
use crate::lesson::{Worth, want_of};
use crate::model::{Shot, UnitSystem};
use crate::screen::block::Page;
use crate::screen::control::Control;
use crate::screen::event::Event;
use crate::screen::parts::{number, text};
use crate::screen::places::Shown;
use crate::screen::run::{Ask, Do, Found, Held, Problem, See, Seen};
use crate::screen::{reads, what_if_page};
use crate::words::number::fixed;
use crate::words::screen::coach as say;

const CARE: &str = "what_if.care";
/// Drives of each swing for figures that only have to answer a hand.
const ROUGH_DRIVES: usize = 400;
/// Drives of each swing for the full answer.
const DRIVES: usize = 8_000;

/// An amount that may be set.
struct Amount {
    key: &'static str,
    name: &'static str,
    low: f64,
    high: f64,
    step: f64,
    get: fn(&Sizes) -> f64,
    set: fn(&mut Sizes, f64),
    says: fn(f64, UnitSystem) -> String,
}

const AMOUNTS: &[Amount] = &[
    Amount {
        key: "what_if.centre",
        name: "Strikes come toward the target point by",
        low: 0.0,
        high: 20.0,
        step: 1.0,
        get: |sizes| sizes.centre_mm,
        set: |sizes, value| sizes.centre_mm = value,
        says: |value, _| format!("{} mm", fixed(value, 0)),
    },
    Amount {
        key: "what_if.tighten",
        name: "Strikes spread less, to",
        low: 0.4,
        high: 1.0,
        step: 0.05,
        get: |sizes| sizes.tighten,
        set: |sizes, value| sizes.tighten = value,
        says: |value, _| format!("{} % of today's spread", fixed(value * 100.0, 0)),
    },
    Amount {
        key: "what_if.speed",
        name: "Head speed gained",
        low: 0.0,
        high: 5.0,
        step: 0.25,
        get: |sizes| sizes.head_speed_mps,
        set: |sizes, value| sizes.head_speed_mps = value,
        says: |value, units| crate::words::number::speed(units, value),
    },
    Amount {
        key: "what_if.square",
        name: "Mean face toward square by",
        low: 0.0,
        high: 4.0,
        step: 0.25,
        get: |sizes| sizes.square_deg,
        set: |sizes, value| sizes.square_deg = value,
        says: |value, _| format!("{}°", fixed(value, 2)),
    },
    Amount {
        key: "what_if.grip",
        name: "Gripped down by",
        low: 0.0,
        high: 2.0,
        step: 0.25,
        get: |sizes| sizes.grip_down_in,
        set: |sizes, value| sizes.grip_down_in = value,
        says: |value, _| format!("{} cm", fixed(value * 2.54, 1)),
    },
];

fn sizes(held: &Held) -> Sizes {
    let mut sizes = Sizes::default();
    for amount in AMOUNTS {
        if let Some(value) = held.number(amount.key) {
            (amount.set)(&mut sizes, value);
        }
    }
    sizes
}

fn care(word: &str) -> Care {
    match word {
        "distance" => Care::Distance,
        "fairways" => Care::Fairways,
        _ => Care::Both,
    }
}

/// What is asked, in a form that is the same for the same amounts.
fn told(held: &Held, drives: usize) -> String {
    let sizes = sizes(held);
    let amounts: Vec<String> = AMOUNTS.iter().map(|amount| fixed((amount.get)(&sizes), 4)).collect();
    format!("{drives} {} {}", held.text(CARE).unwrap_or("both"), amounts.join(" "))
}

fn read(book: &Book, ask: &Ask) -> Result<Found, Problem> {
    let (_, log) = reads::log(book, ask)?;
    let mut said = ask.more.split(' ');
    let drives = said.next().and_then(|drives| drives.parse().ok()).unwrap_or(ROUGH_DRIVES);
    let care = care(said.next().unwrap_or_default());
    let mut sizes = Sizes::default();
    for (amount, value) in AMOUNTS.iter().zip(said) {
        if let Ok(value) = value.parse() {
            (amount.set)(&mut sizes, value);
        }
    }
    let want = Want { care, sizes, drives, ..want_of(&log) };
    let flier = Flier::new(&FiveConstantLaw::ODS_FIT, &Conditions::default()).map_err(reads::said)?;
    let page = ask_worth(&log, &flier, &want)?;
    Ok(Arc::new(page))
}

fn ask_worth<L: AirLaw>(
    log: &crate::lesson::Log,
    flier: &Flier<L>,
    want: &Want,
) -> Result<Option<Page>, Problem> {
    use crate::flight::FlightError;
    match Worth::asked(log, flier, want) {
        Ok(worth) => Ok(Some(what_if_page(log.student.name.as_str(), &worth, log.student.units))),
        Err(FlightError::NothingReadOfAny | FlightError::NoFit) => Ok(None),
        Err(other) => Err(reads::said(other)),
    }
}

pub fn show(see: &See<'_>) -> Result<Shown, Problem> {
    let (student, held) = (see.student()?, see.held());
    let mut shown = Shown::new(say::WHAT_IF, student.student.value.name.as_str());
    if see.book()?.latest::<Shot>(student.strand, 1)?.is_empty() {
        shown.add(text("what_if.empty", say::NO_LOG));
        return Ok(shown);
    }
    let cares =
        [("both", say::CARE_BOTH), ("distance", say::CARE_DISTANCE), ("fairways", say::CARE_FAIRWAYS)];
    let chosen = held.text(CARE).unwrap_or("both").to_owned();
    shown.add(Control::choice(CARE, say::CARE, cares, Some(chosen)));
    let set = sizes(held);
    for amount in AMOUNTS {
        let value = (amount.get)(&set);
        shown.add(Control::Amount {
            key: amount.key.into(),
            name: amount.name.into(),
            value,
            low: amount.low,
            high: amount.high,
            step: amount.step,
            no: number(held, amount.key),
            says: (amount.says)(value, student.student.value.units),
        });
    }
    let ask = |drives| {
        Ask::new("what each fix would change", Some(student.strand), see.day()).with(told(held, drives))
    };
    // Rough figures come first, the full ones take their place.
    let rough = see.answer::<Option<Page>>(ask(ROUGH_DRIVES), read);
    let full = if matches!(rough, Seen::Waiting) { Seen::Waiting } else { see.answer(ask(DRIVES), read) };
    let is_full = matches!(full, Seen::Found(_));
    let found = if is_full { full } else { rough };
    match found.or_say(&mut shown).as_deref() {
        Some(Some(page)) => {
            if !is_full {
                shown.add(text("what_if.rough", say::ROUGH));
            }
            let parts = Page::clone(page).into_parts();
            shown.parts.extend(parts);
        }
        Some(None) => shown.add(text("what_if.nothing", say::NOTHING_READ)),
        None => {}
    }
    Ok(shown)
}

pub fn act(_: &mut Do<'_>, _: &Event) -> Result<(), Problem> {
    Ok(())
}
