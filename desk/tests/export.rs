//! A student leaves with all that is theirs; and of somebody under 16 nothing leaves
//! without the guardian's box.

use crate::bench::{Bench, LOG};

#[test]
fn all_of_a_book_is_taken_along_in_either_form_and_back_without_loss() {
    let bench = Bench::new();
    bench.pair();
    bench.write("log.csv", LOG);
    bench.ok(&["record", "shots", "log.csv", "--book", "ina.book"]);
    let before = bench.json(&["book", "check", "--book", "ina.book"]);
    for (n, form) in ["all.json", "all.csv"].iter().enumerate() {
        let written = bench.json(&["export", "--out", form, "--book", "ina.book"]);
        assert_eq!(written["changes"], before["changes"]);
        let book = format!("new{n}.book");
        bench.ok(&["book", "new", "--role", "student", "--name", "Ina Holt", "--book", &book]);
        let receipt = bench.json(&["import", form, "--book", &book]);
        assert_eq!((&receipt["taken"], &receipt["refused"]), (&before["changes"], &serde_json::json!([])));
        let after = bench.json(&["book", "check", "--book", &book]);
        assert_eq!((&after["ok"], &after["strands"]), (&true.into(), &before["strands"]));
        bench.ok(&["brief", "Ina", "--book", &book]);
    }
    let tables = bench.json(&["export", "--tables", "tables", "--student", "Ina", "--book", "ina.book"]);
    assert!(tables["tables"].as_array().unwrap().iter().any(|file| file == "shot.csv"));
    let shots = std::fs::read_to_string(bench.path("tables/shot.csv")).unwrap();
    assert_eq!(shots.lines().count(), 6);
    assert!(shots.starts_with("student,record,removed,"));
    assert!(bench.refused(&["export", "--out", "all.doc", "--book", "ina.book"]).contains(".csv"));
    assert!(bench.refused(&["import", "log.csv", "--book", "ina.book"]).contains("no export"));
}

#[test]
fn of_somebody_under_16_no_byte_leaves_without_the_guardians_box() {
    let bench = Bench::new();
    bench.pair();
    bench.ok(&["student", "change", "Ina", "--birth-year", "2199", "--book", "ina.book"]);
    let said = bench.refused(&["send", "Ina", "--to", "Bo Berg", "--out", "x.chalk", "--book", "ina.book"]);
    assert!(said.contains("guardian"), "{said}");
    assert!(bench.refused(&["card", "--out", "card.txt", "--book", "ina.book"]).contains("guardian"));
    std::fs::create_dir(bench.path("shared")).unwrap();
    let turn = bench.json(&["watch", "shared", "--once", "--book", "ina.book"]);
    assert_eq!(turn["wrote"], serde_json::json!([]));
    assert!(turn["refused"][0]["why"].as_str().unwrap().contains("guardian"));
    let left: Vec<_> = std::fs::read_dir(bench.path("shared")).unwrap().collect();
    assert!(left.is_empty(), "{left:?}");
    for name in ["x.chalk", "x.chalk.part", "card.txt"] {
        assert!(!bench.path(name).exists(), "{name}");
    }
    bench.ok(&["student", "change", "Ina", "--guardian-agrees", "Tuva Holt", "--book", "ina.book"]);
    bench.ok(&["send", "Ina", "--to", "Bo Berg", "--out", "x.chalk", "--book", "ina.book"]);
    bench.ok(&["card", "--out", "card.txt", "--book", "ina.book"]);
    bench.ok(&["receive", "x.chalk", "--book", "bo.book"]);
    // The coach can't set it, and what the guardian takes back holds for him too.
    let words = ["student", "change", "Ina", "--guardian-agrees", "Me", "--book", "bo.book"];
    assert!(bench.refused(&words).contains("only Ina Holt"));
    bench.ok(&["student", "change", "Ina", "--guardian-refuses", "Tuva Holt", "--book", "ina.book"]);
    bench.refused(&["send", "Ina", "--to", "Bo Berg", "--out", "y.chalk", "--book", "ina.book"]);
}

#[cfg(not(feature = "parquet"))]
#[test]
fn a_program_built_without_parquet_says_how_to_build_one_with_it_and_writes_nothing() {
    let bench = Bench::new();
    bench.pair();
    let said = bench.refused(&["export", "--parquet", "columns", "--out", "all.json", "--book", "bo.book"]);
    assert!(said.contains("--features parquet"), "{said}");
    assert!(!bench.path("columns").exists() && !bench.path("all.json").exists());
}
