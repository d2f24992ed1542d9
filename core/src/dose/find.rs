//! Which drill somebody means: by place, name, or the start of exactly one name.

use std::collections::BTreeSet;

use super::read::{Shown, ShownDrill};
use crate::book::{Book, BookError};
use crate::model::{Drill, Refusal, StockDrill};

/// The drill of a plan that is meant: by its place from 1, its name or the start of it.
///
/// # Errors
/// A refusal that names the plan's drills.
pub fn find_planned<'a>(shown: &'a Shown, wanted: &str) -> Result<&'a ShownDrill, Refusal> {
    let live: Vec<&ShownDrill> = shown.drills.iter().filter(|drill| !drill.dropped).collect();
    let place = wanted.trim().parse::<usize>().ok().and_then(|place| live.get(place.checked_sub(1)?));
    let found = match place {
        Some(drill) => Some(*drill),
        None => called(live.iter().copied(), |drill| &drill.name, wanted),
    };
    found.ok_or_else(|| {
        let low = wanted.trim().to_lowercase();
        let some = !low.is_empty() && live.iter().any(|drill| drill.name.to_lowercase().starts_with(&low));
        let why = match (live.is_empty(), some) {
            (true, _) => "the plan has no drills yet",
            (_, true) => "several begin so",
            _ => "no drill of the plan is called so",
        };
        let names: Vec<&str> = live.iter().map(|drill| drill.name.as_str()).collect();
        Refusal::new("drill", wanted, format!("one of: {}; or its place from 1", names.join(", ")), why)
    })
}

/// The drill of our catalogue that is meant.
pub fn find_stock(wanted: &str) -> Option<StockDrill> {
    called(StockDrill::ALL.iter(), |(word, _)| word, wanted).map(|(_, drill)| *drill)
}

/// One of one's own drills.
pub fn find_own<'a>(own: &'a [Drill], wanted: &str) -> Option<&'a Drill> {
    called(own.iter(), |drill| drill.name.as_str(), wanted)
}

/// The drills of one's own over all students of a book, each name once, the latest of it.
///
/// # Errors
/// What the storage reports.
pub fn own_drills(book: &Book) -> Result<Vec<Drill>, BookError> {
    let mut all = Vec::new();
    for student in book.students()? {
        let of = book.records::<Drill>(student.strand)?;
        all.extend(of.into_iter().filter(|entry| entry.value.stock.is_none()));
    }
    all.sort_by_key(|entry| std::cmp::Reverse(entry.last));
    let mut names = BTreeSet::new();
    all.retain(|entry| names.insert(entry.value.name.as_str().to_lowercase()));
    let mut own: Vec<Drill> = all.into_iter().map(|entry| entry.value).collect();
    own.sort_by(|a, b| a.name.cmp(&b.name));
    Ok(own)
}

/// The one that has the name, else the only one whose name begins so.
fn called<'a, T: 'a>(
    all: impl Iterator<Item = T> + Clone,
    name: impl Fn(&T) -> &str,
    wanted: &str,
) -> Option<T> {
    let low = wanted.trim().to_lowercase();
    let mut whole = all.clone().filter(|item| name(item).to_lowercase() == low);
    let mut starts = all.filter(|item| !low.is_empty() && name(item).to_lowercase().starts_with(&low));
    match whole.next() {
        // Two of one name have to be told apart by their places.
        Some(one) => Some(one).filter(|_| whole.next().is_none()),
        None => starts.next().filter(|_| starts.next().is_none()),
    }
}
