//! What a record is made of in a change: numbered fields with plain values,
//! and their bytes (CBOR, RFC 8949, in its deterministic encoding).
//!
//! The rule here: bytes of a newer version survive. A value of a form that
//! this version doesn't know stays as its bytes ([`Value::Opaque`]) and is
//! written back as it came. Start at [`Fields`].

use minicbor::data::{Tag, Type};
use minicbor::{Decoder, Encoder};
use uuid::Uuid;

/// A field's number within its kind of record. Numbers are never used again
/// for another meaning.
pub type FieldNo = u16;

/// The value of one field.
#[derive(Debug, Clone, PartialEq)]
pub enum Value {
    /// Cleared: the field had a value and has none now.
    Null,
    /// Yes or no.
    Bool(bool),
    /// A number; whole ones up to 2^53 stay exact.
    Number(f64),
    /// Text.
    Text(String),
    /// The identity of a record, person or device.
    Id([u8; 16]),
    /// Other bytes, such as a thumbnail.
    Bytes(Vec<u8>),
    /// One well-formed CBOR item of a form unknown to this version.
    Opaque(Vec<u8>),
}

/// Bytes that are not the fields of a record.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("not a record's fields: {0}")]
pub struct FieldsError(pub String);

impl From<minicbor::decode::Error> for FieldsError {
    fn from(error: minicbor::decode::Error) -> Self {
        Self(error.to_string())
    }
}

/// Fields by number, ascending, each at most once.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Fields(Vec<(FieldNo, Value)>);

impl Fields {
    /// No fields.
    pub fn new() -> Self {
        Self::default()
    }

    /// Sets a field.
    pub fn set(&mut self, no: FieldNo, value: Value) {
        match self.place(no) {
            Ok(at) => {
                if let Some(slot) = self.0.get_mut(at) {
                    slot.1 = value;
                }
            }
            Err(at) => self.0.insert(at, (no, value)),
        }
    }

    /// Sets a field, given a value; clears it otherwise.
    pub fn put(&mut self, no: FieldNo, value: Option<impl Into<Value>>) {
        self.set(no, value.map_or(Value::Null, Into::into));
    }

    /// The value of a field; a cleared one counts as absent.
    pub fn get(&self, no: FieldNo) -> Option<&Value> {
        self.raw(no).filter(|v| **v != Value::Null)
    }

    /// The value of a field, cleared ones too.
    pub fn raw(&self, no: FieldNo) -> Option<&Value> {
        self.place(no).ok().and_then(|at| self.0.get(at)).map(|(_, v)| v)
    }

    /// Takes a field out.
    pub fn take(&mut self, no: FieldNo) -> Option<Value> {
        self.place(no).ok().map(|at| self.0.remove(at).1)
    }

    /// The number in a field.
    pub fn number(&self, no: FieldNo) -> Option<f64> {
        match self.get(no)? {
            Value::Number(n) => Some(*n),
            _ => None,
        }
    }

    /// The whole number in a field.
    pub fn whole(&self, no: FieldNo) -> Option<i64> {
        self.number(no).filter(|n| n.fract() == 0.0 && n.abs() <= MOST_EXACT).map(|n| n as i64)
    }

    /// The text in a field.
    pub fn text(&self, no: FieldNo) -> Option<&str> {
        match self.get(no)? {
            Value::Text(t) => Some(t),
            _ => None,
        }
    }

    /// Yes or no in a field.
    pub fn bool(&self, no: FieldNo) -> Option<bool> {
        match self.get(no)? {
            Value::Bool(b) => Some(*b),
            _ => None,
        }
    }

    /// The identity in a field.
    pub fn id(&self, no: FieldNo) -> Option<Uuid> {
        match self.get(no)? {
            Value::Id(id) => Some(Uuid::from_bytes(*id)),
            _ => None,
        }
    }

    /// The fields in order.
    pub fn iter(&self) -> impl Iterator<Item = (FieldNo, &Value)> {
        self.0.iter().map(|(no, v)| (*no, v))
    }

    /// Keeps the fields for which `keep` holds.
    pub fn retain(&mut self, mut keep: impl FnMut(FieldNo, &Value) -> bool) {
        self.0.retain(|(no, v)| keep(*no, v));
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// How many there are.
    pub fn len(&self) -> usize {
        self.0.len()
    }

    fn place(&self, no: FieldNo) -> Result<usize, usize> {
        self.0.binary_search_by_key(&no, |(n, _)| *n)
    }

    /// Appends the fields' bytes: a CBOR map from number to value.
    pub fn encode(&self, to: &mut Vec<u8>) {
        let mut e = Encoder::new(to);
        // Writing into a Vec can't fail: its error type is empty.
        let _ = e.map(self.0.len() as u64);
        for (no, value) in &self.0 {
            let _ = e.u16(*no);
            encode_value(&mut e, value);
        }
    }

    /// Reads the fields where the decoder stands.
    ///
    /// # Errors
    /// [`FieldsError`] if the bytes are not a map of ascending numbers, or are cut short.
    pub fn decode(d: &mut Decoder<'_>) -> Result<Self, FieldsError> {
        let count = d.map()?.ok_or_else(|| FieldsError("a map without a length".into()))?;
        // A hostile count must not reserve memory: each entry takes two bytes.
        let left = d.input().len().saturating_sub(d.position());
        let mut fields = Vec::with_capacity((count as usize).min(left / 2));
        let mut last: Option<FieldNo> = None;
        for _ in 0..count {
            let no = d.u16()?;
            if last.is_some_and(|last| no <= last) {
                return Err(FieldsError(format!("field {no} out of order")));
            }
            last = Some(no);
            fields.push((no, decode_value(d)?));
        }
        Ok(Self(fields))
    }
}

impl FromIterator<(FieldNo, Value)> for Fields {
    fn from_iter<I: IntoIterator<Item = (FieldNo, Value)>>(items: I) -> Self {
        let mut fields = Self::new();
        for (no, value) in items {
            fields.set(no, value);
        }
        fields
    }
}

impl From<f64> for Value {
    fn from(n: f64) -> Self {
        Self::Number(n)
    }
}
impl From<i64> for Value {
    fn from(n: i64) -> Self {
        Self::Number(n as f64)
    }
}
impl From<bool> for Value {
    fn from(b: bool) -> Self {
        Self::Bool(b)
    }
}
impl From<&str> for Value {
    fn from(t: &str) -> Self {
        Self::Text(t.to_owned())
    }
}
impl From<Uuid> for Value {
    fn from(id: Uuid) -> Self {
        Self::Id(id.into_bytes())
    }
}

/// Whole numbers up to here are exact in a double.
const MOST_EXACT: f64 = 9_007_199_254_740_992.0;
/// CBOR tag of a decimal fraction `[exponent, mantissa]` (RFC 8949 section 3.4.4).
const DECIMAL: u64 = 4;

fn encode_value(e: &mut Encoder<&mut Vec<u8>>, value: &Value) {
    let _ = match value {
        Value::Null => e.null().map(drop),
        Value::Bool(b) => e.bool(*b).map(drop),
        Value::Number(n) => {
            encode_number(e, *n);
            Ok(())
        }
        Value::Text(t) => e.str(t).map(drop),
        Value::Id(id) => e.bytes(id).map(drop),
        Value::Bytes(b) => e.bytes(b).map(drop),
        Value::Opaque(raw) => {
            e.writer_mut().extend_from_slice(raw);
            Ok(())
        }
    };
}

/// A number in its shortest lossless form: whole, decimal, or a double.
///
/// What people log has few decimals, so 12.3 takes five bytes instead of
/// nine, and comes back as the same bits: one division of two exact numbers
/// is rounded correctly (IEEE 754).
fn encode_number(e: &mut Encoder<&mut Vec<u8>>, n: f64) {
    if n.fract() == 0.0 && n.abs() <= MOST_EXACT {
        let _ = e.i64(n as i64);
        return;
    }
    let mut scale = 1.0_f64;
    for places in 1..=9_i64 {
        scale *= 10.0;
        let mantissa = (n * scale).round();
        if mantissa.abs() < 4_294_967_296.0 && (mantissa / scale).to_bits() == n.to_bits() {
            let _ = e
                .tag(Tag::new(DECIMAL))
                .and_then(|e| e.array(2))
                .and_then(|e| e.i64(-places))
                .and_then(|e| e.i64(mantissa as i64));
            return;
        }
    }
    let _ = e.f64(n);
}

fn decode_value(d: &mut Decoder<'_>) -> Result<Value, FieldsError> {
    let start = d.position();
    let known = match d.datatype()? {
        Type::Null => d.null().map(|()| Value::Null).ok(),
        Type::Bool => d.bool().ok().map(Value::Bool),
        Type::U8 | Type::U16 | Type::U32 | Type::U64 | Type::I8 | Type::I16 | Type::I32 | Type::I64 => {
            d.i64().ok().filter(|n| n.unsigned_abs() <= MOST_EXACT as u64).map(Value::from)
        }
        Type::F64 => d.f64().ok().filter(|n| n.is_finite()).map(Value::Number),
        Type::String => d.str().ok().map(Value::from),
        Type::Bytes => d
            .bytes()
            .ok()
            .map(|b| <[u8; 16]>::try_from(b).map_or_else(|_| Value::Bytes(b.to_vec()), Value::Id)),
        Type::Tag => decode_decimal(d),
        _ => None,
    };
    if let Some(value) = known {
        // Only the one canonical form is read as known, so that reading and
        // writing again always gives the same bytes.
        let mut again = Vec::with_capacity(d.position() - start);
        encode_value(&mut Encoder::new(&mut again), &value);
        if d.input().get(start..d.position()) == Some(again.as_slice()) {
            return Ok(value);
        }
    }
    d.set_position(start);
    d.skip()?;
    let raw = d.input().get(start..d.position()).unwrap_or_default();
    Ok(Value::Opaque(raw.to_vec()))
}

fn decode_decimal(d: &mut Decoder<'_>) -> Option<Value> {
    if d.tag().ok()?.as_u64() != DECIMAL || d.array().ok()?? != 2 {
        return None;
    }
    let places = d.i64().ok()?;
    let mantissa = d.i64().ok()?;
    if !(-9..0).contains(&places) {
        return None;
    }
    let mut scale = 1.0_f64;
    for _ in 0..-places {
        scale *= 10.0;
    }
    Some(Value::Number(mantissa as f64 / scale))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn bytes(fields: &Fields) -> Vec<u8> {
        let mut to = Vec::new();
        fields.encode(&mut to);
        to
    }

    fn back(raw: &[u8]) -> Result<Fields, FieldsError> {
        Fields::decode(&mut Decoder::new(raw))
    }

    fn one(value: impl Into<Value>) -> Fields {
        [(1, value.into())].into_iter().collect()
    }

    #[test]
    fn what_people_log_takes_few_bytes() {
        assert_eq!(bytes(&one(12.3)).len(), 2 + 5);
        assert_eq!(bytes(&one(44.704)).len(), 2 + 6);
        assert_eq!(bytes(&one(-7.0)).len(), 2 + 1);
        assert_eq!(bytes(&one(1.0 / 3.0)).len(), 2 + 9);
    }

    #[test]
    fn a_decimal_fraction_is_written_as_rfc_8949_section_3_4_4_shows_it() {
        // RFC 8949 section 3.4.4: 273.15 is C4 82 21 19 6AB3.
        assert_eq!(bytes(&one(273.15)), [0xa1, 0x01, 0xc4, 0x82, 0x21, 0x19, 0x6a, 0xb3]);
    }

    #[test]
    fn forms_of_a_newer_version_survive_unread() {
        // {1: [1, 2], 2: 5, 3: h'..' tagged 999, 4: 1.5 as a half}
        let raw = [
            0xa4, 0x01, 0x82, 0x01, 0x02, 0x02, 0x05, 0x03, 0xd9, 0x03, 0xe7, 0x41, 0x07, 0x04, 0xf9, 0x3e,
            0x00,
        ];
        let fields = back(&raw).unwrap();
        assert_eq!(fields.whole(2), Some(5));
        assert!(matches!(fields.get(1), Some(Value::Opaque(_))));
        assert_eq!(bytes(&fields), raw);
    }

    #[test]
    fn a_huge_count_in_a_short_text_is_an_error_and_takes_no_memory() {
        assert!(back(&[0xbb, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0x01]).is_err());
    }

    fn any_value() -> impl Strategy<Value = Value> {
        prop_oneof![
            Just(Value::Null),
            any::<bool>().prop_map(Value::Bool),
            (-1e7..1e7_f64).prop_map(Value::Number),
            (-1_000_000_i64..1_000_000, 0_u8..7).prop_map(|(m, p)| Value::Number(
                m as f64 / [1.0, 10.0, 100.0, 1e3, 1e4, 1e5, 1e6][usize::from(p)]
            )),
            ".{0,20}".prop_map(Value::Text),
            any::<[u8; 16]>().prop_map(Value::Id),
            proptest::collection::vec(any::<u8>(), 0..15).prop_map(Value::Bytes),
        ]
    }

    proptest! {
        #[test]
        fn fields_survive_their_bytes(items in proptest::collection::btree_map(any::<u16>(), any_value(), 0..12)) {
            let fields: Fields = items.into_iter().collect();
            prop_assert_eq!(back(&bytes(&fields)).unwrap(), fields);
        }

        #[test]
        fn any_bytes_are_read_or_refused_and_what_is_read_is_written_the_same(raw in proptest::collection::vec(any::<u8>(), 0..40)) {
            let mut d = Decoder::new(&raw);
            if let Ok(fields) = Fields::decode(&mut d) {
                let again = back(&bytes(&fields)).unwrap();
                prop_assert_eq!(again, fields);
            }
        }
    }
}
