//! Small makers of parts that many screens use, and readers of what was written.

use super::block::{Basis, Block};
use super::control::{Control, FieldKind, Look};
use super::part::Part;
use super::run::{Held, Problem};
use crate::words::screen as say;

/// A heading.
pub fn heading(key: &str, text: impl Into<String>) -> Part {
    Part::read(Block::Heading { key: key.into(), text: text.into() })
}

/// A plain paragraph.
pub fn text(key: &str, text: impl Into<String>) -> Part {
    Part::read(Block::Text { key: key.into(), basis: Basis::Measured, text: text.into() })
}

/// A paragraph of something computed.
pub fn inferred(key: &str, text: impl Into<String>) -> Part {
    Part::read(Block::Text { key: key.into(), basis: Basis::Inferred, text: text.into() })
}

/// A caution.
pub fn caution(key: &str, text: impl Into<String>) -> Part {
    Part::read(Block::Caution { key: key.into(), text: text.into() })
}

/// A field with what is written in it so far.
pub fn field(held: &Held, key: &str, name: &str, kind: FieldKind) -> Control {
    field_from(held, key, name, kind, "")
}

/// A field that begins with a text.
pub fn field_from(held: &Held, key: &str, name: &str, kind: FieldKind, begins: &str) -> Control {
    Control::Field {
        key: key.into(),
        name: name.into(),
        text: held.text(key).unwrap_or(begins).to_owned(),
        no: number(held, key),
        kind,
        unit: String::new(),
        hint: String::new(),
        problem: None,
    }
}

/// The number of the latest text or amount of a control.
pub fn number(held: &Held, key: &str) -> u64 {
    held.whole(&format!("#{key}")).unwrap_or(0).max(0) as u64
}

/// Something that can't be taken back: the first press asks, the second does it.
pub struct Final {
    /// Its key; and the one under which it is remembered that it was asked.
    pub key: &'static str,
    /// What it is called.
    pub name: &'static str,
    /// What it does.
    pub hint: &'static str,
    /// The second press's name.
    pub sure: &'static str,
}

const SURE: &str = "sure";
const KEEP: &str = "sure.keep";

impl Final {
    /// As it is offered, or asked.
    pub fn parts(&self, held: &Held) -> Vec<Part> {
        let action = |key: &str, name: &str, look| Control::action(key, name, look);
        if held.text(SURE) != Some(self.key) {
            return vec![action(self.key, self.name, Look::Takes).hint(self.hint).into()];
        }
        vec![
            caution("sure.mind", self.hint),
            action(self.key, self.sure, Look::Takes).into(),
            action(KEEP, crate::words::screen::keep::KEEP, Look::Plain).into(),
        ]
    }

    /// Whether a press is the one that does it: the second of its key. The first one only
    /// asks, and keeping it takes the question back.
    pub fn pressed(&self, held: &mut Held, key: &str) -> bool {
        let sure = key == self.key && held.text(SURE) == Some(self.key);
        if key == KEEP || sure {
            held.clear(SURE);
        } else if key == self.key {
            held.put(SURE, Some(self.key));
        }
        sure
    }
}

impl Control {
    /// The same with a line more, where it has room for one.
    #[must_use]
    pub fn hint(mut self, line: impl Into<String>) -> Self {
        if let Self::Field { hint, .. } | Self::Switch { hint, .. } | Self::Action { hint, .. } = &mut self {
            *hint = line.into();
        }
        self
    }

    /// The same with a unit behind it, where it is a field.
    #[must_use]
    pub fn unit(mut self, of: impl Into<String>) -> Self {
        if let Self::Field { unit, .. } = &mut self {
            *unit = of.into();
        }
        self
    }
}

/// A number as it was written, with a point or a comma; nothing where nothing is.
///
/// # Errors
/// What else was written, with what to write.
pub fn decimal(held: &Held, key: &str, name: &str) -> Result<Option<f64>, Problem> {
    let written = held.text(key).unwrap_or_default().trim();
    if written.is_empty() {
        return Ok(None);
    }
    let plain = written.replace(',', ".").replace('−', "-");
    let number = plain.parse::<f64>().ok().filter(|number| number.is_finite());
    number.map(Some).ok_or_else(|| Problem(say::not_a_number(name, written)))
}

/// A whole number as it was written.
///
/// # Errors
/// As [`decimal`].
pub fn whole(held: &Held, key: &str, name: &str) -> Result<Option<i64>, Problem> {
    let Some(number) = decimal(held, key, name)? else { return Ok(None) };
    if number.fract() == 0.0 && number.abs() < 1e9 {
        return Ok(Some(number as i64));
    }
    Err(Problem(say::not_a_number(name, held.text(key).unwrap_or_default())))
}
