//! The commands, as a new user would try them.

use crate::bench::{Bench, LOG};

#[test]
fn a_log_goes_from_the_student_to_the_coach_and_both_books_agree() {
    let bench = Bench::new();
    bench.pair();
    bench.write("log.csv", LOG);
    let logged = bench.json(&["record", "shots", "log.csv", "--book", "ina.book"]);
    assert_eq!((logged["shots"].as_u64(), logged["sessions"].as_u64()), (Some(5), Some(2)));
    let sent = bench.json(&["send", "Ina", "--to", "Bo Berg", "--out", "week.chalk", "--book", "ina.book"]);
    // The student's own record, that the coach belongs to her people, two sessions and five shots.
    assert_eq!(sent["changes"], 9);
    let receipt = bench.json(&["receive", "week.chalk", "--book", "bo.book"]);
    // The coach had the first two already.
    assert_eq!((receipt["taken"].as_u64(), receipt["already_had"].as_u64()), (Some(7), Some(2)));
    let digest = |book| bench.json(&["book", "check", "--book", book])["strands"][0]["digest"].clone();
    assert_eq!(digest("ina.book"), digest("bo.book"));
    let brief = bench.ok(&["brief", "ina", "--book", "bo.book"]);
    assert!(brief.contains("Ina Holt") && brief.contains("left-handed"), "{brief}");
}

#[test]
fn a_log_taken_twice_counts_once() {
    let bench = Bench::new();
    bench.pair();
    bench.write("log.csv", LOG);
    bench.ok(&["record", "shots", "log.csv", "--book", "ina.book"]);
    let again = bench.json(&["record", "shots", "log.csv", "--book", "ina.book"]);
    assert_eq!((again["shots"].as_u64(), again["already_there"].as_u64()), (Some(0), Some(5)));
}

#[test]
fn a_brief_is_written_in_every_form_and_another_ending_is_refused() {
    let bench = Bench::new();
    bench.pair();
    bench.write("log.csv", LOG);
    bench.ok(&["record", "shots", "log.csv", "--book", "ina.book"]);
    let starts: [(&str, &[u8]); 6] = [
        ("html", b"<!doctype html>"),
        ("svg", b"<svg"),
        ("png", b"\x89PNG"),
        ("pdf", b"%PDF-"),
        ("json", b"{"),
        ("txt", b"Ina Holt"),
    ];
    for (ending, start) in starts {
        let file = format!("brief.{ending}");
        bench.ok(&["brief", "Ina", "--out", &file, "--book", "ina.book"]);
        let bytes = std::fs::read(bench.path(&file)).unwrap();
        assert!(bytes.windows(start.len()).take(200).any(|w| w == start), "{ending}");
    }
    let said = bench.refused(&["brief", "Ina", "--out", "brief.docx", "--book", "ina.book"]);
    assert!(said.contains(".html"), "{said}");
}

#[test]
fn markup_in_names_and_notes_is_text_on_every_page() {
    let bench = Bench::new();
    bench.ok(&["book", "new", "--role", "coach", "--name", "<script>alert(1)</script>", "--book", "b"]);
    bench.ok(&["student", "add", "<img src=x onerror=alert(2)>", "--hand", "right", "--book", "b"]);
    bench.write("log.csv", LOG.replace("morning", "\"<b>'&\"\"m\""));
    bench.ok(&["record", "shots", "log.csv", "--book", "b"]);
    for file in ["x.html", "x.svg"] {
        bench.ok(&["brief", "<img", "--out", file, "--book", "b"]);
        let text = std::fs::read_to_string(bench.path(file)).unwrap();
        assert!(!text.contains("<img") && !text.contains("<script") && !text.contains("<b>'"), "{file}");
        assert!(text.contains("&lt;img"), "{file}");
    }
}

#[test]
fn names_with_control_characters_are_refused() {
    let bench = Bench::new();
    bench.ok(&["book", "new", "--role", "coach", "--name", "Bo", "--book", "b"]);
    for bad in ["a\u{1b}[31m", "a\u{202e}b", "", " "] {
        let out = bench.run(&["student", "add", bad, "--hand", "right", "--book", "b"]);
        // The command line itself refuses the word.
        assert_eq!(out.status.code(), Some(2), "{bad:?}");
        assert!(!String::from_utf8_lossy(&out.stderr).contains("\u{1b}[31mis"), "{bad:?}");
    }
    assert_eq!(bench.json(&["list", "--book", "b"])["students"].as_array().unwrap().len(), 0);
}

#[test]
fn errors_say_what_to_do_and_come_as_json_where_asked() {
    let bench = Bench::new();
    let said = bench.refused(&["list", "--book", "none.book"]);
    assert!(said.contains("book new"), "{said}");
    let said = bench.refused(&["list", "--json", "--book", "none.book"]);
    let error: serde_json::Value = serde_json::from_str(&said).unwrap();
    assert_eq!(error["error"]["kind"], "book");
    bench.pair();
    let said = bench.refused(&["brief", "Zoe", "--book", "bo.book"]);
    assert!(said.contains("Ina Holt"), "{said}");
    assert_eq!(bench.run(&["no-such-command"]).status.code(), Some(2));
}

#[test]
fn a_target_and_a_baseline_are_the_coachs_to_set() {
    let bench = Bench::new();
    bench.pair();
    bench.write("log.csv", LOG);
    bench.ok(&["record", "shots", "log.csv", "--book", "ina.book"]);
    bench.ok(&[
        "student",
        "change",
        "Ina",
        "--target",
        "-2,8",
        "--radius",
        "10",
        "--baseline-until",
        "2026-04-27",
        "--book",
        "ina.book",
    ]);
    let brief = bench.json(&["brief", "Ina", "--book", "ina.book"]);
    assert_eq!(brief["settings"]["target_high_mm"], 8.0);
    assert_eq!(brief["baseline"]["chosen_by"], "coach");
    assert_eq!(brief["baseline"]["pattern"]["count"], 3);
    assert_eq!(brief["now"]["pattern"]["count"], 2);
    // Mean toe of the two later marks is -4.5, the target -2.
    assert_eq!(brief["now"]["pattern"]["bias_toe_mm"], -2.5);
}

#[test]
fn completions_are_there_for_every_shell() {
    let bench = Bench::new();
    for shell in ["bash", "zsh", "fish", "powershell", "elvish"] {
        assert!(bench.ok(&["completions", shell]).contains("chalkface"), "{shell}");
    }
}
