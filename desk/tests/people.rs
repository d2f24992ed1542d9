//! Cards, meeting and devices, as people do it.

use std::io::Write;
use std::process::{Command, Stdio};

use crate::bench::Bench;

fn new(bench: &Bench, who: &str, role: &str, book: &str) -> serde_json::Value {
    bench.json(&["book", "new", "--role", role, "--name", who, "--book", book])
}

#[test]
fn two_people_meet_by_file_by_text_and_by_the_input_and_see_the_same_phrase() {
    let bench = Bench::new();
    new(&bench, "Ina Holt", "student", "ina.book");
    new(&bench, "Bo Berg", "coach", "bo.book");
    let hers = bench.json(&["card", "--out", "ina.txt", "--book", "ina.book"]);
    let his = bench.json(&["card", "--book", "bo.book"]);
    let met = bench.json(&["meet", "ina.txt", "--book", "bo.book"]);
    assert_eq!((&met["name"], &met["check_phrase"]), (&"Ina Holt".into(), &hers["check_phrase"]));
    let met = bench.json(&["meet", his["card"].as_str().unwrap(), "--book", "ina.book"]);
    assert_eq!(met["check_phrase"], his["check_phrase"]);
    let mut child = bench
        .command(&["meet", "-", "--json", "--book", "ina.book"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    child.stdin.take().unwrap().write_all(his["card"].as_str().unwrap().to_lowercase().as_bytes()).unwrap();
    let out = child.wait_with_output().unwrap();
    assert_eq!(serde_json::from_slice::<serde_json::Value>(&out.stdout).unwrap()["known_before"], true);
    let said = bench.ok(&["people", "--book", "bo.book"]);
    assert!(
        said.contains("Ina Holt (student), met") && said.contains("Bo Berg (coach), this book's owner"),
        "{said}"
    );
}

#[test]
fn a_card_is_drawn_and_a_wrong_one_is_refused_with_what_to_do() {
    let bench = Bench::new();
    new(&bench, "Ina Holt", "student", "ina.book");
    for ending in ["svg", "png", "pdf"] {
        let file = format!("card.{ending}");
        bench.ok(&["card", "--out", &file, "--book", "ina.book"]);
        assert!(std::fs::metadata(bench.path(&file)).unwrap().len() > 1_000, "{ending}");
    }
    new(&bench, "Bo Berg", "coach", "bo.book");
    assert_eq!(bench.json(&["meet", "card.png", "--book", "bo.book"])["name"], "Ina Holt");
    assert!(bench.refused(&["card", "--out", "card.doc", "--book", "ina.book"]).contains(".svg"));
    assert!(bench.refused(&["meet", "nobody.txt", "--book", "ina.book"]).contains("CHALK:"));
    let card = bench.json(&["card", "--book", "ina.book"])["card"].as_str().unwrap().to_owned();
    let typed = format!("{}{}", &card[..200], &card[201..]);
    assert!(bench.refused(&["meet", &typed, "--book", "ina.book"]).contains("damaged"));
    bench.write("picture.png", [0x89, b'P', 0, 0xff]);
    bench.refused(&["meet", "picture.png", "--book", "ina.book"]);
}

#[test]
fn keys_lie_beside_the_book_for_its_owner_only_and_are_never_in_it() {
    let bench = Bench::new();
    let made = new(&bench, "Ina Holt", "student", "ina.book");
    let path = bench.path("ina.book.key");
    let text = std::fs::read_to_string(&path).unwrap();
    assert!(text.lines().any(|line| line.starts_with("AGE-SECRET-KEY-1")));
    let book = std::fs::read(bench.path("ina.book")).unwrap();
    for secret in [made["phrase"].as_str().unwrap(), "AGE-SECRET"] {
        assert!(!book.windows(secret.len()).any(|w| w == secret.as_bytes()));
    }
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        assert_eq!(std::fs::metadata(&path).unwrap().permissions().mode() & 0o777, 0o600);
        std::fs::set_permissions(&path, std::fs::Permissions::from_mode(0o644)).unwrap();
        assert!(bench.refused(&["card", "--book", "ina.book"]).contains("chmod 600"));
        std::fs::set_permissions(&path, std::fs::Permissions::from_mode(0o600)).unwrap();
    }
    // Elsewhere, if one says so; and a file that is there is never written over.
    std::fs::rename(&path, bench.path("apart.key")).unwrap();
    assert!(bench.refused(&["card", "--book", "ina.book"]).contains("--keys"));
    bench.ok(&["card", "--keys", "apart.key", "--book", "ina.book"]);
    let words =
        ["book", "new", "--role", "coach", "--name", "Bo", "--book", "bo.book", "--keys", "apart.key"];
    assert!(bench.refused(&words).contains("already"));
    assert!(!bench.path("bo.book").exists());
    assert_eq!(std::fs::read_to_string(bench.path("apart.key")).unwrap(), text);
}

#[test]
fn a_second_device_is_added_joins_and_reports_the_first_lost() {
    let bench = Bench::new();
    let first = new(&bench, "Ina Holt", "student", "phone.book");
    new(&bench, "new", "student", "tablet.book");
    new(&bench, "Bo Berg", "coach", "bo.book");
    bench.ok(&["card", "--out", "tablet.txt", "--book", "tablet.book"]);
    assert!(bench.refused(&["meet", "tablet.txt", "--join", "--book", "phone.book"]).contains("not added"));
    bench.ok(&["meet", "tablet.txt", "--add-device", "--book", "phone.book"]);
    bench.ok(&["card", "--out", "both.txt", "--book", "phone.book"]);
    let joined = bench.json(&["meet", "both.txt", "--join", "--book", "tablet.book"]);
    assert_eq!(joined["joined"], "Ina Holt");
    assert_eq!(bench.json(&["meet", "both.txt", "--book", "bo.book"])["devices"], 2);
    let phone = first["device"].as_str().unwrap();
    let people = bench.json(&["people", "--lost", phone, "--book", "tablet.book"]);
    assert_eq!(
        people["people"][0]["devices"].as_array().unwrap().iter().filter(|d| d["stands"] == true).count(),
        1
    );
    bench.ok(&["card", "--out", "left.txt", "--book", "tablet.book"]);
    assert_eq!(bench.json(&["meet", "left.txt", "--book", "bo.book"])["devices"], 1);
    assert!(bench.refused(&["people", "--lost", phone, "--book", "tablet.book"]).contains("no device"));
}

#[test]
fn twelve_words_make_a_new_phone_the_same_person_and_wrong_ones_make_nothing() {
    let bench = Bench::new();
    let first = new(&bench, "Ina Holt", "student", "old.book");
    let words = first["phrase"].as_str().unwrap();
    let again = ["book", "new", "--role", "student", "--name", "Ina Holt", "--book", "new.book", "--words"];
    let wrong = words.replace(' ', "  ").to_uppercase() + " zebra";
    assert!(bench.refused(&[&again[..], &[&wrong]].concat()).contains("13 words"));
    assert!(!bench.path("new.book").exists());
    let made = bench.json(&[&again[..], &[words]].concat());
    assert_eq!((&made["person"], &made["phrase"]), (&first["person"], &serde_json::Value::Null));
    // Typed where no history of commands keeps them.
    let mut child = Command::new(crate::bench::PROGRAM)
        .args(["people", "--only-this-device", "-", "--book", "new.book"])
        .current_dir(bench.dir.path())
        .stdin(Stdio::piped())
        .stdout(Stdio::null())
        .spawn()
        .unwrap();
    child.stdin.take().unwrap().write_all(words.as_bytes()).unwrap();
    assert!(child.wait().unwrap().success());
}

#[test]
fn a_book_from_before_there_were_keys_gets_them_with_its_first_card() {
    let bench = Bench::new();
    let golden = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../tests/golden/v2/student.book");
    std::fs::copy(golden, bench.path("old.book")).unwrap();
    let before = bench.json(&["book", "check", "--book", "old.book"]);
    let card = bench.json(&["card", "--book", "old.book"]);
    assert_eq!(card["phrase"].as_str().unwrap().split(' ').count(), 12);
    assert_eq!(bench.json(&["card", "--book", "old.book"])["phrase"], serde_json::Value::Null);
    assert_eq!(bench.json(&["book", "check", "--book", "old.book"]), before);
}
