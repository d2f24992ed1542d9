//! What is half entered on one screen: keys to values.
//!
//! The rule: it is bounded, whatever comes in; a screen reads its own keys and takes
//! what isn't there, or is of another form, as not entered. Start at [`Held`].

use std::collections::BTreeMap;

use minicbor::{Decoder, Encoder};
use uuid::Uuid;

use crate::model::fields::FieldsError;
use crate::model::{Fields, RecordId, Value};

/// Entries of one screen at most.
const MOST_ENTRIES: usize = 64;
/// Bytes of one text at most; longer ones are cut at a character.
pub const MOST_TEXT: usize = 4000;

/// Keys to values.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Held(BTreeMap<String, Value>);

impl Held {
    /// Sets a value, or takes it out.
    pub fn put(&mut self, key: impl Into<String>, value: Option<impl Into<Value>>) {
        let key = key.into();
        match value.map(Into::into) {
            Some(value) if self.0.contains_key(&key) || self.0.len() < MOST_ENTRIES => {
                self.0.insert(key, bounded(value));
            }
            Some(_) => {}
            None => {
                self.0.remove(&key);
            }
        }
    }

    /// Takes a value out.
    pub fn clear(&mut self, key: &str) {
        self.0.remove(key);
    }

    /// Takes out all values whose key begins so.
    pub fn clear_all(&mut self, start: &str) {
        self.0.retain(|key, _| !key.starts_with(start));
    }

    /// A text.
    pub fn text(&self, key: &str) -> Option<&str> {
        match self.0.get(key)? {
            Value::Text(text) => Some(text),
            _ => None,
        }
    }

    /// A number.
    pub fn number(&self, key: &str) -> Option<f64> {
        match self.0.get(key)? {
            Value::Number(number) => Some(*number),
            _ => None,
        }
    }

    /// A whole number.
    pub fn whole(&self, key: &str) -> Option<i64> {
        self.number(key).filter(|n| n.fract() == 0.0 && n.abs() < 9e15).map(|n| n as i64)
    }

    /// Yes or no.
    pub fn flag(&self, key: &str) -> Option<bool> {
        match self.0.get(key)? {
            Value::Bool(flag) => Some(*flag),
            _ => None,
        }
    }

    /// A record's identity.
    pub fn record(&self, key: &str) -> Option<RecordId> {
        match self.0.get(key)? {
            Value::Id(id) => Some(RecordId(Uuid::from_bytes(*id))),
            _ => None,
        }
    }

    /// Where a point of a picture was dragged to, in pixels, and the number of that drag.
    pub fn point(&self, key: &str, point: &str) -> Option<(f64, f64, u64)> {
        let mut parts = self.text(&super::accept::point_key(key, point))?.split(' ');
        let mut number = || parts.next()?.parse::<f64>().ok().filter(|number| number.is_finite());
        let (x, y, no) = (number()?, number()?, number()?);
        Some((x, y, no as u64))
    }

    /// Whether nothing is held.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    pub(super) fn encode(&self, to: &mut Vec<u8>) {
        // Writing into a Vec can't fail: its error type is empty.
        let _ = Encoder::new(&mut *to).array(self.0.len() as u64 * 2);
        for (key, value) in &self.0 {
            let _ = Encoder::new(&mut *to).str(key);
            [(1, value.clone())].into_iter().collect::<Fields>().encode(to);
        }
    }

    pub(super) fn decode(d: &mut Decoder<'_>) -> Result<Self, FieldsError> {
        let mut held = Self::default();
        for _ in 0..d.array()?.unwrap_or(0) / 2 {
            let key = d.str()?.to_owned();
            let value = Fields::decode(d)?.take(1);
            held.put(key, value);
        }
        Ok(held)
    }
}

/// Numbers that are none are nothing; texts are cut.
fn bounded(value: Value) -> Value {
    match value {
        Value::Text(text) if text.len() > MOST_TEXT => {
            let end = (0..=MOST_TEXT).rev().find(|at| text.is_char_boundary(*at)).unwrap_or(0);
            Value::Text(text.get(..end).unwrap_or_default().to_owned())
        }
        Value::Number(number) if !number.is_finite() => Value::Null,
        other => other,
    }
}

impl From<RecordId> for Value {
    fn from(id: RecordId) -> Self {
        Self::Id(*id.bytes())
    }
}
