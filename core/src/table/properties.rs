//! What holds for every file: bytes of any kind never panic, bounds and rows
//! agree with the `csv` crate's, and a written table reads back; and the demo's
//! logs, as files that people would keep.

use proptest::prelude::*;

use super::*;
use crate::model::{CurveByEye, MarkRead, Name, Place, Unit};

/// Text that comes near to a log: its letters, separators, quotes and ends.
fn near_csv() -> impl Strategy<Value = String> {
    proptest::collection::vec(
        prop_oneof![
            4 => Just(","), 2 => Just("\""), 2 => Just("\n"), 1 => Just("\r"), 1 => Just("\r\n"),
            1 => Just(";"), 1 => Just("\t"), 2 => Just("x"), 1 => Just("é"), 1 => Just(" "), 2 => Just("1.5"),
        ],
        0..60,
    )
    .prop_map(|parts| parts.concat())
}

/// A row as somebody would write it: figures in the file's own units.
#[derive(Debug, Clone)]
struct Written {
    session: String,
    mark: Option<(f64, f64)>,
    head_mph: Option<f64>,
    carry_yd: Option<f64>,
    curve: Option<CurveByEye>,
    held: Option<bool>,
}

fn tenths(low: i32, high: i32) -> impl Strategy<Value = f64> {
    (low * 10..=high * 10).prop_map(|tenth| f64::from(tenth) / 10.0)
}

fn written() -> impl Strategy<Value = Written> {
    let curve = (0..CurveByEye::ALL.len()).prop_map(|at| CurveByEye::ALL[at].1);
    (
        "[a-zA-Zéß,;\"'<>&=1-9]{1,20}",
        proptest::option::of((tenths(-63, 63), tenths(-36, 36))),
        proptest::option::of(tenths(12, 167)),
        proptest::option::of(tenths(0, 492)),
        proptest::option::of(curve),
        proptest::option::of(any::<bool>()),
    )
        .prop_map(|(session, mark, head_mph, carry_yd, curve, held)| Written {
            session,
            mark,
            head_mph,
            carry_yd,
            curve,
            held,
        })
}

/// The table as CSV with its columns in the given order.
fn as_csv(rows: &[Written], separator: u8, order: &[usize], ending: &str) -> String {
    let number = |value: Option<f64>| {
        let text = value.map(|v| v.to_string()).unwrap_or_default();
        if separator == b';' { text.replace('.', ",") } else { text }
    };
    let line = |cells: [String; 7]| {
        let cells: Vec<String> =
            order.iter().map(|at| format!("\"{}\"", cells[*at].replace('"', "\"\""))).collect();
        cells.join(&char::from(separator).to_string()) + ending
    };
    let header = ["session", "toe_mm", "high_mm", "Head Speed mph", "carry_yd", "curve", "finish-held"];
    let mut text = line(header.map(str::to_owned));
    for row in rows {
        text += &line([
            row.session.clone(),
            number(row.mark.map(|m| m.0)),
            number(row.mark.map(|m| m.1)),
            number(row.head_mph),
            number(row.carry_yd),
            row.curve.map(|c| c.word().to_owned()).unwrap_or_default(),
            row.held.map(|h| h.to_string()).unwrap_or_default(),
        ]);
    }
    text
}

proptest! {
    #[test]
    fn bytes_of_any_kind_never_panic(
        bytes in proptest::collection::vec(any::<u8>(), 0..400), skip: bool, allow: bool,
    ) {
        let options = Options { hand: None, skip_bad_rows: skip, allow_unknown_columns: allow };
        let _ = read(&bytes, &options);
        let headed = [b"toe_mm,high_mm,curve,day,sigma_mm\n".as_slice(), &bytes].concat();
        if let Err(error) = read(&headed, &options) {
            prop_assert!(!error.to_string().is_empty());
        }
    }

    #[test]
    fn the_walk_over_a_file_finds_the_rows_that_the_csv_crate_finds(text in near_csv()) {
        if let Ok(shape) = shape::shape(&text) {
            let mut reader = csv::ReaderBuilder::new()
                .has_headers(false).flexible(true).delimiter(shape.separator)
                .from_reader(text.as_bytes());
            let records: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
            prop_assert_eq!(records.len(), shape.lines.len(), "{:?}", text);
            prop_assert!(shape.lines.is_sorted());
        }
    }

    #[test]
    fn a_bad_row_never_lets_another_one_through(text in near_csv()) {
        let file = format!("session,carry_m\n{text}\n");
        let all = read(file.as_bytes(), &Options::default());
        let skipping = read(file.as_bytes(), &Options { skip_bad_rows: true, ..Options::default() });
        match (all, skipping) {
            (Ok(all), Ok(skipping)) => {
                prop_assert!(all.problems.is_empty());
                prop_assert_eq!(all, skipping);
            }
            (Err(TableError::Rows(problems)), Ok(skipping)) => {
                prop_assert_eq!(problems, skipping.problems);
                prop_assert!(!skipping.rows.is_empty());
            }
            (Err(all), Err(skipping)) => prop_assert_eq!(all, skipping),
            (Ok(_), Err(error)) => prop_assert!(false, "skipping refused a good file: {error}"),
            (Err(error), Ok(_)) => prop_assert!(false, "skipping took a file with {error}"),
        }
    }

    #[test]
    fn a_written_table_reads_back(
        rows in proptest::collection::vec(written(), 1..8),
        separator in prop_oneof![Just(b','), Just(b';'), Just(b'\t')],
        order in Just(vec![0, 1, 2, 3, 4, 5, 6]).prop_shuffle(),
        ending in prop_oneof![Just("\n"), Just("\r\n")],
        bom: bool,
    ) {
        let text = as_csv(&rows, separator, &order, ending);
        let bytes = if bom { [b"\xef\xbb\xbf", text.as_bytes()].concat() } else { text.into_bytes() };
        let table = read(&bytes, &Options::default()).unwrap();
        prop_assert_eq!(table.rows.len(), rows.len());
        for (at, (read, wrote)) in table.rows.iter().zip(&rows).enumerate() {
            prop_assert_eq!(read.line, at as u64 + 2);
            prop_assert_eq!(read.session.as_ref().map(Name::as_str), Some(wrote.session.as_str()));
            prop_assert_eq!(read.mark.map(|m| (m.toe_mm.mm(), m.high_mm.mm())), wrote.mark);
            prop_assert!(read.mark.is_none_or(|m| m.read == MarkRead::Tap));
            let head = read.readings.head_speed.map(|r| r.value.mps());
            prop_assert_eq!(head, wrote.head_mph.map(|v| Unit::Mph.to_inner(v)));
            let carry = read.readings.carry.map(|r| r.value.m());
            prop_assert_eq!(carry, wrote.carry_yd.map(|v| Unit::Yd.to_inner(v)));
            prop_assert_eq!(read.curve_by_eye, wrote.curve);
            prop_assert_eq!(read.finish_held, wrote.held);
        }
    }
}

#[test]
fn every_accepted_name_is_known_and_no_two_fields_share_one() {
    for field in Field::all() {
        let mut seen = Vec::new();
        for name in field.accepted() {
            let needed: Vec<String> = all_needed(field).iter().map(|f| f.accepted().remove(0)).collect();
            let names = [vec![name], needed].concat();
            let text = format!("{}\n{}\n", names.join(","), vec!["x"; names.len()].join(","));
            let log = Log::open(text.as_bytes(), &Options::default()).unwrap();
            let first = log.columns().iter().next().unwrap().clone();
            assert_eq!(first.field, Some(field), "{names:?}");
            seen.push(first.unit);
        }
        assert!(seen.iter().collect::<Vec<_>>().windows(2).all(|two| two[0] != two[1]));
    }
}

fn all_needed(field: Field) -> Vec<Field> {
    let mut needed: Vec<Field> = Vec::new();
    let mut open = field.needs();
    while let Some(next) = open.pop() {
        if next != field && !needed.contains(&next) {
            open.extend(next.needs());
            needed.push(next);
        }
    }
    needed
}

#[test]
fn the_demos_logs_read_without_a_problem() {
    let demo = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../desk/demo");
    for (folder, hand, logs) in [("ben-harlow", Hand::Right, 12), ("ida-kranz", Hand::Left, 11)] {
        let files: Vec<_> =
            std::fs::read_dir(demo.join(folder)).unwrap().map(|f| f.unwrap().path()).collect();
        assert_eq!(files.len(), logs);
        for file in files {
            let options = Options { hand: Some(hand), ..Options::default() };
            let table =
                read(&std::fs::read(&file).unwrap(), &options).unwrap_or_else(|e| panic!("{file:?}: {e}"));
            assert!(table.rows.len() >= 10, "{file:?}");
            let on_course = |r: &Row| r.place == Some(Place::Course);
            assert!(table.rows.iter().all(|r| r.powder == Some(!on_course(r)) && r.session.is_some()));
            assert!(
                table
                    .rows
                    .iter()
                    .filter_map(|r| r.mark.map(|m| (r, m.read)))
                    .all(|(r, read)| (read == MarkRead::Felt) == on_course(r))
            );
        }
    }
}
