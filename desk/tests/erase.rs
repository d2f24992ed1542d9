//! Erasing as people do it: by a visit's name, or everything; and telling others.

use crate::bench::Bench;

fn holds(bench: &Bench, book: &str, text: &str) -> bool {
    ["", "-wal"].iter().any(|end| {
        let bytes = std::fs::read(bench.path(&format!("{book}{end}"))).unwrap_or_default();
        bytes.windows(text.len()).any(|window| window == text.as_bytes())
    })
}

#[test]
fn a_visit_and_then_everything_is_erased_on_both_devices() {
    let bench = Bench::new();
    bench.pair();
    bench.write(
        "visits.csv",
        "session,day,toe_mm,high_mm\nRegretted visit,2026-05-01,3,4\nRegretted visit,2026-05-01,5,4\nOther visit,2026-05-02,1,1\n",
    );
    bench.ok(&["record", "shots", "visits.csv", "--book", "ina.book"]);
    bench.ok(&["send", "Ina", "--to", "Bo Berg", "--out", "one.chalk", "--book", "ina.book"]);
    bench.ok(&["receive", "one.chalk", "--book", "bo.book"]);
    assert!(holds(&bench, "bo.book", "Regretted visit"));
    let refused = bench.refused(&["erase", "Ina", "--session", "Regretted visit", "--book", "bo.book"]);
    assert!(refused.contains("only who wrote it"), "{refused}");
    assert!(
        bench.refused(&["erase", "Ina", "--session", "nowhere", "--book", "ina.book"]).contains("nothing")
    );
    let erased = bench.json(&["erase", "Ina", "--session", "regretted visit", "--book", "ina.book"]);
    assert_eq!((&erased["erased"]["records"], &erased["erased"]["scrubbed"]), (&3.into(), &true.into()));
    assert!(!holds(&bench, "ina.book", "Regretted visit"));
    bench.ok(&["send", "Ina", "--to", "Bo Berg", "--out", "two.chalk", "--book", "ina.book"]);
    let receipt = bench.json(&["receive", "two.chalk", "--book", "bo.book"]);
    assert_eq!(receipt["erased"], 3);
    assert!(!holds(&bench, "bo.book", "Regretted visit") && holds(&bench, "bo.book", "Other visit"));
    assert_eq!(bench.json(&["receive", "one.chalk", "--book", "bo.book"])["taken"], 0);

    let erased = bench.json(&["erase", "Ina", "--everything", "--book", "ina.book"]);
    assert_eq!(erased["tell"], serde_json::json!(["Bo Berg"]));
    let strand = erased["strand"].as_str().unwrap();
    bench.ok(&["erase", strand, "--tell", "Bo Berg", "--out", "word.chalk", "--book", "ina.book"]);
    assert!(bench.json(&["receive", "word.chalk", "--book", "bo.book"])["erased"].as_u64() > Some(2));
    for book in ["ina.book", "bo.book"] {
        assert!(!holds(&bench, book, "Other visit"));
        assert_eq!(bench.json(&["book", "check", "--book", book])["ok"], true);
    }
    assert!(!holds(&bench, "bo.book", "Ina Holt"), "nor her name");
    assert!(bench.refused(&["brief", "Ina", "--book", "bo.book"]).contains("no student"));
}
