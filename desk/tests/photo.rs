//! `photo` and `record photo`, on one of the rendered pictures whose truth is known.

use std::path::PathBuf;

use crate::bench::Bench;

/// A left-hander's face with two marks.
const TWO: &str = "000108";

/// A rendered picture, and its truth.
fn picture(name: &str) -> (String, serde_json::Value) {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../tests/photo/pictures");
    let truth = std::fs::read_to_string(folder.join(name).with_extension("json")).unwrap();
    let image = folder.join(name).with_extension("jpg");
    (image.display().to_string(), serde_json::from_str(&truth).unwrap())
}

fn handles(truth: &serde_json::Value) -> String {
    let place = |at: &serde_json::Value| format!("{},{}", at[0], at[1]);
    truth["handles_px"].as_array().unwrap().iter().map(place).collect::<Vec<_>>().join(" ")
}

fn words<'a>(image: &'a str, handles: &'a str) -> Vec<&'a str> {
    vec![image, "--face", "117.5x61", "--hand", "left", "--handles", handles]
}

#[test]
fn marks_of_a_picture_are_listed_and_drawn() {
    let bench = Bench::new();
    let (image, truth) = picture(TWO);
    let handles = handles(&truth);
    let mut said = vec!["photo"];
    said.extend(words(&image, &handles));
    said.extend(["--overlay", "seen.png"]);
    let read = &bench.json(&said)[0];
    assert_eq!(read["quality"]["good"], true, "{read}");
    let marks = read["marks"].as_array().unwrap();
    assert_eq!(marks.len(), 2, "{read}");
    let number = |value: &serde_json::Value| value.as_f64().unwrap();
    // From heel to toe; the truth has the toe's mark first.
    for (mark, true_mark) in marks.iter().zip(truth["marks"].as_array().unwrap().iter().rev()) {
        let (dx, dy) = (
            number(&mark["x_mm"]) - number(&true_mark["x_mm"]),
            number(&mark["y_mm"]) - number(&true_mark["y_mm"]),
        );
        assert!(dx * dx + dy * dy < 1.5 * 1.5, "{mark} for {true_mark}");
    }
    assert!(std::fs::read(bench.path("seen.png")).unwrap().starts_with(b"\x89PNG"));
    assert!(bench.ok(&said).contains("2 strike marks, from heel to toe"));
}

#[test]
fn a_picture_is_kept_and_the_next_one_tells_new_marks_from_old() {
    let bench = Bench::new();
    bench.pair();
    let (image, truth) = picture(TWO);
    let handles = handles(&truth);
    let mut said = vec!["record", "photo"];
    said.extend(words(&image, &handles));
    said.extend(["--book", "ina.book"]);
    let mut one = said.clone();
    one.extend(["--leave-out", "2"]);
    let first = bench.json(&one);
    assert_eq!((first["new_marks"].as_u64(), first["shots"].as_u64()), (Some(1), Some(1)));
    let by = |of: &serde_json::Value| -> Vec<String> {
        of["marks"].as_array().unwrap().iter().map(|mark| mark["by"].as_str().unwrap().to_owned()).collect()
    };
    assert_eq!(by(&first), ["picture", "no_strike"]);
    // What is no strike stays none on the next picture; a mark that is set there by hand is a new one.
    let second = bench.json(&said);
    assert_eq!((second["new_marks"].as_u64(), second["shots"].as_u64()), (Some(0), Some(0)));
    assert_eq!(by(&second), ["picture", "no_strike"]);
    let place = &second["marks"][1]["mark"];
    let place = format!("{},{}", place["toe_mm"], place["high_mm"]);
    let mut strike = said.clone();
    strike.extend(["--leave-out", "2", "--set", &place]);
    assert_eq!(bench.json(&strike)["new_marks"], 1);
    let again = bench.json(&said);
    assert_eq!((again["new_marks"].as_u64(), again["shots"].as_u64()), (Some(0), Some(0)));
    let mut by_hand = said.clone();
    by_hand.extend(["--set", "-40,2.5"]);
    let fourth = bench.json(&by_hand);
    assert_eq!(fourth["marks"][0]["by"], "hand");
    assert_eq!(fourth["new_marks"], 1);
    // A mark that is moved counts as set by hand and lies where it was put; the others stay.
    let mut moved = said.clone();
    moved.extend(["--fresh", "--move", "1=-33,4.5"]);
    let fifth = bench.json(&moved);
    let by: Vec<_> = fifth["marks"].as_array().unwrap().iter().map(|mark| mark["by"].clone()).collect();
    assert_eq!(by, ["hand", "picture"]);
    assert_eq!(fifth["marks"][0]["mark"]["toe_mm"], -33.0, "{fifth}");
    moved.extend(["--leave-out", "1"]);
    assert!(bench.refused(&moved).contains("moved and left out"));
    // The coach's book takes it in, and agrees.
    bench.ok(&["send", "Ina", "--to", "Bo Berg", "--out", "week.chalk", "--book", "ina.book"]);
    bench.ok(&["receive", "week.chalk", "--book", "bo.book"]);
    let digest = |book| bench.json(&["book", "check", "--book", book])["strands"][0]["digest"].clone();
    assert_eq!(digest("ina.book"), digest("bo.book"));
    let mut none = said.clone();
    none.extend(["--leave-out", "7"]);
    assert!(bench.refused(&none).contains("no mark 7"));
}

#[test]
fn marks_that_an_earlier_picture_has_are_not_new() {
    let bench = Bench::new();
    // One mark toward the toe; in the other picture one toward the heel.
    let ((now, truth), (before, before_truth)) = (picture("000105"), picture("000110"));
    let (handles, before_handles) = (handles(&truth), self::handles(&before_truth));
    let plain = ["photo", &now, "--face", "119x58", "--handles", &handles];
    assert!(bench.json(&plain)[0]["marks"][0].get("new").is_none());
    let since = |path, handles| [&plain[..], &["--since", path, "--since-handles", handles]].concat();
    let same = since(&now, &handles);
    assert_eq!(bench.json(&same)[0]["marks"][0]["new"], false);
    assert!(bench.ok(&same).contains("as before: "));
    let other = since(&before, &before_handles);
    assert_eq!(bench.json(&other)[0]["marks"][0]["new"], true);
    assert!(bench.ok(&other).contains("new: "));
    assert!(bench.refused(&since("gone.jpg", &handles)).contains("gone.jpg"));
}

#[test]
fn what_is_no_picture_is_told_by_name_and_the_others_are_read() {
    let bench = Bench::new();
    bench.write("face.jpg", "not a picture");
    bench.write("face.heic", b"\0\0\0\x18ftypheic\0\0\0\0");
    assert!(bench.refused(&["photo", "face.jpg"]).contains("face.jpg: this is no picture"));
    assert!(bench.refused(&["photo", "face.heic", "--json"]).contains("HEIC"));
    assert!(bench.refused(&["photo", "gone.png"]).contains("gone.png"));
    let both = bench.run(&["photo", "face.jpg", "face.heic", "--json"]);
    assert_eq!(both.status.code(), Some(1));
    let said: serde_json::Value = serde_json::from_slice(&both.stdout).unwrap();
    assert_eq!(said[0]["error"]["kind"], "photo");
    assert_eq!(said[1]["error"]["kind"], "photo");
}
