//! `export` and `import`: all that a book holds, taken along and back; and tables for
//! people and their programs.

#[cfg(feature = "parquet")]
mod columns;

use std::fs::{self, File};
use std::io::{BufReader, BufWriter, Write};
use std::path::Path;

use chalkface_core::book::export::{ExportError, Form, Item, json as lines, sheet};
use chalkface_core::book::{Book, DeviceKeys};
use chalkface_core::model::{StrandId, StrikePhoto};
use chalkface_core::words;
use serde_json::json;

use crate::cli::people as cli;
use crate::clock;
use crate::error::DeskError;
use crate::keys::Keys;
use crate::output::print;
use crate::progress::Busy;

/// What a file's ending says of its form.
fn form(path: &Path) -> Result<Form, DeskError> {
    match path.extension().and_then(|ending| ending.to_str()) {
        Some("json" | "jsonl") => Ok(Form::Json),
        Some("csv") => Ok(Form::Sheet),
        _ => Err(DeskError::Ending { path: path.to_owned(), allowed: ".json or .csv" }),
    }
}

pub fn export(path: &Path, keys: &Keys, json: bool, options: &cli::Export) -> Result<(), DeskError> {
    if options.parquet.is_some() && cfg!(not(feature = "parquet")) {
        return Err(DeskError::NotBuilt { what: "Parquet", feature: "parquet" });
    }
    let mut book = Book::open(path)?;
    let keys = if keys.exist() { Some(keys.read()?) } else { None };
    let only = options.student.as_deref().map(|name| book.student(name)).transpose()?;
    let only = only.map(|student| vec![student.strand]);
    let mut changes = 0;
    if let Some(out) = &options.out {
        let form = form(out)?;
        let busy = Busy::with("writing the export");
        changes = whole_file(out, |file| written(&mut book, keys.as_ref(), only.as_deref(), form, file))?;
        drop(busy);
    }
    let mut files = Vec::new();
    if let Some(folder) = &options.tables {
        fs::create_dir_all(folder).map_err(DeskError::file(folder))?;
        files = tables(&book, only.as_deref(), folder)?;
    }
    #[cfg(feature = "parquet")]
    if let Some(folder) = &options.parquet {
        fs::create_dir_all(folder).map_err(DeskError::file(folder))?;
        for table in book.tables(only.as_deref())? {
            let name = file_name(&table.name, "parquet");
            columns::write(&table, &folder.join(&name))?;
            files.push(name);
        }
    }
    let value = json!({ "file": options.out, "changes": changes, "tables": files });
    print(json, &value, || words::exchange::exported(changes, files.len()))
}

/// Writes a file under a temporary name first: nobody takes half an export for a whole.
fn whole_file(
    out: &Path,
    write: impl FnOnce(&mut BufWriter<File>) -> Result<u64, DeskError>,
) -> Result<u64, DeskError> {
    let mut name = out.as_os_str().to_owned();
    name.push(".part");
    let partial = Path::new(&name);
    let done = (|| {
        let mut file = BufWriter::new(File::create(partial).map_err(DeskError::file(partial))?);
        let changes = write(&mut file)?;
        file.flush().map_err(DeskError::file(partial))?;
        fs::rename(partial, out).map_err(DeskError::file(out))?;
        Ok(changes)
    })();
    if done.is_err() {
        let _ = fs::remove_file(partial);
    }
    done
}

fn written(
    book: &mut Book,
    keys: Option<&DeviceKeys>,
    only: Option<&[StrandId]>,
    form: Form,
    mut to: impl Write,
) -> Result<u64, DeskError> {
    let mut changes = 0;
    let mut count = |item: &Item| changes += u64::from(matches!(item, Item::Change(_) | Item::Unsigned(_)));
    match form {
        Form::Json => {
            lines::begin(&mut to)?;
            book.export(keys, only, |item| {
                count(&item);
                lines::write(&mut to, &item)
            })?;
        }
        Form::Sheet => {
            let mut sheet = sheet::begin(&mut to)?;
            book.export(keys, only, |item| {
                count(&item);
                sheet::write(&mut sheet, &item)
            })?;
            sheet.flush().map_err(ExportError::Io)?;
        }
    }
    Ok(changes)
}

fn file_name(table: &str, ending: &str) -> String {
    format!("{}.{ending}", table.replace([' ', '\''], "-"))
}

/// A table of each kind, and the small pictures as files.
fn tables(book: &Book, only: Option<&[StrandId]>, folder: &Path) -> Result<Vec<String>, DeskError> {
    let mut files = Vec::new();
    for table in book.tables(only)? {
        let name = file_name(&table.name, "csv");
        let path = folder.join(&name);
        fs::write(&path, table.to_csv()).map_err(DeskError::file(&path))?;
        files.push(name);
    }
    for student in book.students()? {
        if only.is_some_and(|only| !only.contains(&student.strand)) {
            continue;
        }
        for photo in book.records::<StrikePhoto>(student.strand)? {
            if photo.value.thumbnail.is_empty() {
                continue;
            }
            let name = format!("picture-{}.jpg", photo.id);
            let path = folder.join(&name);
            fs::write(&path, &photo.value.thumbnail).map_err(DeskError::file(&path))?;
            files.push(name);
        }
    }
    Ok(files)
}

pub fn import(path: &Path, keys: &Keys, json: bool, options: &cli::Import) -> Result<(), DeskError> {
    let mut book = Book::open(path)?;
    let form = form(&options.file)?;
    let file = File::open(&options.file).map_err(DeskError::file(&options.file))?;
    let size = file.metadata().map_err(DeskError::file(&options.file))?.len();
    let (keys, now) = (keys.read()?, clock::now()?);
    let busy = Busy::reading("taking in", size);
    let from = busy.read(BufReader::new(file));
    let receipt = match form {
        Form::Json => book.import(&keys, now, lines::read(from))?,
        Form::Sheet => book.import(&keys, now, sheet::read(from))?,
    };
    drop(busy);
    let names = book.device_names()?;
    let said = words::exchange::receipt(&receipt, &names);
    print(json, &super::exchange::receipt_json(&receipt, &names), || said)
}
