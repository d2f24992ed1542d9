//! An export as CSV (RFC 4180), for programs that read no JSON: the same items in the
//! same order, a row each and a row for each field:
//! ```text
//! what      the other cells that are filled
//! export    value: 1, the version                                     first
//! person    value: base64, see sync::identity
//! strand    record: the strand; device: its owner's root; value: its founder's
//! change    device, number, clock_ms, clock_count, made_ms, offset_min, kind, record;
//!           type: "unsigned" where nobody signed it
//! write     of the change above: field, type, value
//! replaces  of the change above: device, clock_ms, clock_count; value: field numbers
//! body      of the change above: value: base64, where the rows don't say all of it
//! run       device; value: base64; covers the changes since the last
//! ```
//! Types are null, bool, number, text, id, bytes and cbor (base64). Texts stand as
//! they were written: who opens this in a spreadsheet should take all columns in as
//! text. Start at [`begin`], [`write()`] and [`read`].

use std::io::{Read, Write};

use csv::{Reader, ReaderBuilder, StringRecord, Writer};
use data_encoding::{BASE64, HEXLOWER};
use minicbor::Decoder;

use super::{ExportError, Item};
use crate::model::fields::{FieldNo, Fields, Value};
use crate::model::{AuthorId, Kind, Moment, RecordId, StrandId};
use crate::sync::{Body, Change, Hlc, Identity, PublicKey, Run, Stamp};

const COLUMNS: [&str; 12] = [
    "what",
    "device",
    "number",
    "clock_ms",
    "clock_count",
    "made_ms",
    "offset_min",
    "kind",
    "record",
    "field",
    "type",
    "value",
];
const VERSION: &str = "1";
/// How every sheet begins: its first columns.
pub(super) const START: &str = "what,device,number,";

/// One row, cell by column.
#[derive(Default)]
struct Row([String; COLUMNS.len()]);

impl Row {
    fn of(what: &str) -> Self {
        Self::default().with("what", what)
    }

    #[allow(clippy::needless_pass_by_value, reason = "cells are made where they are put")]
    fn with(mut self, column: &str, cell: impl std::fmt::Display) -> Self {
        for (slot, name) in self.0.iter_mut().zip(COLUMNS) {
            if name == column {
                *slot = cell.to_string();
            }
        }
        self
    }
}

fn put<W: Write>(to: &mut Writer<W>, row: &Row) -> Result<(), ExportError> {
    to.write_record(&row.0).map_err(|error| ExportError::Io(error.into()))
}

/// Begins an export.
///
/// # Errors
/// [`ExportError::Io`].
pub fn begin<W: Write>(to: W) -> Result<Writer<W>, ExportError> {
    let mut writer = Writer::from_writer(to);
    writer.write_record(COLUMNS).map_err(|error| ExportError::Io(error.into()))?;
    put(&mut writer, &Row::of("export").with("value", VERSION))?;
    Ok(writer)
}

/// Writes one item.
///
/// # Errors
/// [`ExportError::Io`], or a change that can't be read.
pub fn write<W: Write>(to: &mut Writer<W>, item: &Item) -> Result<(), ExportError> {
    let root = |root: &Option<PublicKey>| root.map(|root| HEXLOWER.encode(&root)).unwrap_or_default();
    match item {
        Item::Person(person) => put(to, &Row::of("person").with("value", BASE64.encode(&person.encode()))),
        Item::Strand { strand, owner, founder } => put(
            to,
            &Row::of("strand")
                .with("record", strand)
                .with("device", root(owner))
                .with("value", root(founder)),
        ),
        Item::Change(change) => put_change(to, change, true),
        Item::Unsigned(change) => put_change(to, change, false),
        Item::Run(device, run) => {
            let mut bytes = Vec::with_capacity(160);
            run.encode(&mut bytes);
            put(to, &Row::of("run").with("device", device).with("value", BASE64.encode(&bytes)))
        }
    }
}

fn put_change<W: Write>(to: &mut Writer<W>, change: &Change, signed: bool) -> Result<(), ExportError> {
    let body = Body::decode(&change.body).map_err(ExportError::unclear)?;
    let row = Row::of("change")
        .with("device", change.author)
        .with("number", change.seq)
        .with("clock_ms", change.hlc.ms())
        .with("clock_count", change.hlc.count())
        .with("made_ms", change.made.utc_ms)
        .with("offset_min", change.made.offset_min)
        .with("kind", change.kind.0)
        .with("record", change.record)
        .with("type", if signed { "" } else { "unsigned" });
    put(to, &row)?;
    for (no, value) in body.fields.iter() {
        let (of, cell) = cell_of(value);
        put(to, &Row::of("write").with("field", no).with("type", of).with("value", cell))?;
    }
    for (stamp, fields) in &body.replaces {
        let fields: Vec<String> = fields.iter().map(FieldNo::to_string).collect();
        let row = Row::of("replaces")
            .with("device", stamp.author)
            .with("clock_ms", stamp.hlc.ms())
            .with("clock_count", stamp.hlc.count())
            .with("value", fields.join(" "));
        put(to, &row)?;
    }
    if body.encode() == change.body {
        return Ok(());
    }
    put(to, &Row::of("body").with("value", BASE64.encode(&change.body)))
}

fn cell_of(value: &Value) -> (&'static str, String) {
    match value {
        Value::Null => ("null", String::new()),
        Value::Bool(yes) => ("bool", yes.to_string()),
        // The shortest digits that come back as the same bits.
        Value::Number(n) => ("number", n.to_string()),
        Value::Text(text) => ("text", text.clone()),
        Value::Id(id) => ("id", RecordId::from_bytes(*id).to_string()),
        Value::Bytes(bytes) => ("bytes", BASE64.encode(bytes)),
        Value::Opaque(bytes) => ("cbor", BASE64.encode(bytes)),
    }
}

fn value_of(of: &str, cell: &str) -> Option<Value> {
    Some(match of {
        "null" => Value::Null,
        "bool" => Value::Bool(cell.parse().ok()?),
        "number" => Value::Number(cell.parse().ok().filter(|n: &f64| n.is_finite())?),
        "text" => Value::Text(cell.to_owned()),
        "id" => Value::Id(*RecordId::parse(cell).ok()?.bytes()),
        "bytes" => Value::Bytes(BASE64.decode(cell.as_bytes()).ok()?),
        "cbor" => Value::Opaque(BASE64.decode(cell.as_bytes()).ok()?),
        _ => return None,
    })
}

/// Reads an export, item by item, in memory that doesn't grow with it.
pub fn read(from: impl Read) -> impl Iterator<Item = Result<Item, ExportError>> {
    Rows {
        reader: ReaderBuilder::new().flexible(false).from_reader(from),
        row: StringRecord::new(),
        change: None,
        ready: None,
        begun: false,
        ended: false,
    }
}

/// A change whose rows are being read.
struct Open {
    change: Change,
    signed: bool,
    body: Body,
    bytes: Option<Vec<u8>>,
}

impl Open {
    fn end(mut self) -> Item {
        self.change.body = self.bytes.unwrap_or_else(|| self.body.encode());
        if self.signed { Item::Change(self.change) } else { Item::Unsigned(self.change) }
    }
}

struct Rows<R: Read> {
    reader: Reader<R>,
    row: StringRecord,
    change: Option<Open>,
    ready: Option<Item>,
    begun: bool,
    ended: bool,
}

impl<R: Read> Iterator for Rows<R> {
    type Item = Result<Item, ExportError>;

    fn next(&mut self) -> Option<Self::Item> {
        loop {
            if let Some(item) = self.ready.take() {
                return Some(Ok(item));
            }
            if self.ended {
                return self.change.take().map(|open| Ok(open.end()));
            }
            match self.step() {
                Ok(Some(item)) => return Some(Ok(item)),
                Ok(None) => {}
                Err(error) => {
                    (self.ended, self.change) = (true, None);
                    return Some(Err(error));
                }
            }
        }
    }
}

impl<R: Read> Rows<R> {
    /// Reads a row. An item that it ends or is goes out; a second one waits.
    fn step(&mut self) -> Result<Option<Item>, ExportError> {
        let mut row = std::mem::take(&mut self.row);
        let there = self.reader.read_record(&mut row).map_err(ExportError::unclear)?;
        self.row = row;
        if !there {
            self.ended = true;
            return if self.begun { Ok(None) } else { Err(ExportError::unclear("it is empty")) };
        }
        if !self.begun {
            let columns = self.reader.headers().map_err(ExportError::unclear)?;
            if columns != COLUMNS.as_slice() || self.cell("what") != "export" {
                return Err(ExportError::unclear("its first two rows"));
            }
            if self.cell("value") != VERSION {
                return Err(ExportError::unclear("it has another version"));
            }
            self.begun = true;
            return Ok(None);
        }
        let line = self.row.position().map_or(0, csv::Position::line);
        let wrong = || ExportError::unclear(format!("line {line}"));
        let what = self.cell("what").to_owned();
        if ["write", "replaces", "body"].contains(&what.as_str()) {
            return self.part(&what).ok_or_else(wrong).map(|()| None);
        }
        let before = self.change.take().map(Open::end);
        let item = match what.as_str() {
            "change" => {
                self.change = Some(self.open().ok_or_else(wrong)?);
                None
            }
            "person" => {
                let bytes = self.base64().ok_or_else(wrong)?;
                Some(Item::Person(Identity::decode(&bytes).map_err(|_| wrong())?))
            }
            "strand" => {
                let strand = StrandId::parse(self.cell("record")).map_err(|_| wrong())?;
                let owner = root_of(self.cell("device"))?;
                let founder = root_of(self.cell("value"))?;
                Some(Item::Strand { strand, owner, founder })
            }
            "run" => {
                let device = AuthorId::parse(self.cell("device")).map_err(|_| wrong())?;
                let bytes = self.base64().ok_or_else(wrong)?;
                Some(Item::Run(device, Run::decode(&mut Decoder::new(&bytes)).map_err(|_| wrong())?))
            }
            _ => return Err(wrong()),
        };
        if before.is_some() {
            self.ready = item;
            return Ok(before);
        }
        Ok(item)
    }

    fn cell(&self, column: &str) -> &str {
        let at = COLUMNS.iter().position(|name| *name == column);
        at.and_then(|at| self.row.get(at)).unwrap_or_default()
    }

    fn number<T: std::str::FromStr>(&self, column: &str) -> Option<T> {
        self.cell(column).parse().ok()
    }

    fn base64(&self) -> Option<Vec<u8>> {
        BASE64.decode(self.cell("value").as_bytes()).ok()
    }

    fn stamp(&self) -> Option<Stamp> {
        let hlc = Hlc::from_parts(self.number("clock_ms")?, self.number("clock_count")?)?;
        Some(Stamp { hlc, author: AuthorId::parse(self.cell("device")).ok()? })
    }

    fn open(&self) -> Option<Open> {
        let stamp = self.stamp()?;
        let change = Change {
            author: stamp.author,
            seq: self.number("number")?,
            hlc: stamp.hlc,
            made: Moment { utc_ms: self.number("made_ms")?, offset_min: self.number("offset_min")? },
            kind: Kind(self.number("kind")?),
            record: RecordId::parse(self.cell("record")).ok()?,
            body: Vec::new(),
        };
        let body = Body { fields: Fields::new(), replaces: Vec::new() };
        Some(Open { change, signed: self.cell("type") != "unsigned", body, bytes: None })
    }

    /// A row of the change above.
    fn part(&mut self, what: &str) -> Option<()> {
        let mut open = self.change.take()?;
        match what {
            "write" => {
                open.body.fields.set(self.number("field")?, value_of(self.cell("type"), self.cell("value"))?);
            }
            "replaces" => {
                let fields = self.cell("value").split_whitespace().map(|no| no.parse().ok());
                open.body.replaces.push((self.stamp()?, fields.collect::<Option<Vec<FieldNo>>>()?));
            }
            _ => open.bytes = Some(self.base64()?),
        }
        self.change = Some(open);
        Some(())
    }
}

/// A root, or none where the cell is empty.
fn root_of(cell: &str) -> Result<Option<PublicKey>, ExportError> {
    if cell.is_empty() {
        return Ok(None);
    }
    let bytes = HEXLOWER.decode(cell.as_bytes()).map_err(ExportError::unclear)?;
    PublicKey::try_from(bytes).map(Some).map_err(|_| ExportError::unclear("a root of another length"))
}
