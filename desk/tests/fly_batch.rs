//! `fly --batch`: a file of shots, one line of JSON a row.

use std::fmt::Write as _;
use std::io::{BufRead, BufReader};
use std::process::Stdio;

use crate::bench::{Bench, Dice, lines};

#[test]
fn every_row_of_a_file_equals_the_shot_by_itself() {
    let bench = Bench::new();
    let mut dice = Dice::new(11);
    let mut file = "toe_mm,high_mm,head_speed_mph,loft_deg,face_deg,path_deg,attack_deg,powder\n".to_owned();
    let mut swings = Vec::new();
    for n in 0..13 {
        let mut cell = |low: i64, span: u64| format!("{}.{}", low + dice.roll(span) as i64, dice.roll(10));
        let [toe, high] = [cell(0, 20), cell(0, 12)];
        let [speed, loft, face, path, attack] =
            [cell(80, 35), cell(9, 8), cell(-3, 6), cell(-5, 9), cell(-3, 6)];
        let powder = if n % 3 == 0 { "yes" } else { "" };
        writeln!(file, "{toe},-{high},{speed},{loft},{face},{path},{attack},{powder}").unwrap();
        swings.push((toe, high, speed, loft, face, path, attack, n % 3 == 0));
    }
    bench.write("many.csv", &file);
    let (found, code, said) = lines(&bench, &["fly", "--batch", "many.csv", "--hand", "left"]);
    assert_eq!((found.len(), code), (13, Some(0)), "{said}");
    for (n, (line, swing)) in found.iter().zip(&swings).enumerate() {
        let (toe, high, speed, loft, face, path, attack, powder) = swing;
        let (strike, speed) = (format!("toe{toe},low{high}"), format!("{speed}mph"));
        let mut words = vec![
            "fly",
            "--strike",
            &strike,
            "--head-speed",
            &speed,
            "--loft",
            loft,
            "--face",
            face,
            "--path",
            path,
            "--attack",
            attack,
            "--hand",
            "left",
        ];
        words.extend(powder.then_some("--powder"));
        let alone = bench.json(&words);
        assert_eq!(line["line"], n + 2);
        for (key, value) in line.as_object().unwrap().iter().filter(|(key, _)| *key != "line") {
            assert_eq!(*value, alone[key], "{key} of row {n}");
        }
    }
}

#[test]
fn launches_come_as_a_file_too() {
    let bench = Bench::new();
    bench.write(
        "launches.csv",
        "launch_deg;ball_speed_mph;start_deg;backspin_rpm;sidespin_rpm\n10,3;147;-1;2487;0\n12;140;2;2600;300\n",
    );
    let (found, code, said) = lines(&bench, &["fly", "--batch", "launches.csv"]);
    assert_eq!((found.len(), code), (2, Some(0)), "{said}");
    let alone = bench.json(&[
        "fly",
        "--ball-speed",
        "147mph",
        "--launch",
        "10.3",
        "--start",
        "-1",
        "--backspin",
        "2487rpm",
        "--sidespin",
        "0",
    ]);
    assert_eq!(found[0]["carry_m"], alone["carry_m"]);
    assert_eq!(found[0]["lateral_m"], alone["lateral_m"]);
}

#[test]
fn a_bad_row_has_a_line_of_its_own_and_the_others_their_results() {
    let bench = Bench::new();
    let head = "head_speed_mps,loft_deg,face_deg,path_deg,attack_deg,toe_mm,high_mm";
    bench.write(
        "some.csv",
        format!("{head}\n45,13,0,0,0,0,0\n-45,13,0,0,0,0,0\n45,13,0,0,0,70,0\n45,80,0,0,0,0,0\nNaN,13,0,0,0,0,0\n45,,0,0,0,0,0\n\n45,13,0,0,0,0,0\n45,13,0,0,0,0,34\n"),
    );
    let (found, code, said) = lines(&bench, &["fly", "--batch", "some.csv"]);
    assert_eq!(code, Some(1));
    assert!(said.contains("5 of 8 rows"), "{said}");
    let told: Vec<u64> = found.iter().map(|line| line["line"].as_u64().unwrap()).collect();
    assert_eq!(told, [2, 3, 4, 5, 6, 7, 9, 10]);
    assert_eq!(found[0]["carry_m"], found[6]["carry_m"]);
    assert!(found[0]["carry_m"].as_f64().unwrap() > 200.0);
    for (line, words) in [
        (1, "5 to 75 mps"),
        (2, "Equipment Rules"),
        (3, "-5 to 45 deg"),
        (4, "plain number"),
        (5, "no value for loft"),
    ] {
        let why = found[line]["error"].as_str().unwrap();
        assert!(why.contains(words), "{why}");
    }
    // On the largest head that is allowed, but not on this club's face.
    assert!(found[7]["warning"].as_str().unwrap().contains("118 x 58 mm") && found[7]["error"].is_null());
}

#[test]
fn a_large_file_streams_in_order_and_never_stands_in_memory() {
    const ROWS: usize = 30_000;
    let bench = Bench::new();
    let mut file = "ball_speed_mps,launch_deg,start_deg,backspin_rpm,sidespin_rpm\n".to_owned();
    (0..ROWS).for_each(|n| writeln!(file, "66,{}.{:04},0,2500,0", 9 + n % 5, n % 9973).unwrap());
    bench.write("large.csv", &file);
    let mut child = bench.command(&["fly", "--batch", "large.csv"]).stdout(Stdio::piped()).spawn().unwrap();
    let mut held = String::new();
    let (mut rows, mut bytes) = (0, 0);
    for line in BufReader::new(child.stdout.take().unwrap()).lines().map(Result::unwrap) {
        rows += 1;
        bytes += line.len();
        let begins = format!("{{\"line\":{},", rows + 1);
        assert!(line.starts_with(&begins), "{line}");
        // The rest doesn't fit a pipe, so the program still runs here.
        if rows == ROWS - 1000 {
            let status = std::fs::read_to_string(format!("/proc/{}/status", child.id())).unwrap_or_default();
            held = status.lines().find(|l| l.starts_with("RssAnon")).unwrap_or_default().to_owned();
        }
    }
    assert!(child.wait().unwrap().success() && rows == ROWS);
    // Only where the system tells: memory of its own, without the pages of the program itself.
    // It takes 3.5 MB; rows or answers kept would be over 15 MB more.
    if let Some(kb) = held.split_whitespace().nth(1) {
        assert!(bytes > 15_000_000 && kb.parse::<usize>().unwrap() < 8_000, "{held}, {bytes} bytes");
    }
}

#[test]
fn a_reader_who_has_seen_enough_ends_the_command_quietly() {
    let bench = Bench::new();
    let head = "ball_speed_mps,launch_deg,start_deg,backspin_rpm,sidespin_rpm\n";
    bench.write("long.csv", head.to_owned() + &"66,10,0,2500,0\n".repeat(4000));
    let mut child = bench
        .command(&["fly", "--batch", "long.csv"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let mut line = String::new();
    BufReader::new(child.stdout.take().unwrap()).read_line(&mut line).unwrap();
    let out = child.wait_with_output().unwrap();
    assert!(line.starts_with("{\"line\":2,") && out.status.success() && out.stderr.is_empty());
}

#[test]
fn a_file_without_the_columns_it_needs_is_refused_with_their_names_and_nothing_is_printed() {
    let bench = Bench::new();
    for (header, lacks) in [
        ("head_speed_mps,loft_deg,face_deg,path_deg,attack_deg", "toe_mm or toe_in"),
        ("ball_speed_mps,launch_deg,backspin_rpm", "start_deg"),
        ("head_speed,loft_deg", "head_speed_mps or head_speed_mph"),
    ] {
        bench.write("lacks.csv", format!("{header}\n1,1,1,1,1\n"));
        let out = bench.run(&["fly", "--batch", "lacks.csv"]);
        let said = String::from_utf8(out.stderr).unwrap();
        assert!(out.status.code() == Some(1) && out.stdout.is_empty(), "{said}");
        assert!(said.contains(lacks), "{said}");
    }
}
