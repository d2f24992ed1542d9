//! An export as JSON, one value a line (each is RFC 8259), in the order of the items:
//! ```text
//! {"what": "export", "version": 1}                                  first
//! {"what": "person", "root": hex, "statements": base64}    see sync::identity
//! {"what": "strand", "strand": id, "owner": hex or null, "founder": hex or null}
//! {"what": "change", "device": id, "number": n, "clock_ms", "clock_count",
//!  "made_ms", "offset_min", "kind": n, "record": id, "fields": {"n": value},
//!  "replaces": [{"device", "clock_ms", "clock_count", "fields": [n]}]}
//! {"what": "run", "device": id, "run": base64}    covers the changes since the last
//! ```
//! A value is null, a boolean, a number, a text, or `{"id": id}`, `{"bytes": base64}`,
//! `{"number": digits}` where a reader could be off, `{"cbor": base64}` for what this
//! version can't read. A change may say `"signed":
//! false`, and `"body"` (base64) where its fields don't say all of it. Numbers of
//! fields and kinds are those of `model`; times are ms since 1970 UTC. A line that
//! is not known is an error, a key that is not known isn't. Start at [`write()`] and
//! [`read`].

use std::collections::BTreeMap;
use std::io::{Read, Write};

use data_encoding::{BASE64, HEXLOWER};
use minicbor::Decoder;
use serde::{Deserialize, Serialize};
use serde_json::Value as Json;

use super::{ExportError, Item};
use crate::model::fields::{FieldNo, Fields, Value};
use crate::model::{AuthorId, Kind, Moment, RecordId, StrandId};
use crate::sync::{Body, Change, Hlc, Identity, PublicKey, Run, Stamp};

/// The version that is written, and the highest that is read.
pub const VERSION: u32 = 1;

#[derive(Serialize, Deserialize)]
#[serde(tag = "what", rename_all = "snake_case")]
enum Line {
    Export { version: u32 },
    Person { root: String, statements: String },
    Strand { strand: StrandId, owner: Option<String>, founder: Option<String> },
    Change(Box<Written>),
    Run { device: AuthorId, run: String },
}

#[derive(Serialize, Deserialize)]
struct Written {
    device: AuthorId,
    number: u64,
    clock_ms: u64,
    clock_count: u16,
    made_ms: i64,
    offset_min: i16,
    kind: u16,
    record: RecordId,
    fields: BTreeMap<String, Json>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    replaces: Vec<Replaced>,
    #[serde(default = "yes", skip_serializing_if = "is_yes")]
    signed: bool,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    body: Option<String>,
}

#[derive(Serialize, Deserialize)]
struct Replaced {
    device: AuthorId,
    clock_ms: u64,
    clock_count: u16,
    fields: Vec<FieldNo>,
}

fn yes() -> bool {
    true
}

#[allow(clippy::trivially_copy_pass_by_ref, reason = "serde asks for it so")]
fn is_yes(signed: &bool) -> bool {
    *signed
}

/// Begins an export.
///
/// # Errors
/// [`ExportError::Io`].
pub fn begin(to: &mut impl Write) -> Result<(), ExportError> {
    line(to, &Line::Export { version: VERSION })
}

/// Writes one item.
///
/// # Errors
/// [`ExportError::Io`], or a change that can't be read.
pub fn write(to: &mut impl Write, item: &Item) -> Result<(), ExportError> {
    let line_of = match item {
        Item::Person(person) => Line::Person {
            root: HEXLOWER.encode(&person.root()),
            statements: BASE64.encode(&person.encode()),
        },
        Item::Strand { strand, owner, founder } => Line::Strand {
            strand: *strand,
            owner: owner.map(|root| HEXLOWER.encode(&root)),
            founder: founder.map(|root| HEXLOWER.encode(&root)),
        },
        Item::Change(change) => Line::Change(Box::new(written(change, true)?)),
        Item::Unsigned(change) => Line::Change(Box::new(written(change, false)?)),
        Item::Run(device, run) => {
            let mut bytes = Vec::with_capacity(160);
            run.encode(&mut bytes);
            Line::Run { device: *device, run: BASE64.encode(&bytes) }
        }
    };
    line(to, &line_of)
}

fn line(to: &mut impl Write, line: &Line) -> Result<(), ExportError> {
    serde_json::to_writer(&mut *to, line).map_err(std::io::Error::from)?;
    Ok(to.write_all(b"\n")?)
}

fn written(change: &Change, signed: bool) -> Result<Written, ExportError> {
    let body = Body::decode(&change.body).map_err(ExportError::unclear)?;
    let whole = body.encode() == change.body;
    let replaces = body.replaces.iter().map(|(stamp, fields)| Replaced {
        device: stamp.author,
        clock_ms: stamp.hlc.ms(),
        clock_count: stamp.hlc.count(),
        fields: fields.clone(),
    });
    Ok(Written {
        device: change.author,
        number: change.seq,
        clock_ms: change.hlc.ms(),
        clock_count: change.hlc.count(),
        made_ms: change.made.utc_ms,
        offset_min: change.made.offset_min,
        kind: change.kind.0,
        record: change.record,
        fields: body.fields.iter().map(|(no, value)| (no.to_string(), json_of(value))).collect(),
        replaces: replaces.collect(),
        signed,
        body: (!whole).then(|| BASE64.encode(&change.body)),
    })
}

fn json_of(value: &Value) -> Json {
    const MOST_EXACT: f64 = 9_007_199_254_740_992.0;
    match value {
        Value::Null => Json::Null,
        Value::Bool(yes) => Json::from(*yes),
        Value::Number(n) if n.fract() == 0.0 && n.abs() <= MOST_EXACT => Json::from(*n as i64),
        // Readers of JSON are allowed to be a little off: where ours would be, the digits
        // stand as a text.
        Value::Number(n) if comes_back(*n) => Json::from(*n),
        Value::Number(n) => serde_json::json!({ "number": n.to_string() }),
        Value::Text(text) => Json::from(text.as_str()),
        Value::Id(id) => serde_json::json!({ "id": RecordId::from_bytes(*id) }),
        Value::Bytes(bytes) => serde_json::json!({ "bytes": BASE64.encode(bytes) }),
        Value::Opaque(bytes) => serde_json::json!({ "cbor": BASE64.encode(bytes) }),
    }
}

fn comes_back(n: f64) -> bool {
    let read = serde_json::to_string(&n).ok().and_then(|text| serde_json::from_str::<f64>(&text).ok());
    read.is_some_and(|read| read.to_bits() == n.to_bits())
}

fn value_of(json: &Json) -> Option<Value> {
    Some(match json {
        Json::Null => Value::Null,
        Json::Bool(yes) => Value::Bool(*yes),
        Json::Number(n) => Value::Number(n.as_f64()?),
        Json::String(text) => Value::Text(text.clone()),
        Json::Object(object) if object.len() == 1 => {
            let (key, of) = object.iter().next()?;
            let of = of.as_str()?;
            match key.as_str() {
                "number" => Value::Number(of.parse().ok().filter(|n: &f64| n.is_finite())?),
                "id" => Value::Id(*RecordId::parse(of).ok()?.bytes()),
                "bytes" => Value::Bytes(BASE64.decode(of.as_bytes()).ok()?),
                "cbor" => Value::Opaque(BASE64.decode(of.as_bytes()).ok()?),
                _ => return None,
            }
        }
        Json::Array(_) | Json::Object(_) => return None,
    })
}

/// Reads an export, item by item, in memory that doesn't grow with it.
pub fn read(from: impl Read) -> impl Iterator<Item = Result<Item, ExportError>> {
    let mut lines = serde_json::Deserializer::from_reader(std::io::BufReader::new(from)).into_iter::<Line>();
    let mut begun = false;
    std::iter::from_fn(move || {
        loop {
            let line = match lines.next() {
                Some(Ok(line)) => line,
                Some(Err(error)) if error.is_io() => return Some(Err(ExportError::Io(error.into()))),
                Some(Err(error)) => return Some(Err(ExportError::unclear(error))),
                None if begun => return None,
                None => {
                    begun = true;
                    return Some(Err(ExportError::unclear("it is empty")));
                }
            };
            match line {
                Line::Export { version } if !begun && version <= VERSION => begun = true,
                Line::Export { version } if !begun => {
                    return Some(Err(ExportError::unclear(format!(
                        "it has version {version}, this program reads {VERSION}"
                    ))));
                }
                _ if !begun => {
                    begun = true;
                    return Some(Err(ExportError::unclear("it doesn't begin with its version")));
                }
                line => return Some(item(line)),
            }
        }
    })
}

fn item(line: Line) -> Result<Item, ExportError> {
    let base = |text: &str| BASE64.decode(text.as_bytes()).map_err(ExportError::unclear);
    Ok(match line {
        Line::Export { .. } => return Err(ExportError::unclear("it begins twice")),
        Line::Person { statements, .. } => {
            Item::Person(Identity::decode(&base(&statements)?).map_err(ExportError::unclear)?)
        }
        Line::Strand { strand, owner, founder } => {
            Item::Strand { strand, owner: root(owner)?, founder: root(founder)? }
        }
        Line::Run { device, run } => {
            Item::Run(device, Run::decode(&mut Decoder::new(&base(&run)?)).map_err(ExportError::unclear)?)
        }
        Line::Change(written) => {
            let signed = written.signed;
            let change = change(&written)?;
            if signed { Item::Change(change) } else { Item::Unsigned(change) }
        }
    })
}

fn root(text: Option<String>) -> Result<Option<PublicKey>, ExportError> {
    let Some(text) = text else { return Ok(None) };
    let bytes = HEXLOWER.decode(text.as_bytes()).map_err(ExportError::unclear)?;
    Ok(Some(PublicKey::try_from(bytes).map_err(|_| ExportError::unclear("a root of another length"))?))
}

fn change(from: &Written) -> Result<Change, ExportError> {
    let about = || format!("change {} of {}", from.number, from.device);
    let clock = |ms, count| Hlc::from_parts(ms, count).ok_or_else(|| ExportError::unclear(about()));
    let body = if let Some(body) = &from.body {
        BASE64.decode(body.as_bytes()).map_err(ExportError::unclear)?
    } else {
        let mut fields = Fields::new();
        for (no, json) in &from.fields {
            let unclear = || ExportError::unclear(about());
            fields.set(no.parse().map_err(|_| unclear())?, value_of(json).ok_or_else(unclear)?);
        }
        let mut replaces = Vec::with_capacity(from.replaces.len());
        for old in &from.replaces {
            let stamp = Stamp { hlc: clock(old.clock_ms, old.clock_count)?, author: old.device };
            replaces.push((stamp, old.fields.clone()));
        }
        Body { fields, replaces }.encode()
    };
    Ok(Change {
        author: from.device,
        seq: from.number,
        hlc: clock(from.clock_ms, from.clock_count)?,
        made: Moment { utc_ms: from.made_ms, offset_min: from.offset_min },
        kind: Kind(from.kind),
        record: from.record,
        body,
    })
}
