//! Text that people write: names and remarks, kept as written but without
//! what could disturb a terminal or reorder a page.

use serde::{Deserialize, Serialize};

use super::check::{Refusal, is_unprintable};

macro_rules! text {
    ($(#[$doc:meta])* $name:ident, $field:literal, $least:literal ..= $most:literal, $newline:literal) => {
        $(#[$doc])*
        #[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
        #[serde(try_from = "String", into = "String")]
        pub struct $name(String);

        impl $name {
            /// The text with the space around it taken off.
            ///
            /// # Errors
            /// A [`Refusal`] if it is too short, too long, or holds control
            /// characters or marks that reorder the text around them.
            pub fn new(text: &str) -> Result<Self, Refusal> {
                let text = text.trim();
                let length = text.chars().count();
                if !($least..=$most).contains(&length) {
                    return Err(Refusal::new($field, text,
                        concat!(stringify!($least), " to ", stringify!($most), " characters"),
                        "it has to fit on a page and say something"));
                }
                if text.chars().any(|c| is_unprintable(c) && !($newline && c == '\n')) {
                    return Err(Refusal::new($field, text, "printable characters",
                        "control characters disturb screens and pages"));
                }
                Ok(Self(text.to_owned()))
            }

            /// The text.
            pub fn as_str(&self) -> &str {
                &self.0
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str(&self.0)
            }
        }

        impl TryFrom<String> for $name {
            type Error = Refusal;
            fn try_from(text: String) -> Result<Self, Refusal> {
                Self::new(&text)
            }
        }

        impl From<$name> for String {
            fn from(text: $name) -> String {
                text.0
            }
        }
    };
}

text!(
    /// A name of a person, club, session or drill.
    Name, "name", 1..=80, false
);
text!(
    /// A longer text: a note, how to do a drill. May have several lines.
    Remark, "text", 1..=4000, true
);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn markup_is_kept_as_text_and_control_characters_are_refused() {
        assert_eq!(Name::new(" <b>O'Neil</b> ").unwrap().as_str(), "<b>O'Neil</b>");
        for bad in ["", "   ", "a\u{1b}[31m", "a\nb", "a\u{202e}b", &"x".repeat(81)] {
            assert!(Name::new(bad).is_err(), "{bad:?}");
        }
        assert!(Remark::new("two\nlines").is_ok());
    }
}
