//! JSON that programs rely on: a changed key shows here.

use insta::{assert_json_snapshot, assert_snapshot};

use crate::bench::{Bench, LOG};

/// An output with what differs from run to run taken out.
fn steady(mut value: serde_json::Value) -> serde_json::Value {
    fn walk(value: &mut serde_json::Value, key: &str) {
        match value {
            serde_json::Value::Object(map) => map.iter_mut().for_each(|(key, value)| walk(value, key)),
            serde_json::Value::Array(items) => items.iter_mut().for_each(|item| walk(item, key)),
            serde_json::Value::String(text)
                if ["strand", "record", "digest", "person", "device", "phrase", "card", "check_phrase"]
                    .contains(&key) =>
            {
                *text = format!("[{key}]");
            }
            _ => {}
        }
    }
    walk(&mut value, "");
    value
}

#[test]
fn json_of_pattern() {
    let bench = Bench::new();
    bench.write("log.csv", LOG);
    let pattern = bench.json(&["pattern", "log.csv", "--hand", "left"]);
    assert_json_snapshot!(pattern);
}

/// Four sessions of five balls; the middle moves with `toe`.
fn sessions(toe: f64, balls: &str) -> String {
    let mut csv = String::from("session,toe_mm,high_mm,sigma_mm,ball\n");
    for session in 0..4 {
        for (x, y) in [(-8, 0), (8, 0), (0, 6), (0, -6), (2, 1)] {
            let x = toe + f64::from(x + session % 2);
            csv += &format!("s{session},{x},{},1,{balls}\n", y + session / 2);
        }
    }
    csv
}

#[test]
fn json_and_text_of_compare() {
    let bench = Bench::new();
    bench.write("base.csv", sessions(0.0, "course"));
    bench.write("now.csv", sessions(16.0, "range"));
    assert_json_snapshot!(bench.json(&["compare", "base.csv", "now.csv", "--hand", "left"]));
    assert_snapshot!(bench.ok(&["compare", "base.csv", "now.csv", "--shift-mm", "12"]));
}

#[test]
fn json_of_book_send_receive_check_and_list() {
    let bench = Bench::new();
    let new = bench.json(&["book", "new", "--role", "student", "--name", "Ina Holt", "--book", "ina.book"]);
    let add = bench.json(&[
        "student",
        "add",
        "Ina Holt",
        "--hand",
        "left",
        "--birth-year",
        "1990",
        "--book",
        "ina.book",
    ]);
    bench.ok(&["book", "new", "--role", "coach", "--name", "Bo Berg", "--book", "bo.book"]);
    bench.meet("ina.book", "bo.book");
    bench.write("log.csv", LOG);
    let record = bench.json(&["record", "shots", "log.csv", "--book", "ina.book"]);
    let mut send = bench.json(&["send", "Ina", "--to", "Bo Berg", "--out", "a.chalk", "--book", "ina.book"]);
    // Identities are random, so the size differs by a byte or two.
    send["bytes"] = "[bytes]".into();
    let receive = bench.json(&["receive", "a.chalk", "--book", "bo.book"]);
    let check = bench.json(&["book", "check", "--book", "bo.book"]);
    let list = bench.json(&["list", "--book", "bo.book"]);
    let all = serde_json::json!({
        "book new": new, "student add": add, "record shots": record, "send": send, "receive": receive,
        "book check": check, "list": list,
    });
    assert_json_snapshot!(steady(all));
}

#[test]
fn json_and_text_of_a_brief() {
    let bench = Bench::new();
    bench.pair();
    bench.write("log.csv", LOG);
    bench.ok(&["record", "shots", "log.csv", "--book", "ina.book"]);
    bench.ok(&["student", "change", "Ina", "--baseline-until", "2026-04-27", "--book", "ina.book"]);
    assert_json_snapshot!(steady(bench.json(&["brief", "Ina", "--book", "ina.book"])));
    assert_snapshot!(bench.ok(&["brief", "Ina", "--book", "ina.book"]));
}

#[test]
fn text_of_the_demos_briefs() {
    let bench = Bench::new();
    bench.ok(&["demo", "--into", "d"]);
    for (short, day) in [("ben", "2026-05-27"), ("ida", "2026-05-30")] {
        let text = bench.ok(&["brief", short, "--as-of", day, "--book", "d/ruth.book"]);
        assert_snapshot!(format!("brief-{short}"), text);
    }
}
