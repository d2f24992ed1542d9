//! What goes out comes back: the same state of every record, whatever happened to it.

use proptest::prelude::*;

use super::*;
use crate::book::tests::{Bench, id, note};
use crate::book::{Draft, StudentEntry, testing};
use crate::model::fields::{Fields, Value};
use crate::model::{Kind, Now, Record, Refusal, Role};

fn written(book: &mut Book, form: Form) -> Vec<u8> {
    let keys = testing::keys(book);
    let mut bytes = Vec::new();
    match form {
        Form::Json => {
            json::begin(&mut bytes).unwrap();
            book.export(Some(&keys), None, |item| json::write(&mut bytes, &item)).unwrap();
        }
        Form::Sheet => {
            let mut sheet = sheet::begin(&mut bytes).unwrap();
            book.export(Some(&keys), None, |item| sheet::write(&mut sheet, &item)).unwrap();
            sheet.flush().unwrap();
        }
    }
    bytes
}

fn take(book: &mut Book, form: Form, bytes: &[u8], now: Now) -> Result<crate::book::Receipt, ExportError> {
    let keys = testing::keys(book);
    match form {
        Form::Json => book.import(&keys, now, json::read(bytes)),
        Form::Sheet => book.import(&keys, now, sheet::read(bytes)),
    }
}

/// A record with fields that this version doesn't know, of every form.
struct Odd(Vec<Value>);

impl Record for Odd {
    const KIND: Kind = Kind(900);
    fn to_fields(&self) -> Fields {
        (1..).zip(self.0.iter().cloned()).collect()
    }
    fn from_fields(_: &Fields) -> Result<Self, Refusal> {
        Ok(Self(Vec::new()))
    }
}

fn any_value() -> impl Strategy<Value = Value> {
    prop_oneof![
        any::<bool>().prop_map(Value::Bool),
        (-1e12..1e12).prop_map(Value::Number),
        any::<i32>().prop_map(|n| Value::Number(f64::from(n) / 100.0)),
        any::<f64>()
            .prop_filter("finite", |n| n.is_finite() && (*n != 0.0 || n.is_sign_positive()))
            .prop_map(Value::Number),
        "\\PC{0,20}".prop_map(Value::Text),
        "[\"\n\r,;=']{0,12}".prop_map(Value::Text),
        any::<[u8; 16]>().prop_map(Value::Id),
        proptest::collection::vec(any::<u8>(), 17..40).prop_map(Value::Bytes),
        Just(Value::Opaque(vec![0x82, 0x01, 0xf9, 0x3e, 0x00])),
        Just(Value::Null),
    ]
}

#[derive(Debug, Clone)]
enum Step {
    Write { device: usize, record: u8, values: Vec<Value> },
    Edit { device: usize, record: u8, text: u8 },
    Remove { device: usize, record: u8 },
    Erase { device: usize, record: u8 },
    Send { from: usize },
}

fn any_step() -> impl Strategy<Value = Step> {
    let (device, record) = (|| 0..2_usize, || 1_u8..6);
    prop_oneof![
        3 => (device(), record(), proptest::collection::vec(any_value(), 1..6))
            .prop_map(|(device, record, values)| Step::Write { device, record, values }),
        4 => (device(), record(), any::<u8>()).prop_map(|(device, record, text)| Step::Edit { device, record, text }),
        1 => (device(), record()).prop_map(|(device, record)| Step::Remove { device, record }),
        1 => (device(), record()).prop_map(|(device, record)| Step::Erase { device, record }),
        2 => device().prop_map(|from| Step::Send { from }),
    ]
}

struct Two {
    bench: Bench,
    books: [Book; 2],
    student: StudentEntry,
}

impl Two {
    fn new() -> Self {
        let mut bench = Bench::new();
        let mut ina = bench.keyed("Ina", Role::Student);
        let student = bench.own_student(&mut ina, "Ina");
        let mut bo = bench.keyed("Bo", Role::Coach);
        testing::meet(&mut ina, &mut bo);
        let mut two = Self { bench, books: [ina, bo], student };
        two.send(0);
        two.send(1);
        two
    }

    fn send(&mut self, from: usize) {
        let now = self.bench.now();
        let to = 1 - from;
        let name = self.books[to].owner().name.to_string();
        let file = testing::file(&mut self.books[from], &self.student, &name, now, true);
        testing::receive(&mut self.books[to], &file, now);
    }

    fn step(&mut self, step: &Step) {
        let (now, strand) = (self.bench.now(), self.student.strand);
        match step {
            Step::Write { device, record, values } => {
                let _ =
                    self.books[*device].write(strand, now, [Draft::put(id(*record), &Odd(values.clone()))]);
            }
            Step::Edit { device, record, text } => {
                let _ = self.books[*device].write(
                    strand,
                    now,
                    [Draft::put(id(*record), &note(&format!("n {text}")))],
                );
            }
            Step::Remove { device, record } => {
                let _ = self.books[*device].write(strand, now, [Draft::remove(Kind::NOTE, id(*record))]);
            }
            Step::Erase { device, record } => {
                let keys = testing::keys(&self.books[*device]);
                let student = self.student.clone();
                let _ = self.books[*device].erase(&keys, &student, &[(Kind::NOTE, id(*record))], now);
            }
            Step::Send { from } => self.send(*from),
        }
    }
}

fn comes_back(steps: &[Step], form: Form) {
    let mut two = Two::new();
    for step in steps {
        two.step(step);
    }
    let now = two.bench.now();
    let strand = two.student.strand;
    let bytes = written(&mut two.books[0], form);
    // A new book of somebody else: what they took along is all there.
    let mut fresh = two.bench.keyed("Ina again", Role::Student);
    assert_eq!(Form::of(&bytes), Some(form));
    let keys = testing::keys(&fresh);
    let brings = match form {
        Form::Json => fresh.look_into_export(&keys, now, json::read(bytes.as_slice())),
        Form::Sheet => fresh.look_into_export(&keys, now, sheet::read(bytes.as_slice())),
    };
    assert!(fresh.students().unwrap().is_empty(), "looking into it takes nothing in");
    let receipt = take(&mut fresh, form, &bytes, now).unwrap();
    assert_eq!(brings.unwrap(), receipt, "{form:?}");
    assert_eq!(receipt.refused, [], "{form:?}");
    assert_eq!(fresh.digest(strand).unwrap(), two.books[0].digest(strand).unwrap(), "{form:?}");
    assert!(fresh.check().unwrap().ok);
    for record in 1..6 {
        let of = |book: &Book| book.history(strand, Kind::NOTE, id(record)).unwrap();
        assert_eq!(of(&fresh), of(&two.books[0]));
    }
    // Once more changes nothing, and what it gives is the same log again.
    let again = take(&mut fresh, form, &bytes, now).unwrap();
    assert_eq!((again.taken, again.refused.len()), (0, 0));
    let sorted = |book: &mut Book| {
        let mut lines: Vec<String> =
            String::from_utf8(written(book, Form::Json)).unwrap().lines().map(str::to_owned).collect();
        lines.sort();
        lines
    };
    assert_eq!(sorted(&mut fresh), sorted(&mut two.books[0]));
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, max_shrink_iters: 100, ..ProptestConfig::default() })]

    #[test]
    fn every_record_comes_back_as_it_was(steps in proptest::collection::vec(any_step(), 0..25), sheet in any::<bool>()) {
        comes_back(&steps, if sheet { Form::Sheet } else { Form::Json });
    }

    #[test]
    fn any_changed_byte_is_refused_or_changes_no_signed_word(at in any::<prop::sample::Index>(), to in any::<u8>(), sheet in any::<bool>()) {
        let form = if sheet { Form::Sheet } else { Form::Json };
        let mut two = Two::new();
        let (now, strand) = (two.bench.now(), two.student.strand);
        two.books[0].write(strand, now, [Draft::put(id(1), &note("as she wrote it"))]).unwrap();
        let mut bytes = written(&mut two.books[0], form);
        let at = at.index(bytes.len());
        bytes[at] = to;
        let mut fresh = two.bench.keyed("Ina again", Role::Student);
        let before = fresh.check().unwrap();
        if take(&mut fresh, form, &bytes, now).is_err() {
            prop_assert_eq!(fresh.check().unwrap(), before);
        } else if let Some(there) = fresh.record::<crate::model::Note>(strand, id(1)).unwrap() {
            // What came in is signed by who wrote it, or is not there.
            prop_assert_eq!(there.value, note("as she wrote it"));
        }
    }
}

#[test]
fn a_book_from_before_there_were_keys_is_taken_along_too_and_hardly_believed() {
    let mut bench = Bench::new();
    let golden = std::path::PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../tests/golden/v2");
    std::fs::copy(golden.join("student.book"), bench.path("nils")).unwrap();
    let mut nils = Book::open(&bench.path("nils")).unwrap();
    let now = bench.now();
    let mut bytes = Vec::new();
    json::begin(&mut bytes).unwrap();
    nils.export(None, None, |item| json::write(&mut bytes, &item)).unwrap();
    let strand = nils.student("Nils Aro").unwrap().strand;
    let mut fresh = bench.keyed("Nils", Role::Student);
    assert_eq!(take(&mut fresh, Form::Json, &bytes, now).unwrap().refused, []);
    assert_eq!(fresh.digest(strand).unwrap(), nils.digest(strand).unwrap());
    assert!(fresh.check().unwrap().ok);
    // Into a book that has the student, unsigned words are not taken.
    let mut changed = String::from_utf8(bytes).unwrap().replace("as ever", "whatever");
    changed.push_str("\n\n");
    let receipt = take(&mut fresh, Form::Json, changed.as_bytes(), now).unwrap();
    assert_eq!((receipt.taken, receipt.refused.len()), (0, 1));
}

#[test]
fn what_is_no_export_says_so() {
    let mut bench = Bench::new();
    let mut book = bench.keyed("Ina", Role::Student);
    let now = bench.now();
    let foreign: [&[u8]; 5] =
        [b"", b"{}", b"[1]", b"what,else\n1,2\n", b"{\"what\": \"export\", \"version\": 9}"];
    for form in [Form::Json, Form::Sheet] {
        for bytes in foreign {
            assert!(
                matches!(take(&mut book, form, bytes, now), Err(ExportError::Unclear { .. })),
                "{bytes:?}"
            );
        }
    }
}

#[test]
fn tables_have_a_row_for_each_record_and_its_values_by_name() {
    let mut two = Two::new();
    let (now, strand) = (two.bench.now(), two.student.strand);
    two.books[0]
        .write(strand, now, [Draft::put(id(1), &note("=1+1")), Draft::put(id(2), &note("gone"))])
        .unwrap();
    let now = two.bench.now();
    two.books[0].write(strand, now, [Draft::remove(Kind::NOTE, id(2))]).unwrap();
    let tables = two.books[0].tables(None).unwrap();
    let names: Vec<_> = tables.iter().map(|table| table.name.as_str()).collect();
    assert_eq!(names, ["student", "note", "person of the student's"]);
    let notes = &tables[1];
    let text = notes.columns.iter().position(|column| column == "text_2").unwrap();
    let removed = notes.columns.iter().position(|column| column == "removed").unwrap();
    let cells: Vec<_> = notes.rows.iter().map(|row| (row[text].clone(), row[removed].clone())).collect();
    let said = |text: &str, removed| (tables::Cell::Text(text.into()), tables::Cell::Bool(removed));
    assert_eq!(cells, [said("=1+1", false), said("gone", true)]);
    let sheet = String::from_utf8(notes.to_csv()).unwrap();
    assert!(sheet.lines().count() == 3 && sheet.contains(",'=1+1"), "{sheet}");
}
