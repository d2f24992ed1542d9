//! What is kept of a picture of the powdered face: its marks, and a small picture.
//!
//! The picture itself stays with the user. All marks that were on the face are kept, also
//! those of earlier balls and what a person took out, so that the next picture's new ones can
//! be told. Start at [`StrikePhoto`].

use serde::{Deserialize, Serialize};

use super::check::Refusal;
use super::fields::{Fields, Value};
use super::ids::RecordId;
use super::record::{Kind, Record, coded, need};
use super::shot::{MarkRead, StrikeMark};
use super::time::Day;

coded!(
    /// Who placed a mark of a picture, or took it out.
    MarkBy, "by" {
        /// It was found in the picture.
        Picture = 1 "picture",
        /// A person set or moved it.
        Hand = 2 "hand",
        /// It was found in the picture, and a person said that it is of no ball.
        NoStrike = 3 "no_strike",
    }
);

/// One mark of a picture.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct PhotoMark {
    /// Where it is, and how sure.
    pub mark: StrikeMark,
    /// Who placed it.
    pub by: MarkBy,
    /// It was on the face before: of an earlier ball.
    pub earlier: bool,
}

impl PhotoMark {
    /// Whether it is of a ball.
    pub fn is_strike(&self) -> bool {
        self.by != MarkBy::NoStrike
    }

    /// Whether it is of a ball that no earlier picture shows.
    pub fn is_new(&self) -> bool {
        self.is_strike() && !self.earlier
    }
}

/// A picture of the powdered face.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct StrikePhoto {
    /// The visit it belongs to, where it is known.
    pub session: Option<RecordId>,
    /// The local day.
    pub day: Day,
    /// All marks on the face, from heel to toe.
    pub marks: Vec<PhotoMark>,
    /// A small picture of the face laid flat, as JPEG.
    #[serde(skip)]
    pub thumbnail: Vec<u8>,
}

/// A thumbnail may have so many bytes; the reader's have about 6,000.
pub const MOST_THUMBNAIL: usize = 40_000;
/// So many marks are kept of one picture.
pub const MOST_MARKS: usize = 24;

impl StrikePhoto {
    /// # Errors
    /// A [`Refusal`] for too many marks or too large a thumbnail.
    pub fn check(&self) -> Result<(), Refusal> {
        if self.thumbnail.len() > MOST_THUMBNAIL {
            let size = self.thumbnail.len().to_string();
            return Err(Refusal::new(
                "thumbnail",
                size,
                "40,000 bytes at most",
                "the picture itself stays with the user",
            ));
        }
        if self.marks.len() > MOST_MARKS {
            let count = self.marks.len().to_string();
            return Err(Refusal::new(
                "marks",
                count,
                "24 at most",
                "no face holds more that can be told apart",
            ));
        }
        Ok(())
    }
}

/// The marks as one text, so that its bytes are never taken for an identity: toe, high
/// and error in mm, by whom, and whether it was there before, a mark a line.
fn written(marks: &[PhotoMark]) -> String {
    let line = |m: &PhotoMark| {
        let (x, y, s) = (m.mark.toe_mm.mm(), m.mark.high_mm.mm(), m.mark.sigma_mm.mm());
        format!("{x} {y} {s} {} {}", m.by.code(), u8::from(m.earlier))
    };
    marks.iter().map(line).collect::<Vec<_>>().join("\n")
}

fn read(text: &str) -> Result<Vec<PhotoMark>, Refusal> {
    let unclear =
        || Refusal::new("marks", "something else", "five numbers a line", "a mark is a place with its error");
    let line = |line: &str| {
        // A newer version may say more of a mark.
        let parts: Vec<f64> = line.split(' ').map_while(|part| part.parse().ok()).collect();
        let [x, y, sigma, by, earlier, ..] = parts[..] else { return Err(unclear()) };
        let by = MarkBy::from_code(by as i64).unwrap_or(MarkBy::Picture);
        let mark = StrikeMark::new(x, y, Some(sigma), MarkRead::Photo)?;
        Ok(PhotoMark { mark, by, earlier: earlier != 0.0 })
    };
    text.lines().map(line).collect()
}

impl Record for StrikePhoto {
    const KIND: Kind = Kind::STRIKE_PHOTO;

    fn to_fields(&self) -> Fields {
        let mut f = Fields::new();
        f.put(1, self.session.map(|s| s.0));
        f.put(2, Some(self.day.number()));
        f.put(3, Some(written(&self.marks).as_str()));
        // Sixteen bytes would read back as an identity; no picture is that small.
        f.set(4, Value::Bytes(self.thumbnail.clone()));
        f
    }

    fn from_fields(f: &Fields) -> Result<Self, Refusal> {
        let thumbnail = match f.get(4) {
            Some(Value::Bytes(bytes)) => bytes.clone(),
            _ => Vec::new(),
        };
        let photo = Self {
            session: f.id(1).map(RecordId),
            day: Day::from_number(need(f.whole(2), "day")?)?,
            marks: read(f.text(3).unwrap_or_default())?,
            thumbnail,
        };
        photo.check()?;
        Ok(photo)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_picture_survives_its_fields_and_bytes() {
        let mark = |x, by, earlier| PhotoMark {
            mark: StrikeMark::new(x, 4.0, Some(0.75), MarkRead::Photo).unwrap(),
            by,
            earlier,
        };
        let photo = StrikePhoto {
            session: None,
            day: Day::parse("2026-05-04").unwrap(),
            marks: vec![
                mark(-12.25, MarkBy::Picture, true),
                mark(0.1, MarkBy::Hand, false),
                mark(9.0, MarkBy::NoStrike, false),
            ],
            thumbnail: vec![0xff; 300],
        };
        let mut bytes = Vec::new();
        photo.to_fields().encode(&mut bytes);
        let fields = Fields::decode(&mut minicbor::Decoder::new(&bytes)).unwrap();
        assert_eq!(StrikePhoto::from_fields(&fields).unwrap(), photo);
        let none = StrikePhoto { marks: Vec::new(), thumbnail: Vec::new(), ..photo.clone() };
        assert_eq!(StrikePhoto::from_fields(&none.to_fields()).unwrap(), none);
    }

    #[test]
    fn unclear_marks_and_huge_pictures_are_refused() {
        assert!(read("1 2").is_err() && read("a b c d e").is_err() && read("900 0 1 1 0").is_err());
        assert_eq!(read("1 2 0.5 9 0 more").unwrap()[0].by, MarkBy::Picture);
        let day = Day::parse("2026-05-04").unwrap();
        let large = StrikePhoto { session: None, day, marks: Vec::new(), thumbnail: vec![0; 50_000] };
        assert!(large.check().is_err());
    }
}
