//! What a page sends: forms in `application/x-www-form-urlencoded` (WHATWG URL, 5.1), and
//! the event that one stands for.

use chalkface_core::screen::{Event, Outcome};

/// The fields of a form, in order.
pub struct Form(Vec<(String, String)>);

impl Form {
    /// A form from its bytes. What isn't text is replaced, never refused.
    pub fn read(bytes: &[u8]) -> Self {
        let pairs = bytes.split(|byte| *byte == b'&').filter(|pair| !pair.is_empty());
        let pair = |pair: &[u8]| {
            let at = pair.iter().position(|byte| *byte == b'=').unwrap_or(pair.len());
            let (name, value) = pair.split_at(at);
            (decoded(name), decoded(value.get(1..).unwrap_or_default()))
        };
        Self(pairs.map(pair).collect())
    }

    /// A field.
    pub fn get(&self, name: &str) -> Option<&str> {
        self.0.iter().find(|(of, _)| of == name).map(|(_, value)| value.as_str())
    }

    /// The event that it stands for.
    pub fn event(&self) -> Option<Event> {
        let key = || Some(self.get("key")?.to_owned());
        let number = |name: &str| self.get(name)?.parse::<f64>().ok().filter(|n| n.is_finite());
        let no = || self.get("no").and_then(|no| no.parse().ok()).unwrap_or(0);
        Some(match self.get("event")? {
            "wake" => Event::Wake,
            "press" => Event::Press { key: key()? },
            "choose" => Event::Choose { key: key()?, option: self.get("option")?.to_owned() },
            "switch" => Event::Switch { key: key()?, on: self.get("on")? == "true" },
            "write" => Event::Write { key: key()?, text: self.get("text")?.to_owned(), no: no() },
            "slide" => Event::Slide { key: key()?, value: number("value")?, no: no() },
            "touch" => Event::Touch { key: key()?, x_mm: number("x")?, y_mm: number("y")? },
            "drag" => Event::Drag {
                key: key()?,
                point: self.get("point")?.to_owned(),
                x_px: number("x")?,
                y_px: number("y")?,
                no: no(),
            },
            "open" => Event::Open { key: key()?, row: self.get("row")?.to_owned() },
            "go" => Event::Go { tab: self.get("tab")?.to_owned() },
            "back" => Event::Back,
            "undo" => Event::Undo,
            "dismiss" => Event::Dismiss { notice: self.get("notice")?.parse().ok()? },
            "answer" => {
                let outcome = match self.get("outcome")? {
                    "done" => Outcome::Done,
                    "failed" => Outcome::Failed { why: self.get("why")?.to_owned() },
                    _ => Outcome::GivenUp,
                };
                Event::Answer { effect: self.get("effect")?.parse().ok()?, outcome }
            }
            _ => return None,
        })
    }
}

fn decoded(bytes: &[u8]) -> String {
    let hex = |at: usize| {
        let pair = bytes.get(at + 1..at + 3)?;
        u8::from_str_radix(std::str::from_utf8(pair).ok()?, 16).ok()
    };
    let (mut out, mut at) = (Vec::with_capacity(bytes.len()), 0);
    while let Some(&byte) = bytes.get(at) {
        match (byte, hex(at)) {
            (b'%', Some(byte)) => {
                out.push(byte);
                at += 2;
            }
            (b'+', _) => out.push(b' '),
            (byte, _) => out.push(byte),
        }
        at += 1;
    }
    String::from_utf8_lossy(&out).replace("\r\n", "\n")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_form_is_read_as_browsers_write_it() {
        let form = Form::read("event=write&key=a.b&text=M%C3%ADna+%26+Co%2B%25&no=3&odd=%zz%4".as_bytes());
        let text = "Mína & Co+%".to_owned();
        assert_eq!(form.event(), Some(Event::Write { key: "a.b".into(), text, no: 3 }));
        assert_eq!(form.get("odd"), Some("%zz%4"));
        assert_eq!(Form::read(b"&&=&x").get("x"), Some(""));
    }
}
