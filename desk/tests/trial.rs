//! A trial and a student's feel, through the program.

use insta::{assert_json_snapshot, assert_snapshot};

use crate::bench::Bench;

fn begun(bench: &Bench) {
    bench.ok(&["book", "new", "--role", "student", "--name", "Ina Holt"]);
    bench.ok(&["student", "add", "Ina Holt", "--hand", "left"]);
    let arms = ["--arms", "normal", "gripped down 1 in", "--kind", "gripped-down", "--measure", "carry"];
    bench.ok(&[&["trial", "Ina", "begin", "--blocks", "3", "--balls", "4"][..], &arms].concat());
}

/// Hits every ball; whole metres and millimetres that depend on block and arm alone, so that the
/// result is the same in whatever order they were drawn.
fn hit_all(bench: &Bench) {
    let mut hit = [[0; 2]; 3];
    for _ in 0..12 {
        let next = bench.json(&["trial", "Ina", "next"])["next"].clone();
        let (block, arm) = (next["block"].as_u64().unwrap() as usize, usize::from(next["arm"] == "second"));
        let nth = hit[block - 1][arm];
        hit[block - 1][arm] += 1;
        let carry = format!("{}m", 200 + 4 * block + 2 * nth - 9 * arm);
        // Whole millimetres from the target point: five times k.
        let k = 1 + nth + arm;
        let strike = format!("toe{},high{}", 3 * k, 6 + 4 * k);
        bench.ok(&["trial", "Ina", "log", "--carry", &carry, "--strike", &strike, "--guess", "toe2,high8"]);
    }
}

/// Without the record's identity.
fn steady(mut value: serde_json::Value) -> serde_json::Value {
    for path in ["/record", "/standing/record"] {
        if let Some(id) = value.pointer_mut(path) {
            *id = "[record]".into();
        }
    }
    value
}

#[test]
fn json_and_text_of_a_trial() {
    let bench = Bench::new();
    begun(&bench);
    let early = bench.json(&["trial", "Ina", "result"]);
    assert_eq!((&early["withheld"], &early["measures"]), (&true.into(), &serde_json::json!([])));
    assert!(early["foresight"]["seen_with_80_percent"].as_f64().unwrap() > 10.0);
    hit_all(&bench);
    assert_json_snapshot!(steady(bench.json(&["trial", "Ina", "result"])));
    assert_snapshot!(bench.ok(&["trial", "Ina", "result"]));
    assert_snapshot!(bench.ok(&["trial", "Ina", "next"]));
}

#[test]
fn json_and_text_of_feel() {
    let bench = Bench::new();
    begun(&bench);
    hit_all(&bench);
    let mut log = String::from("session,day,powder,toe_mm,high_mm,guess_toe_mm,guess_high_mm\n");
    for n in 0..10 {
        log +=
            &format!("s,2026-05-0{},yes,{},{},{},{}\n", 1 + n % 3, 3 * n - 12, 2 * n % 7, 2 * n - 8, n % 5);
    }
    bench.write("log.csv", log);
    bench.ok(&["record", "shots", "log.csv"]);
    let feel = bench.json(&["feel", "Ina"]);
    assert_eq!(feel["pairs"], 22);
    // Sums depend on the order in which the trial was drawn, in their last digits.
    let keys: Vec<&String> = feel.as_object().unwrap().keys().collect();
    assert_json_snapshot!((keys, &feel["felt_sigma_mm"]["own"], &feel["trend"]));
    assert_snapshot!(bench.ok(&["feel", "Ina"]));
}

#[test]
fn what_a_trial_could_see_is_told_without_beginning_one() {
    let bench = Bench::new();
    bench.ok(&["book", "new", "--role", "student", "--name", "Ina"]);
    bench.ok(&["student", "add", "Ina", "--hand", "right"]);
    let begin = ["trial", "Ina", "begin", "--arms", "a", "b", "--dry-run"];
    let said = bench.ok(&begin);
    assert!(
        said.contains("With 6 blocks of 4") && said.contains("assumed") && said.contains("! Full swings")
    );
    assert!(bench.refused(&["trial", "Ina", "next"]).contains("begin one"));
    let small = bench.refused(&[&begin[..], &["--blocks", "3", "--balls", "2"]].concat());
    assert!(small.contains("8 blocks of 2"), "{small}");
    assert!(bench.refused(&["trial", "Ina", "begin", "--arms", "Same", "same"]).contains("differ"));
}

#[test]
fn one_trial_at_a_time_and_a_bad_ball_changes_nothing() {
    let bench = Bench::new();
    begun(&bench);
    let again = ["trial", "Ina", "begin", "--arms", "a", "b"];
    assert!(bench.refused(&again).contains("one trial at a time"));
    bench.refused(&["trial", "Ina", "log", "--ball", "13", "--carry", "200m"]);
    bench.refused(&["trial", "Ina", "log", "--strike", "toe90,high0"]);
    assert_eq!(bench.json(&["trial", "Ina", "next"])["hit"], 0);
    bench.ok(&["trial", "Ina", "leave-out"]);
    assert_eq!(bench.json(&["trial", "Ina", "next"])["next"]["ball"], 2);
    let ended = bench.json(&["trial", "Ina", "end"]);
    assert_eq!((&ended["standing"]["ended"], &ended["better"]), (&"2026-05-04".into(), &().into()));
    bench.ok(&again);
}
