//! Drills and plans as a person meets them.

use insta::{assert_json_snapshot, assert_snapshot};
use serde_json::Value;

use crate::bench::Bench;

/// A coach's and a student's book with the same plan in both.
fn pair() -> Bench {
    let bench = Bench::new();
    bench.pair();
    bench.ok(&["student", "change", "Ina", "--birth-year", "1990", "--book", "bo.book"]);
    bench.ok(&[
        "plan",
        "Ina",
        "propose",
        "--for",
        "speed",
        "low",
        "--until",
        "2026-05-25",
        "--accept",
        "--aim",
        "Up and faster",
        "--book",
        "bo.book",
    ]);
    send(&bench, "bo", "ina");
    bench
}

fn send(bench: &Bench, from: &str, to: &str) {
    let (from, to) = (format!("{from}.book"), format!("{to}.book"));
    let name = if to == "ina.book" { "Ina Holt" } else { "Bo Berg" };
    bench.ok(&["plan", "Ina", "send", "--to", name, "--out", "x.chalk", "--book", &from]);
    bench.ok(&["receive", "x.chalk", "--book", &to]);
}

/// Identities and times that differ from run to run taken out.
fn steady(mut value: Value) -> Value {
    fn walk(value: &mut Value, key: &str) {
        match value {
            Value::Object(map) => map.iter_mut().for_each(|(key, value)| walk(value, key)),
            Value::Array(items) => items.iter_mut().for_each(|item| walk(item, key)),
            Value::String(text)
                if ["plan", "planned", "drill", "record", "session"].contains(&key) && text.len() == 36 =>
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
fn json_and_text_of_a_plan_and_of_today() {
    let bench = pair();
    let own = ["--book", "ina.book"];
    let with = |words: &[&'static str]| [words, &own[..]].concat();
    let speeds = [
        "record", "speed", "94mph", "95mph", "96mph", "--other", "80mph", "82mph", "84mph", "--drill", "two",
    ];
    assert_json_snapshot!(bench.json(&with(&speeds)));
    assert_json_snapshot!(steady(bench.json(&with(&["record", "drill", "two"]))));
    bench.ok(&with(&["record", "drill", "2", "--sets", "2", "--day", "2026-05-04", "--note", "windy"]));
    assert_snapshot!(bench.ok(&with(&["today"])));
    assert_json_snapshot!(steady(bench.json(&with(&["plan", "Ina"]))));
    assert_snapshot!(bench.ok(&with(&["plan", "Ina", "--as-of", "2026-05-14"])));
    // A day of rest, and the day after.
    let today = |day: &str| bench.json(&["today", "--day", day, "--book", "ina.book"]);
    assert_eq!(today("2026-05-05")["speed_again_on"], "2026-05-06");
    assert_eq!(today("2026-05-05")["efforts_left"], 0);
    assert_eq!(today("2026-05-06")["efforts_left"], 24);
}

#[test]
fn a_proposal_begins_nothing_until_it_is_accepted() {
    let bench = Bench::new();
    bench.pair();
    let propose =
        ["plan", "Ina", "propose", "--for", "scatter", "face", "--minutes", "25", "--book", "bo.book"];
    assert_json_snapshot!(bench.json(&propose));
    assert!(bench.refused(&["plan", "Ina", "--book", "bo.book"]).contains("propose --accept"));
    assert!(bench.refused(&["plan", "Ina", "propose", "--book", "bo.book"]).contains("--for high"));
    let past = ["plan", "Ina", "propose", "--for", "face", "--until", "2026-05-04", "--book", "bo.book"];
    assert!(bench.refused(&past).contains("after today"));
}

#[test]
fn both_sides_edit_one_plan_and_nothing_is_lost() {
    let bench = pair();
    bench.ok(&["plan", "Ina", "change", "tee", "--sets", "3", "--book", "bo.book"]);
    bench.ok(&["plan", "Ina", "change", "tee", "--sets", "1", "--times", "3", "--book", "ina.book"]);
    bench.ok(&["plan", "Ina", "add", "held finish", "--place", "1", "--book", "ina.book"]);
    bench.ok(&["plan", "Ina", "drop", "two", "--book", "bo.book"]);
    bench.ok(&["record", "drill", "two", "--book", "ina.book"]);
    send(&bench, "ina", "bo");
    send(&bench, "bo", "ina");
    let plans = ["bo.book", "ina.book"].map(|book| steady(bench.json(&["plan", "Ina", "--book", book])));
    assert_eq!(plans[0], plans[1]);
    let drills = plans[0]["progress"].as_array().unwrap();
    let names: Vec<&str> = drills.iter().map(|drill| drill["name"].as_str().unwrap()).collect();
    assert_eq!(names, ["Held finish", "Two-sided speed sets", "Tee-height ladder"]);
    assert_eq!((&drills[1]["dropped"], &drills[1]["done"][0]["by"]), (&true.into(), &"Ina Holt".into()));
    assert_eq!(drills[2]["conflicts"][0]["values"].as_array().unwrap().len(), 2);
    // Both wrote at the same moment of the test's clock: which counts is the devices' order.
    assert!([1, 3].map(|sets| serde_json::json!([sets, 6, 3])).contains(&drills[2]["asked"]));
    let said = bench.ok(&["plan", "Ina", "--book", "bo.book"]);
    assert!(said.contains("sets: both of you changed it:") && said.contains("3 (Bo Berg)"), "{said}");
    assert!(said.contains("taken out of the plan; shown because it was done"), "{said}");
}

#[test]
fn caps_hold_whatever_is_asked_and_pain_stops_speed_work() {
    let bench = pair();
    let book = ["--book", "bo.book"];
    let with = |words: &[&'static str]| [words, &book[..]].concat();
    let said = bench.ok(&with(&[
        "plan",
        "Ina",
        "change",
        "two",
        "--sets",
        "20",
        "--cap-day",
        "500",
        "--cap-week",
        "500",
    ]));
    assert!(said.contains("at most 36 a day and 90 in seven days"), "{said}");
    assert!(said.contains("The coach asked for more"), "{said}");
    let plan = bench.json(&with(&["plan", "Ina"]));
    assert_eq!(plan["drills"][0]["dose"], serde_json::json!([6, 6, 2]));
    assert_eq!(plan["drills"][0]["held"], serde_json::json!(["day"]));
    bench.ok(&with(&["record", "pain", "low back"]));
    let plan = bench.json(&with(&["plan", "Ina"]));
    assert_eq!((&plan["stop"], &plan["drills"][0]["dose"]), (&"pain".into(), &Value::Null));
    assert!(bench.ok(&with(&["today"])).contains("licensed professional"));
    assert!(
        bench.ok(&with(&["record", "drill", "two", "--repetitions", "6"])).contains("licensed professional")
    );
    assert!(bench.ok(&with(&["record", "speed", "90mph"])).contains("licensed professional"));
    bench.ok(&with(&["record", "pain", "--cleared"]));
    assert_eq!(
        bench.json(&with(&["plan", "Ina"]))["caps"]["why"],
        serde_json::json!(["after_pain", "coach"])
    );
}

#[test]
fn a_coachs_own_drill_is_shared_and_its_markup_is_not_trusted() {
    let bench = pair();
    bench.write("clap.md", "1. *Clap* <script>alert(1)</script>\n2. [Look](javascript:x)\n");
    let add =
        ["plan", "Ina", "add", "Clap drill", "--text", "clap.md", "--purpose", "feel", "--book", "bo.book"];
    bench.ok(&add);
    bench.ok(&["plan", "Ina", "--out", "p.html", "--book", "bo.book"]);
    let page = std::fs::read_to_string(bench.path("p.html")).unwrap();
    assert!(page.contains("<li><em>Clap</em> &lt;script&gt;") && !page.contains("javascript"));
    // For another student it is found by its name.
    bench.ok(&["student", "add", "Ulf", "--hand", "right", "--book", "bo.book"]);
    bench.ok(&["plan", "Ulf", "propose", "--for", "face", "--accept", "--book", "bo.book"]);
    let plan = bench.json(&["plan", "Ulf", "add", "clap", "--book", "bo.book"]);
    assert_eq!(plan["drills"][2]["name"], "Clap drill");
    assert_eq!(bench.json(&["drills", "--book", "bo.book"])["own"].as_array().unwrap().len(), 1);
    send(&bench, "bo", "ina");
    assert!(bench.ok(&["plan", "Ina", "--book", "ina.book"]).contains("Clap drill"));
}

#[test]
fn the_catalogue_needs_no_book_and_a_wrong_word_is_answered_with_the_right_ones() {
    let bench = Bench::new();
    let drills = bench.json(&["drills"]);
    let keys: Vec<&String> = drills["drills"][0].as_object().unwrap().keys().collect();
    assert_json_snapshot!((drills["drills"].as_array().unwrap().len(), keys));
    assert_snapshot!(bench.ok(&["drills", "two-sided"]));
    assert!(bench.refused(&["drills", "hammer"]).contains("held finish"));
    let bench = pair();
    let wrong: [&[&str]; 6] = [
        &["record", "drill", "nope", "--book", "ina.book"],
        &["record", "drill", "tee", "--good", "9", "--tries", "3", "--book", "ina.book"],
        &["record", "drill", "tee", "--day", "2026-06-01", "--book", "ina.book"],
        &["record", "drill", "tee", "--session", "none", "--book", "ina.book"],
        &["plan", "Ina", "change", "--book", "ina.book"],
        &["plan", "Ina", "change", "tee", "--sets", "900", "--book", "ina.book"],
    ];
    let before = bench.json(&["book", "check", "--book", "ina.book"])["digest"].clone();
    for words in wrong {
        bench.refused(words);
    }
    assert_eq!(bench.json(&["book", "check", "--book", "ina.book"])["digest"], before);
}

#[test]
fn a_drill_is_done_tap_by_tap_and_an_app_that_was_stopped_goes_on() {
    let bench = pair();
    let today = |words: &[&'static str]| bench.ok(&[&["today"], words, &["--book", "ina.book"]].concat());
    assert!(bench.refused(&["today", "count", "--book", "ina.book"]).contains("today begin"));
    today(&["begin", "tee"]);
    for _ in 0..3 {
        today(&["count"]);
    }
    assert_snapshot!(today(&["ball", "--strike", "toe5,low3", "--powder"]));
    today(&["count"]);
    today(&["count"]);
    // The set is over: a minute of rest, told by its end.
    let said = today(&[]);
    assert!(said.contains("Rest for 1 minute more.") && said.contains("set 2 is next"), "{said}");
    today(&["undo"]);
    assert!(today(&[]).contains("Under way: 5 of 6 in set 1."));
    assert!(bench.refused(&["today", "undo", "--book", "ina.book"]).contains("only the last one"));
    bench.refused(&["today", "step", "99", "--book", "ina.book"]);
    bench.refused(&["today", "begin", "nope", "--book", "ina.book"]);
    // Two under way at once have to be told apart.
    today(&["begin", "two"]);
    assert!(bench.refused(&["today", "count", "--book", "ina.book"]).contains("several are under way"));
    today(&["count", "--drill", "two"]);
    today(&["end", "--drill", "two"]);
    today(&["end"]);
    let plan = bench.json(&["plan", "Ina", "--book", "ina.book"]);
    let done = |n: usize| plan["progress"][n]["done"][0]["repetitions"].as_i64();
    assert_eq!([done(0), done(1)], [Some(1), Some(5)]);
    assert!(bench.ok(&["list", "--book", "ina.book"]).contains("1 ball in 1 session"));
}

#[test]
fn what_a_coach_rewrites_of_our_drill_is_what_is_shown() {
    let bench = pair();
    bench.write("tee.md", "1. Tee it **higher**\n2. Hit\n");
    bench.ok(&["plan", "Ina", "change", "tee", "--text", "tee.md", "--book", "bo.book"]);
    send(&bench, "bo", "ina");
    let said = bench.ok(&["plan", "Ina", "--book", "ina.book"]);
    assert!(said.contains("1. Tee it higher\n2. Hit") && !said.contains("one finger higher"), "{said}");
    // It is judged as before.
    assert!(said.contains("lies near the target point"), "{said}");
}

#[test]
fn the_caps_are_the_coachs_to_raise_and_a_change_is_made_as_a_whole_or_not_at_all() {
    let bench = pair();
    let raise = ["plan", "Ina", "change", "--cap-day", "30", "--book"];
    assert!(bench.refused(&[&raise[..], &["ina.book"]].concat()).contains("the coach's to raise"));
    bench.ok(&[&raise[..], &["bo.book"]].concat());
    bench.ok(&["plan", "Ina", "change", "--cap-day", "10", "--book", "ina.book"]);
    let before = bench.json(&["book", "check", "--book", "bo.book"])["digest"].clone();
    for words in [
        &["plan", "Ina", "change", "tee", "--until", "2026-06-01", "--sets", "900"][..],
        &["plan", "Ina", "change", "nope", "--until", "2026-06-01"],
        &["plan", "Ina", "change", "--until", "2020-01-01"],
        &["plan", "Ina", "change", "tee"],
        &["plan", "Ina", "change", "tee", "--place", "0"],
        &["plan", "Ina", "change", "--sets", "3"],
    ] {
        bench.refused(&[words, &["--book", "bo.book"]].concat());
    }
    assert_eq!(bench.json(&["book", "check", "--book", "bo.book"])["digest"], before);
}

#[test]
fn the_plan_is_drawn_for_a_student_without_the_app() {
    let bench = pair();
    for file in ["p.html", "p.png", "p.pdf", "p.svg", "p.txt", "p.json"] {
        bench.ok(&["plan", "Ina", "--out", file, "--book", "bo.book"]);
        assert!(std::fs::metadata(bench.path(file)).unwrap().len() > 500, "{file}");
    }
    let svg = std::fs::read_to_string(bench.path("p.svg")).unwrap();
    assert!(svg.contains("Tick each time") && svg.contains("Tee-height ladder"));
    bench.ok(&["today", "--out", "t.pdf", "--book", "ina.book"]);
}
