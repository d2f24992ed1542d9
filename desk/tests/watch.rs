//! A folder that a file service keeps in step, as two people use it.

use std::fs;

use crate::bench::{Bench, LOG};

fn look(bench: &Bench, book: &str) -> serde_json::Value {
    bench.json(&["watch", "shared", "--once", "--book", book])
}

#[test]
fn a_folder_carries_news_both_ways_and_each_file_has_one_writer() {
    let bench = Bench::new();
    bench.pair();
    fs::create_dir(bench.path("shared")).unwrap();
    bench.write("log.csv", LOG);
    bench.ok(&["record", "shots", "log.csv", "--book", "ina.book"]);
    assert_eq!(look(&bench, "ina.book")["wrote"].as_array().unwrap().len(), 1);
    let theirs = look(&bench, "bo.book");
    assert_eq!(theirs["taken_in"][0]["taken"], 7);
    let ours = look(&bench, "ina.book");
    assert_eq!((&ours["taken_in"][0]["from"], &ours["refused"]), (&"Bo Berg".into(), &serde_json::json!([])));
    let digest = |book| bench.json(&["book", "check", "--book", book])["strands"][0]["digest"].clone();
    assert_eq!(digest("ina.book"), digest("bo.book"));
    // Two files, one of each device, and nothing half written.
    let names: Vec<String> = fs::read_dir(bench.path("shared"))
        .unwrap()
        .map(|file| file.unwrap().file_name().into_string().unwrap())
        .collect();
    assert_eq!(names.len(), 2, "{names:?}");
    let device = |book: &str| {
        let people = bench.json(&["people", "--book", book]);
        people["people"][0]["devices"][0]["device"].as_str().unwrap().to_owned()
    };
    for book in ["ina.book", "bo.book"] {
        assert_eq!(names.iter().filter(|name| name.starts_with(&device(book))).count(), 1, "{names:?}");
    }
    assert!(
        names
            .iter()
            .all(|name| !name.to_lowercase().contains("ina") && name.rsplit('.').next() == Some("chalk"))
    );
}

#[test]
fn what_is_not_for_us_or_damaged_is_passed_by_and_told_and_the_rest_goes_in() {
    let bench = Bench::new();
    bench.pair();
    fs::create_dir(bench.path("shared")).unwrap();
    bench.write("log.csv", LOG);
    bench.ok(&["record", "shots", "log.csv", "--book", "ina.book"]);
    look(&bench, "ina.book");
    bench.write("shared/0-junk.chalk", "no exchange file at all");
    bench.write("shared/notes.txt", "not looked at");
    let turn = look(&bench, "bo.book");
    assert_eq!(turn["refused"].as_array().unwrap().len(), 1);
    assert_eq!(turn["taken_in"][0]["taken"], 7);
    // Somebody who belongs to nothing there takes in nothing and writes nothing.
    bench.ok(&["book", "new", "--role", "coach", "--name", "Eve", "--book", "eve.book"]);
    let turn = look(&bench, "eve.book");
    assert_eq!((&turn["taken_in"], &turn["wrote"]), (&serde_json::json!([]), &serde_json::json!([])));
    assert!(bench.refused(&["watch", "nowhere", "--once", "--book", "bo.book"]).contains("nowhere"));
}

#[cfg(not(feature = "object-store"))]
#[test]
fn a_program_built_without_object_stores_says_how_to_build_one_with_them() {
    let bench = Bench::new();
    bench.pair();
    let said = bench.refused(&["watch", "s3://club/golf", "--once", "--book", "bo.book"]);
    assert!(said.contains("--features object-store"), "{said}");
}
