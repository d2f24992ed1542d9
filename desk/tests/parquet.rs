//! Tables as Parquet, read back by the crate's own reader and compared with those as
//! CSV, cell by cell. `tests/long` has them read by pyarrow.

use std::fs;

use parquet::file::reader::{FileReader, SerializedFileReader};
use parquet::record::Field;

use crate::bench::{Bench, LOG};

/// A cell as CSV has it; times are milliseconds there.
fn text(field: &Field) -> String {
    match field {
        Field::Null => String::new(),
        Field::Bool(yes) => yes.to_string(),
        Field::Double(n) => n.to_string(),
        Field::TimestampMillis(ms) => ms.to_string(),
        Field::Str(text) => text.clone(),
        other => panic!("no cell is {other:?}"),
    }
}

/// The cells of CSV without quoted ones, which the invented log has none of.
fn cells(csv: &str) -> Vec<Vec<String>> {
    csv.lines().map(|line| line.split(',').map(str::to_owned).collect()).collect()
}

#[test]
fn columns_hold_what_the_tables_hold() {
    let bench = Bench::new();
    bench.pair();
    bench.write("log.csv", LOG);
    bench.ok(&["record", "shots", "log.csv", "--book", "ina.book"]);
    let done = bench.json(&["export", "--tables", "tables", "--parquet", "columns", "--book", "ina.book"]);
    let mut compared = 0;
    for file in done["tables"].as_array().unwrap().iter().filter_map(|name| name.as_str()) {
        let Some(name) = file.strip_suffix(".csv") else { continue };
        let csv = fs::read_to_string(bench.path(&format!("tables/{file}"))).unwrap();
        assert!(!csv.contains('"'), "{file}");
        let path = bench.path(&format!("columns/{name}.parquet"));
        let reader = SerializedFileReader::new(fs::File::open(path).unwrap()).unwrap();
        let schema = reader.metadata().file_metadata().schema_descr();
        let mut rows: Vec<Vec<String>> =
            vec![schema.columns().iter().map(|column| column.name().to_owned()).collect()];
        for row in reader.get_row_iter(None).unwrap() {
            rows.push(row.unwrap().get_column_iter().map(|(_, field)| text(field)).collect());
        }
        assert_eq!(rows, cells(&csv), "{file}");
        compared += rows.len() - 1;
    }
    // Five balls, two visits, and the student at least.
    assert!(compared >= 8, "{compared}");
    let shots =
        SerializedFileReader::new(fs::File::open(bench.path("columns/shot.parquet")).unwrap()).unwrap();
    let types: Vec<String> = shots
        .metadata()
        .file_metadata()
        .schema_descr()
        .columns()
        .iter()
        .map(|column| format!("{} {}", column.name(), column.physical_type()))
        .collect();
    assert!(types.contains(&"removed BOOLEAN".to_owned()), "{types:?}");
    assert!(types.contains(&"last_written_ms INT64".to_owned()), "{types:?}");
    assert!(types.iter().any(|named| named.ends_with(" DOUBLE")), "{types:?}");
}
