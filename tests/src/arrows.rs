//! Which part of the core may use which, and what no part may touch.
//!
//! The list is data: start at [`MAY_USE`]. A new part has to be entered in
//! [`PARTS`] first; an arrow that nothing needs any more has to go.

use std::collections::{BTreeMap, BTreeSet};

use crate::source::{above, files, of_tests, tokens, under, without_tests};

/// The parts of the core, lowest first: each may only use parts before it.
const PARTS: &[&str] = &[
    "model", "face", "flight", "sound", "sync", "table", "book", "dose", "lesson", "plan", "act", "words",
    "chart", "screen",
];

/// Who may use whom, and what for.
const MAY_USE: &[(&str, &str, &str)] = &[
    ("sync", "model", "a change names people, devices, records and fields"),
    ("table", "model", "a row is read into quantities with their ranges and units"),
    ("book", "model", "records go in and out as what they are"),
    ("book", "sync", "a book is a set of changes, and exchanges files of them"),
    ("act", "face", "what was read of a picture is kept"),
    ("act", "model", "what people do is told in records"),
    ("act", "book", "what people do ends as changes in a book"),
    ("act", "dose", "a drill is begun only as far as the caps allow, and counted as its data say"),
    ("act", "table", "the rows of a log become shots"),
    ("dose", "model", "drills, doses and what was done of them are records"),
    ("dose", "book", "a student's plans are read from a book, with conflicts and what was removed"),
    ("lesson", "model", "a brief rests on records"),
    ("lesson", "table", "rows of two files are compared without a book"),
    ("lesson", "book", "a log is read from a book, with its conflicts; fits are kept in one"),
    (
        "lesson",
        "face",
        "strike marks become a pattern; sessions of guesses are compared as those of marks are",
    ),
    ("lesson", "flight", "what was seen of a ball is explained by the physics"),
    ("lesson", "dose", "a brief counts what was done against what the plan asks within its caps"),
    ("plan", "model", "drills are named, and proposed in doses"),
    ("plan", "dose", "drills come from the catalogue, and what came of them from what was asked and done"),
    ("plan", "face", "a drill's own measure rests on patterns of marks and on quantiles"),
    ("plan", "lesson", "drills are chosen for what the log shows, and judged as the brief judges"),
    ("words", "model", "sentences name hands, units and records"),
    ("words", "book", "what was taken in is told in sentences: Receipt and its kin, no calls"),
    ("words", "face", "a pattern's reading is told in sentences"),
    ("words", "flight", "a flight's figures, limits and doubts are told in sentences"),
    ("words", "lesson", "values of a brief, a trial and feel are told in sentences"),
    ("words", "plan", "what a plan asks, holds back and has come to is told in sentences"),
    ("chart", "face", "ellipses and settings are drawn as they were computed"),
    ("chart", "words", "captions, and what a screen reader hears"),
    ("screen", "sync", "one's card is shown, and another's is read"),
    ("screen", "model", "hands and days decide what is shown and how"),
    ("screen", "book", "the loop opens the book, and screens read it"),
    ("screen", "act", "what a person does on a screen is an act"),
    ("screen", "face", "a pattern is a page of its own"),
    ("screen", "flight", "a flight's figures are a page of their own"),
    ("screen", "lesson", "a brief, a trial and feel are pages"),
    ("screen", "plan", "a plan, the day's drills and their progress are pages"),
    ("screen", "words", "what blocks say"),
    ("screen", "chart", "pages hold drawings"),
];

/// The part that a file of the core belongs to, and how deep its module lies.
fn place(path: &str) -> Option<(&str, usize)> {
    let inner = path.strip_prefix("core/src/")?;
    let parts: Vec<&str> = inner.split('/').collect();
    let depth = parts.len() - usize::from(inner.ends_with("mod.rs"));
    let part = parts.first()?.trim_end_matches(".rs");
    (part != "lib").then_some((part, depth))
}

/// The code of the core that is no test, file by file.
fn core() -> Vec<(String, Vec<String>)> {
    let all = files("core/src");
    let tests = of_tests(&all);
    assert!(tests.len() > 8, "the core's tests were not found");
    let code: Vec<_> = all
        .into_iter()
        .filter(|(path, _)| !tests.contains(path))
        .map(|(path, text)| (path, without_tests(&tokens(&text))))
        .collect();
    assert!(code.len() > 60, "the core's files were not found");
    code
}

/// Every arrow between two parts, with a file that draws it.
fn arrows(code: &[(String, Vec<String>)]) -> BTreeMap<(String, String), String> {
    let mut found = BTreeMap::new();
    for (path, tokens) in code {
        let Some((from, depth)) = place(path) else { continue };
        for to in under(tokens, "crate").into_iter().chain(above(tokens, depth)) {
            if to != from {
                found.insert((from.to_owned(), to), path.clone());
            }
        }
    }
    found
}

fn allowed() -> BTreeSet<(String, String)> {
    MAY_USE.iter().map(|(from, to, _)| ((*from).to_owned(), (*to).to_owned())).collect()
}

/// Names of the standard library or of crates that a file uses.
fn outside(tokens: &[String]) -> BTreeSet<String> {
    let mut found: BTreeSet<String> =
        under(tokens, "std").into_iter().map(|name| format!("std::{name}")).collect();
    found.extend(under(tokens, "core").into_iter().map(|name| format!("std::{name}")));
    found.extend(tokens.iter().filter(|token| NEVER_IN_CORE.iter().any(|(name, _)| name == token)).cloned());
    found.extend(tokens.iter().filter(|token| *token == "rusqlite").cloned());
    found
}

/// What the core never touches, and why.
const NEVER_IN_CORE: &[(&str, &str)] = &[
    ("std::net", "offline, always"),
    ("std::env", "settings come from the caller"),
    ("std::process", "a library on a phone starts nothing and ends nothing"),
    ("std::thread", "the shell's worker thread is the only one"),
    ("SystemTime", "the clock comes from the caller: model::Now"),
    ("Instant", "the clock comes from the caller: model::Now"),
    ("thread_rng", "random bytes come from the caller: model::Now"),
    ("getrandom", "random bytes come from the caller: model::Now"),
    ("OsRng", "random bytes come from the caller: model::Now"),
    ("Utc", "the clock comes from the caller: model::Now"),
    ("Local", "neither clock nor time zone is read"),
    ("now_v7", "identities come from model::Minter"),
    ("println", "what a person reads goes through words and the shell"),
    ("eprintln", "what a person reads goes through words and the shell"),
];

/// What only one part of the core may touch.
const ONLY_IN: &[(&str, &str, &str)] = &[
    ("rusqlite", "book", "the book is the one file on disk"),
    ("std::fs", "book", "the only part that touches the disk"),
];

#[test]
fn parts_of_the_core_use_only_the_parts_that_they_may() {
    let allowed = allowed();
    let wrong: Vec<_> = arrows(&core()).into_iter().filter(|(arrow, _)| !allowed.contains(arrow)).collect();
    assert!(wrong.is_empty(), "not among the arrows of tests/src/arrows.rs: {wrong:#?}");
}

#[test]
fn an_arrow_that_nothing_needs_any_more_is_taken_from_the_list() {
    let found: BTreeSet<_> = arrows(&core()).into_keys().collect();
    let idle: Vec<_> = allowed().into_iter().filter(|arrow| !found.contains(arrow)).collect();
    assert!(idle.is_empty(), "nothing uses these: {idle:?}");
}

#[test]
fn arrows_point_down_only_and_every_part_is_known() {
    let level = |part: &str| PARTS.iter().position(|known| *known == part);
    for (from, to, why) in MAY_USE {
        assert!(level(to).unwrap() < level(from).unwrap(), "{from} may not use {to}: that would go round");
        assert!(!why.is_empty());
    }
    let code = core();
    let there: BTreeSet<&str> =
        code.iter().filter_map(|(path, _)| place(path)).map(|(part, _)| part).collect();
    let known: BTreeSet<&str> = PARTS.iter().copied().collect();
    assert_eq!(there, known, "a part that is new, or gone: enter in tests/src/arrows.rs what it may use");
}

#[test]
fn a_wrong_arrow_would_be_found() {
    let file = |path: &str, text: &str| (path.to_owned(), without_tests(&tokens(text)));
    let planted = [
        file("core/src/model/shot.rs", "use crate::book::Book;"),
        file("core/src/face/mod.rs", "use super::lesson::Log;"),
        file("core/src/sync/file.rs", "use super::super::{table, model::Day};"),
        file("core/src/chart/mod.rs", "/// [`Book`](crate::book::Book)\nuse super::words;"),
    ];
    let found: Vec<_> = arrows(&planted).into_keys().collect();
    let found: Vec<_> = found.iter().map(|(from, to)| format!("{from} {to}")).collect();
    assert_eq!(found, ["chart words", "face lesson", "model book", "sync model", "sync table"]);
}

#[test]
fn the_core_has_no_clock_no_network_no_random_source_and_only_the_book_a_disk() {
    for (path, tokens) in core() {
        let used = outside(&tokens);
        for (name, why) in NEVER_IN_CORE {
            assert!(!used.contains(*name), "{path} uses {name}: {why}");
        }
        for (name, part, why) in ONLY_IN {
            let there = place(&path).is_some_and(|(of, _)| of == *part);
            assert!(there || !used.contains(*name), "{path} uses {name}: {why}, and that is {part}");
        }
    }
}

#[test]
fn the_desk_knows_nothing_of_the_storage_outside_its_tests() {
    let code = files("desk/src");
    assert!(code.len() > 15, "the desk's files were not found");
    for (path, text) in code {
        let tokens = without_tests(&tokens(&text));
        assert!(
            !tokens.iter().any(|token| token == "rusqlite"),
            "{path} uses rusqlite: the core's book does"
        );
    }
    // Nor could it: what it depends on, tests aside, has no storage.
    let manifest = std::fs::read_to_string(crate::source::root().join("desk/Cargo.toml")).unwrap();
    let (product, tests) = manifest.split_once("[dev-dependencies]").unwrap();
    assert!(tests.contains("rusqlite") && !product.contains("rusqlite"));
}

#[test]
fn every_file_of_core_desk_and_bindings_says_what_it_is_for_and_fits_a_head() {
    const MOST_LINES: usize = 450;
    let mut wrong = Vec::new();
    for (path, text) in ["core/src", "desk/src", "bindings/src"].into_iter().flat_map(files) {
        if !text.starts_with("//! ") {
            wrong.push(format!("{path} does not begin with what it is for"));
        }
        let lines = text.lines().count();
        if lines > MOST_LINES {
            wrong.push(format!("{path} has {lines} lines, more than {MOST_LINES}"));
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}
