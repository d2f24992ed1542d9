//! The demo: the whole loop, and the same every time.

use std::fs;
use std::io::Read;

use chalkface_core::sync::DeviceKeys;
use chalkface_core::sync::seal::open;

use crate::bench::Bench;

#[test]
fn the_demo_plays_the_loop_and_both_books_of_each_student_end_equal() {
    let bench = Bench::new();
    let told = bench.json(&["demo", "--into", "here"]);
    assert_eq!(told["equal"], true);
    let exchanges: Vec<_> =
        told["steps"].as_array().unwrap().iter().filter(|step| step["step"] == "exchange").collect();
    assert_eq!(exchanges.len(), 10);
    assert!(exchanges.iter().any(|step| step["conflicts"] == 1));
    let digest = |book: &str, student: &str| {
        let check = bench.json(&["book", "check", "--book", &format!("here/{book}.book")]);
        assert_eq!(check["ok"], true);
        let strands = check["strands"].as_array().unwrap().clone();
        strands.into_iter().find(|s| s["student"] == student).unwrap()["digest"].clone()
    };
    assert_eq!(digest("ben", "Ben Harlow"), digest("ruth", "Ben Harlow"));
    assert_eq!(digest("ida", "Ida Kranz"), digest("ruth", "Ida Kranz"));
    // What belongs to one student is nowhere in the other's book or files.
    let ben = fs::read(bench.path("here/ben.book")).unwrap();
    assert!(!ben.windows(9).any(|w| w == b"Ida Kranz"));
}

#[test]
fn the_demo_gives_the_same_files_every_time() {
    let bench = Bench::new();
    bench.ok(&["demo", "--into", "one"]);
    bench.ok(&["demo", "--into", "two"]);
    let mut compared = 0;
    for entry in fs::read_dir(bench.path("one")).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        // SQLite's own pages may lie differently; what they say is compared elsewhere.
        if path.extension().is_none_or(|ending| ending != "book") {
            let read = |folder: &str| {
                let bytes = fs::read(bench.path(folder).join(&name)).unwrap();
                if path.extension().is_some_and(|ending| ending == "chalk") {
                    opened(&bench.path(folder), &bytes)
                } else {
                    bytes
                }
            };
            assert_eq!(read("one"), read("two"), "{name}");
            compared += 1;
        }
    }
    assert_eq!(compared, 27);
}

/// What a sealed file opens to: sealing itself is random by nature.
fn opened(folder: &std::path::Path, sealed: &[u8]) -> Vec<u8> {
    ["ruth", "ben", "ida"]
        .iter()
        .find_map(|short| {
            let text = fs::read_to_string(folder.join(format!("{short}.book.key"))).unwrap();
            let keys = DeviceKeys::from_text(&text).unwrap();
            let mut bytes = Vec::new();
            open(&keys, sealed).ok()?.read_to_end(&mut bytes).unwrap();
            Some(bytes)
        })
        .unwrap()
}

#[test]
fn the_demo_fills_no_folder_that_holds_something() {
    let bench = Bench::new();
    fs::create_dir(bench.path("full")).unwrap();
    bench.write("full/mine.txt", "mine");
    let said = bench.refused(&["demo", "--into", "full"]);
    assert!(said.contains("--into"), "{said}");
    assert_eq!(fs::read_dir(bench.path("full")).unwrap().count(), 1);
}

/// Width and height of a drawing, mm.
fn size_mm(svg: &str) -> (f64, f64) {
    let of = |name: &str| {
        let (_, rest) = svg.split_once(&format!("{name}=\"")).unwrap();
        rest.split("mm").next().unwrap().parse().unwrap()
    };
    (of(" width"), of(" height"))
}

#[test]
fn the_demos_briefs_fit_one_page_of_paper_and_their_cards_one_screen_of_a_phone() {
    let bench = Bench::new();
    bench.ok(&["demo", "--into", "d"]);
    for student in ["ben", "ida"] {
        let drawn = |words: &[&str]| {
            let all = ["brief", student, "--book", "d/ruth.book", "--as-of", "2026-05-30", "--out", "x.svg"];
            bench.ok(&[&all[..], words].concat());
            size_mm(&fs::read_to_string(bench.path("x.svg")).unwrap())
        };
        // A4, ISO 216, at most 1.4 times as large.
        let (width, height) = drawn(&[]);
        assert!(width <= 1.4 * 210.0 + 0.01, "{width}");
        assert!((height / width - 297.0 / 210.0).abs() < 1e-4, "{height} by {width}");
        // 360 by 640 CSS pixels of 1/96 in.
        let (width, height) = drawn(&["--card"]);
        let pixel = 25.4 / 96.0;
        assert!(
            (width - 360.0 * pixel).abs() < 0.01 && height <= 640.0 * pixel + 0.01,
            "{height} by {width}"
        );
    }
}
