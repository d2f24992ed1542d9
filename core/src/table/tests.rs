//! What a log may look like, and how a bad one is explained.

use super::*;
use crate::model::{
    Ball, CurveByEye, MarkRead, Place, Reading, RecordId, Sigma, StartByEye, StrikeMark, Unit,
};

const RIGHT: Options =
    Options { hand: Some(Hand::Right), skip_bad_rows: false, allow_unknown_columns: false };
const SKIP: Options = Options { skip_bad_rows: true, ..RIGHT };
const ALLOW: Options = Options { allow_unknown_columns: true, ..RIGHT };

fn rows(text: &str) -> Vec<Row> {
    read(text.as_bytes(), &RIGHT).unwrap().rows
}

fn said(text: impl AsRef<[u8]>) -> String {
    read(text.as_ref(), &RIGHT).unwrap_err().to_string()
}

#[test]
fn a_full_row_reads_into_every_part_of_a_shot() {
    let text = "\u{feff}Session, Date,place,ball,club,powder,toe-mm,High (mm),sigma_mm,read,\
        Head Speed mph,ball speed [m/s],LAUNCH_DEG,start_deg,start,backspin_rpm,side spin_rpm,curve,\
        carry_yd,side_ft,path_deg,face_deg,attack_deg,loft_deg,finish_held,sigma_head_speed_mph,sigma_carry\r\n\
        \"Tue, early\",2026-04-28,lesson,range,Driver,yes,-12.5,3,0.8,photo,100,66,10.5,-2,far-left,2500,-300,Fade,\
        220,30,-1,2,3.5,14,n,0.5,5\r\n";
    let text = text.replace("[m/s]", "mps");
    let row = rows(&text).remove(0);
    assert_eq!((row.line, row.session.as_ref().unwrap().as_str()), (2, "Tue, early"));
    assert_eq!(row.day.unwrap().to_string(), "2026-04-28");
    assert_eq!((row.place, row.ball, row.powder), (Some(Place::Lesson), Some(Ball::Range), Some(true)));
    assert_eq!(row.club.as_ref().unwrap().as_str(), "Driver");
    assert_eq!(row.mark, Some(StrikeMark::new(-12.5, 3.0, Some(0.8), MarkRead::Photo).unwrap()));
    assert!(row.mark_sigma_given && row.mark_read_given);
    assert_eq!(row.start_by_eye, Some(StartByEye::FarLeft));
    assert_eq!(row.curve_by_eye, Some(CurveByEye::Right));
    assert_eq!(row.finish_held, Some(false));
    let read = row.readings.clone();
    let head = read.head_speed.unwrap();
    assert!((head.value.mps() - 44.704).abs() < 1e-12);
    assert!((head.sigma.unwrap().get() - 0.223_52).abs() < 1e-12);
    assert!((read.carry.unwrap().value.m() - 201.168).abs() < 1e-9);
    assert!((read.carry.unwrap().sigma.unwrap().get() - 4.572).abs() < 1e-12);
    assert!((read.side.unwrap().value.m() - 9.144).abs() < 1e-12);
    let plain = [
        (f64::from(read.ball_speed.unwrap().value), 66.0),
        (read.launch.unwrap().value.deg(), 10.5),
        (read.start.unwrap().value.deg(), -2.0),
        (read.backspin.unwrap().value.rpm(), 2500.0),
        (read.sidespin.unwrap().value.rpm(), -300.0),
        (read.path.unwrap().value.deg(), -1.0),
        (read.face_angle.unwrap().value.deg(), 2.0),
        (read.attack.unwrap().value.deg(), 3.5),
        (read.dynamic_loft.unwrap().value.deg(), 14.0),
    ];
    assert!(plain.iter().all(|(got, wrote)| (got - wrote).abs() < 1e-12), "{plain:?}");
    let shot = row.shot(RecordId::from_bytes([1; 16]));
    assert_eq!((shot.mark, shot.readings, shot.finish_held), (row.mark, row.readings, row.finish_held));
}

#[test]
fn separators_and_line_ends_are_told_apart_by_the_header() {
    for text in ["toe_mm,high_mm\n1.5,-2\n", "toe_mm;high_mm\r\n1,5;-2", "toe_mm\thigh_mm\n\n1.5\t-2\n\n"] {
        let mark = rows(text).remove(0).mark.unwrap();
        assert_eq!((mark.toe_mm.mm(), mark.high_mm.mm()), (1.5, -2.0), "{text:?}");
    }
    assert!(said("toe_mm\thigh_mm\n1,5\t-2\n").contains("only where semicolons stand"));
}

#[test]
fn an_inch_on_the_face_is_25_4_millimetres() {
    let mark = rows("high_in,toe_in,sigma_in\n0.5,-1,0.1\n").remove(0).mark.unwrap();
    assert_eq!((mark.toe_mm.mm(), mark.high_mm.mm(), mark.sigma_mm.mm()), (-25.4, 12.7, 2.54));
}

#[test]
fn empty_cells_are_absent_and_absent_columns_are_told() {
    let table = read(b"toe_mm,high_mm,carry_m,finish_held\n,,150,\n3,4,,y\n,,,\n", &RIGHT).unwrap();
    assert_eq!(table.rows.len(), 2, "a row without any value is none");
    assert_eq!((table.rows[0].mark, table.rows[0].finish_held), (None, None));
    assert!(table.rows[1].readings.carry.is_none());
    let mark = table.rows[1].mark.unwrap();
    assert_eq!((mark.read, mark.sigma_mm.mm()), (MarkRead::Tap, MarkRead::Tap.assumed_sigma_mm()));
    assert!(!table.rows[1].mark_sigma_given && !table.rows[1].mark_read_given);
    let absent = table.columns.absent();
    assert!(absent.contains(&Field::MarkSigma) && absent.contains(&Field::Session));
    assert!(!absent.contains(&Field::Toe) && !absent.contains(&Field::Reading(Measured::Carry)));
    let lacks = table.columns.need(&[Field::Toe, Field::Reading(Measured::HeadSpeed)]).unwrap_err();
    assert_eq!(
        lacks.to_string(),
        "the file lacks head_speed_mps or head_speed_mph or head_speed_kph; add this column"
    );
}

#[test]
fn the_trades_words_turn_with_the_hand_and_need_one() {
    let text = b"start,curve\npull,hook\nPush,draw\nstraight,slice\nright,strong_left\n";
    let eye = |hand| {
        let rows = read(text, &Options { hand: Some(hand), ..Options::default() }).unwrap().rows;
        rows.iter()
            .map(|r| (r.start_by_eye.unwrap().code(), r.curve_by_eye.unwrap().code()))
            .collect::<Vec<_>>()
    };
    assert_eq!(eye(Hand::Right), [(-1, -2), (1, -1), (0, 2), (1, -2)]);
    assert_eq!(eye(Hand::Left), [(1, 2), (-1, 1), (0, -2), (1, -2)]);
    let TableError::Rows(problems) = read(text, &Options::default()).unwrap_err() else { panic!() };
    assert_eq!((problems.total, problems.bad_rows), (5, 3));
    assert!(problems.kept[0].to_string().contains("the player's hand"), "{problems}");
}

#[test]
fn an_error_of_its_own_may_come_before_its_reading_or_stand_alone_in_a_row() {
    let read = rows("sigma_launch_deg,launch_deg\n0.5,12\n0.5,\n");
    let launch = read[0].readings.launch.unwrap();
    assert_eq!(launch, Reading { value: launch.value, sigma: Some(Sigma::new(0.5).unwrap()) });
    assert!(read[1].readings.launch.is_none());
}

#[test]
fn errors_of_both_axes_are_taken_as_the_marks_one_error_if_they_are_equal() {
    let head = "toe_mm,high_mm,sigma_toe_mm,sigma_high\n";
    let mark = StrikeMark::new(1.0, 2.0, Some(1.5), MarkRead::Tap).unwrap();
    assert_eq!(rows(&format!("{head}1,2,1.5,1.5\n"))[0].mark, Some(mark));
    assert!(said(format!("{head}1,2,1.5,2\n")).contains("different errors"));
    assert!(said("toe_mm,high_mm,sigma_toe_mm\n1,2,3\n").contains("needs a column sigma_high_mm"));
}

#[test]
fn a_guess_before_the_look_and_a_ball_of_a_trial_stand_beside_the_mark() {
    let row = rows("toe_mm,high_mm,guess_toe_in,guess_high_mm,trial_ball\n-12,4,-0.5,3,16\n").remove(0);
    let guess = row.guess.unwrap();
    assert!((guess.toe_mm.mm() + 12.7).abs() < 1e-9 && (guess.high_mm.mm() - 3.0).abs() < 1e-12);
    assert_eq!((row.mark.unwrap().toe_mm.mm(), row.trial_ball.unwrap().get()), (-12.0, 16));
    let alone = rows("guess_toe_mm,guess_high_mm\n1,2\n,\n3,4\n");
    assert!(alone.len() == 2 && alone.iter().all(|row| row.guess.is_some() && row.mark.is_none()));
    let half = said("guess_toe_mm,guess_high_mm\n1,\n");
    assert!(half.contains("line 2") && half.contains("guess_toe_mm"), "{half}");
    assert!(said("guess_toe_mm\n1\n").contains("guess_high_mm"));
    for bad in ["0", "241", "2.5", "first", "-1", "1e9"] {
        let said = said(format!("trial_ball,carry_m\n{bad},190\n"));
        assert!(said.contains("trial ball") && said.contains("line 2"), "{said}");
    }
}

#[test]
fn a_header_that_is_not_understood_is_explained() {
    let cases = [
        ("toe,high_mm", "column 1 (toe): the unit is missing from the name; call it toe_mm or toe_in"),
        ("sigma,toe_mm,high_mm", "call it sigma_mm or sigma_in"),
        ("toe_cm,high_mm", "cm is not a unit known here; accepted: toe_mm, toe_in"),
        ("carry_mph", "mph is not a unit known here; accepted: carry_m, carry_yd, carry_ft"),
        ("start_rad", "rad is not a unit known here; accepted: start_deg"),
        ("Head Speed (km/h)", "did you mean head_speed_kph?"),
        ("finish_hled", "did you mean finish_held?"),
        ("curve_deg", "deg is not a unit known here; accepted: curve_m, curve_yd, curve_ft"),
        ("weather", "column 1 (weather): unknown column; rename it"),
        ("day,date", "column 2 (date): the same quantity as column 1 (day)"),
        ("carry_m,carry_yd", "the same quantity as column 1 (carry_m)"),
        ("toe_mm,high_mm,sigma_mm,sigma_toe_mm,sigma_high_mm", "the same quantity as column 3 (sigma_mm)"),
        ("carry_m,", "column 2 (): the column has no name"),
        ("toe_mm", "it needs a column high_mm or high_in beside it"),
        ("sigma_carry_m", "it needs a column carry_m or carry_yd or carry_ft"),
    ];
    for (header, expected) in cases {
        let said = said(format!("{header}\n1,1,1\n"));
        assert!(said.starts_with("the header can't be used:\nline 1, ") && said.contains(expected), "{said}");
    }
}

#[test]
fn unknown_columns_are_skipped_only_when_allowed_and_then_named() {
    let text = b"weather,carry_m,\"\",start time\nfine,150,,9:00\n";
    assert!(matches!(read(text, &RIGHT), Err(TableError::Header(p)) if p.total == 3));
    let table = read(text, &ALLOW).unwrap();
    assert_eq!(table.columns.skipped().map(|c| c.number).collect::<Vec<_>>(), [1, 3, 4]);
    assert_eq!(table.columns.of(Field::Reading(Measured::Carry)).unwrap().unit, Some(Unit::M));
    for known in ["toe,high_mm\n1,2\n", "carry_mph\n1\n", "carry_m,carry_yd\n1,1\n"] {
        assert!(matches!(read(known.as_bytes(), &ALLOW), Err(TableError::Header(_))), "{known}");
    }
}

#[test]
fn what_is_no_plain_number_is_refused_by_line_column_and_value() {
    for bad in ["NaN", "inf", "-Infinity", "0x1F", "1e400", "\"1,234.5\"", "12 mm", "1.2.3", "--1", "e5", "."]
    {
        let error = read(format!("session,carry_m\na,\"{}\"\n", bad.trim_matches('"')).as_bytes(), &RIGHT);
        let Err(TableError::Rows(problems)) = error else { panic!("{bad} was taken") };
        let problem = &problems.kept[0];
        assert_eq!((problem.line, problem.column.as_ref().unwrap().number), (2, 2), "{bad}");
        assert_eq!(problem.value, bad.trim_matches('"'));
        assert!(matches!(&problem.why, Why::Refused(r) if r.field == "carry_m"), "{problem}");
    }
    assert!(said("carry_m\n\"1,234.5\"\n").contains("no thousands separators"));
    assert!(said("carry_m;side_m\n1.234,5;0\n").contains("no thousands separators"));
}

#[test]
fn a_value_out_of_range_is_refused_in_the_columns_unit() {
    assert_eq!(
        said("head_speed_mph\n100\n200\n105\n"),
        "nothing was taken from the file:\nline 3, column 1 (head_speed_mph): head speed: 200 mph is not \
         allowed; 11.2 to 167.8 mph (the fastest swings of long-drive contests stay under 70 m/s, 157 mph)"
    );
}

#[test]
fn a_column_in_the_wrong_unit_gets_a_hint() {
    let hints = [
        (
            "head_speed_mps\n98.5\n101\n97\n70\n",
            "3 of 4 values are out of range; these look like miles an hour: \
            if they are, call the column head_speed_mph",
        ),
        ("head_speed_mps\n150\n160\n", "these look like kilometres an hour"),
        ("ball_speed_mps\n145\n139\n", "call the column ball_speed_mph"),
        ("toe_in,high_mm\n12,3\n-8,2\n", "these look like millimetres: if they are, call the column toe_mm"),
        ("launch_deg\n500\n", "is the column's name and unit right?"),
    ];
    for (text, expected) in hints {
        let said = said(text);
        assert!(said.lines().nth(1).unwrap().contains(expected), "{said}");
    }
    assert!(!said("head_speed_mps\n98.5\n45\n").contains("look like"), "half is not mostly");
}

#[test]
fn half_a_mark_and_ragged_rows_are_bad_rows() {
    assert!(
        said("toe_mm,high_mm\n1,\n").contains("line 2, column 2 (high_mm): empty, though toe_mm has a value")
    );
    assert!(said("toe_mm,high_mm\n,1\n").contains("column 1 (toe_mm): empty, though high_mm"));
    assert!(said("toe_mm,high_mm\n1\n").contains("line 2: the row has 1 cells, the header 2"));
    assert!(said("toe_mm,high_mm\n1,5,2\n").contains("decimal comma need semicolons"));
}

#[test]
fn one_bad_row_keeps_all_out_unless_bad_rows_are_skipped() {
    let text = b"session,toe_mm,high_mm\n\"two\nlines\",1,1\nb,500,x\nc,2,2\n";
    let TableError::Rows(problems) = read(text, &RIGHT).unwrap_err() else { panic!() };
    // A label with a line break is refused too, and lines are still counted.
    assert_eq!(problems.kept.iter().map(|p| p.line).collect::<Vec<_>>(), [2, 4, 4]);
    let table = read(text, &SKIP).unwrap();
    assert_eq!(table.rows.iter().map(|r| r.line).collect::<Vec<_>>(), [5]);
    assert_eq!((table.problems.total, table.problems.bad_rows), (3, 2));
    assert!(matches!(read(b"carry_m\nx\n", &SKIP), Err(TableError::Rows(_))), "no good row is left");
}

#[test]
fn of_very_many_problems_twenty_are_kept_and_all_are_counted() {
    let TableError::Rows(problems) =
        read(format!("carry_m\n{}", "x\n".repeat(500)).as_bytes(), &RIGHT).unwrap_err()
    else {
        panic!()
    };
    assert_eq!((problems.kept.len(), problems.total, problems.bad_rows), (20, 500, 500));
    assert!(problems.to_string().ends_with("and 480 more"));
}

#[test]
fn a_file_that_is_no_log_says_what_it_is() {
    let cases: [(&[u8], &str); 12] = [
        (b"", "empty"),
        (b"\xef\xbb\xbf \n\n", "empty"),
        (b"carry_m\n", "no rows below it"),
        (b"carry_m,side_m\n,\n\n", "no rows below it"),
        (b"PK\x03\x04\x14\x00", "a spreadsheet or zip file, not a text table"),
        (b"\xd0\xcf\x11\xe0\xa1", "export it as CSV"),
        (b"\xff\xfec\x00", "UTF-16"),
        (b"c\x00a\x00r\x00", "line 1: a zero byte"),
        (b"carry_m\n1\n\x00\n", "line 3: a zero byte"),
        (b"session\nok\nJos\xe9\n", "line 3: not UTF-8"),
        (b"session\nok\n\"Jo", "line 3: a cell begins with a quotation mark"),
        (b"{\"toe_mm\": 1}", "unknown column"),
    ];
    for (bytes, expected) in cases {
        assert!(said(bytes).contains(expected), "{}", said(bytes));
    }
}

#[test]
fn every_bound_that_is_exceeded_is_an_error_of_its_own() {
    let exact = format!("session,carry_m\n\"{}\",1\n", "é".repeat(MOST_CELL_CHARS));
    assert!(matches!(read(exact.as_bytes(), &RIGHT), Err(TableError::Rows(_))), "within the bound");
    let long = format!("carry_m,session\n1,a\n2,\"{}", "x".repeat(100_000));
    assert_eq!(read(long.as_bytes(), &RIGHT), Err(TableError::CellTooLong { line: 3, column: 2 }));
    let wide = "a,".repeat(1_000_000);
    assert_eq!(read(wide.as_bytes(), &RIGHT), Err(TableError::TooManyColumns { line: 1 }));
    let row_wide = format!("carry_m\n{}", ",".repeat(MOST_COLUMNS));
    assert_eq!(read(row_wide.as_bytes(), &SKIP), Err(TableError::TooManyColumns { line: 2 }));
    let tall = format!("carry_m\n{}", "1\n".repeat(MOST_ROWS + 1));
    assert_eq!(read(tall.as_bytes(), &RIGHT), Err(TableError::TooManyRows));
    assert_eq!(shape::shape(&tall[..tall.len() - 2]).unwrap().lines.len(), MOST_ROWS + 1);
    assert_eq!(read(&vec![b'1'; MOST_BYTES + 1], &RIGHT), Err(TableError::TooLarge));
}

#[test]
fn a_value_can_not_play_with_the_terminal() {
    assert!(!said("carry_m\n\"\u{1b}[2J\"\n").contains('\u{1b}'));
    assert!(!said("\u{1b}[2J\n1\n").contains('\u{1b}'));
}
