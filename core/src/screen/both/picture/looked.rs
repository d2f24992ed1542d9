//! A held picture as it stands: what was read of it, and what a person did to that.
//!
//! The rule: a pure function of the picture, what is held on the screen and the day's
//! picture before; marks keep the keys they were found under. Start at [`Looked`].

use std::fmt::Write as _;
use std::sync::Arc;

use super::{ADDED, ENDS, FRESH, MOST_ADDED, OUT, PAD, TURNED};
use crate::act::{read_mark, set_mark, tell_earlier};
use crate::book::{Book, StudentEntry};
use crate::face::photo::{self, Asked, FaceShape, Photo, Pixel, Preview, Side};
use crate::model::{Day, Hand, MarkBy, PhotoMark, RecordId, Refusal, StrikePhoto};
use crate::screen::run::{Ask, Found, Held, Problem};
use crate::screen::student::ball::Here;
use crate::words::screen::picture as say;

/// What was read of a picture, and what of it is kept.
pub struct Read {
    /// The face, its quality and its marks.
    pub photo: Photo,
    /// The small grey picture of the face.
    pub thumbnail: Vec<u8>,
}

/// One mark as it stands.
pub struct Mark {
    /// Its point's key.
    pub key: String,
    /// Where it is on the picture.
    pub at: Pixel,
    /// Where it is on the face.
    pub placed: PhotoMark,
    /// Standard error (mm) and confidence, where it was read.
    pub read: Option<(f64, f64)>,
}

/// A picture as it stands.
pub struct Looked {
    /// Heel, toe, crown and sole on the picture.
    pub ends: [Pixel; 4],
    /// Where they were found.
    pub found: Option<[Pixel; 4]>,
    /// What was read, once it was.
    pub read: Option<Arc<Read>>,
    /// The marks, those found first.
    pub marks: Vec<Mark>,
    /// What was found and is of no ball.
    pub no_strikes: Vec<PhotoMark>,
}

impl Looked {
    /// `answer` says what was read with the ends that a person set, or with none set.
    ///
    /// # Errors
    /// A refusal for a mark off every face.
    pub fn at(
        held: &Held,
        hand: Hand,
        preview: &Preview,
        before: Option<&StrikePhoto>,
        mut answer: impl FnMut(Option<&[Pixel; 4]>) -> Option<Arc<Read>>,
    ) -> Result<Self, Refusal> {
        let found = answer(None);
        let ends = ends(held, found.as_ref().map(|of| &of.photo.handles), preview, hand);
        let handles = found.as_ref().map(|of| of.photo.handles);
        let read = if are_dragged(held) { answer(Some(&ends)) } else { found };
        let all = read.as_ref().map_or_else(|| Ok(Vec::new()), |of| marks(held, &of.photo, before))?;
        let (marks, none): (Vec<Mark>, Vec<Mark>) = all.into_iter().partition(|mark| mark.placed.is_strike());
        let no_strikes = none.into_iter().map(|mark| mark.placed).collect();
        Ok(Self { ends, found: handles, read, marks, no_strikes })
    }

    /// How many were not there before.
    pub fn new_marks(&self) -> usize {
        self.marks.iter().filter(|mark| mark.placed.is_new()).count()
    }
}

/// What of a picture is worth looking at: the face as it was found, with as much around it
/// as an end may be off; the whole picture where none was found. It stays while ends are
/// dragged, so that nothing slides under a finger.
pub fn view(preview: &Preview, found: Option<&[Pixel; 4]>) -> [f64; 4] {
    /// Shown around the face, as a share of its longer side.
    const AROUND: f64 = 0.35;
    let [width, height] = preview.size_px.map(|side| side as f64);
    let Some(ends) = found else { return [0.0, 0.0, width, height] };
    let least = |of: fn(&Pixel) -> f64| ends.iter().map(of).fold(f64::INFINITY, f64::min);
    let most = |of: fn(&Pixel) -> f64| ends.iter().map(of).fold(f64::NEG_INFINITY, f64::max);
    let (left, right, top, bottom) = (least(|p| p.x), most(|p| p.x), least(|p| p.y), most(|p| p.y));
    let around = AROUND * (right - left).max(bottom - top);
    let (x, y) = (libm::floor((left - around).max(0.0)), libm::floor((top - around).max(0.0)));
    let (far_x, far_y) = (libm::ceil((right + around).min(width)), libm::ceil((bottom + around).min(height)));
    [x, y, far_x - x, far_y - y]
}

/// Whether a person set the ends.
pub fn are_dragged(held: &Held) -> bool {
    ENDS.iter().any(|end| held.point(PAD, end).is_some())
}

/// Keys of marks in a held list.
pub fn listed<'a>(held: &'a Held, list: &str) -> impl Iterator<Item = &'a str> {
    held.text(list).unwrap_or_default().split(' ').filter(|key| !key.is_empty())
}

/// The question after a picture made small.
pub fn shown_ask(student: &StudentEntry, day: Day, file: RecordId) -> Ask {
    Ask::new(say::SHOWN, Some(student.strand), day).with(file.to_string())
}

/// Its answer.
///
/// # Errors
/// Why it is no picture.
pub fn show_it(book: &Book, ask: &Ask) -> Result<Found, Problem> {
    Ok(Arc::new(photo::preview(&bytes_of(book, &ask.more)?).map_err(|error| said(&error))?))
}

/// The question after a picture's marks: with the ends that a person set, or none.
pub fn read_ask(
    student: &StudentEntry,
    day: Day,
    here: &Here,
    file: RecordId,
    ends: Option<&[Pixel; 4]>,
) -> Ask {
    let (width, height) = here.face_mm();
    let side = if here.hand() == Hand::Left { "left" } else { "right" };
    let mut more = format!("{file} {side} {width} {height}");
    for end in ends.into_iter().flatten() {
        // Writing into a String can't fail.
        let _ = write!(more, " {} {}", end.x, end.y);
    }
    Ask::new(say::READ, Some(student.strand), day).with(more)
}

/// Its answer: nothing where no face is found, as its ends are set by hand then.
///
/// # Errors
/// Why it can't be read.
pub fn read_it(book: &Book, ask: &Ask) -> Result<Found, Problem> {
    let mut parts = ask.more.split(' ');
    let bytes = bytes_of(book, parts.next().unwrap_or_default())?;
    let side = if parts.next() == Some("left") { Side::Left } else { Side::Right };
    let numbers: Vec<f64> = parts.filter_map(|part| part.parse().ok()).collect();
    let at = |n: usize| numbers.get(n).copied();
    let end = |n: usize| Some(Pixel { x: at(n)?, y: at(n + 1)? });
    let handles = end(2).zip(end(4)).zip(end(6).zip(end(8))).map(|((a, b), (c, d))| [a, b, c, d]);
    let (width_mm, height_mm) = (at(0).unwrap_or_default(), at(1).unwrap_or_default());
    let shape = FaceShape { width_mm, height_mm, ..FaceShape::default() };
    let read = match photo::read(&bytes, &Asked { shape, side, handles }) {
        Err(photo::PhotoError::NoFace | photo::PhotoError::CutOff) => None,
        read => {
            let photo = read.map_err(|error| said(&error))?;
            let thumbnail = photo::thumbnail(&bytes, &photo).map_err(|error| said(&error))?;
            Some(Arc::new(Read { photo, thumbnail }))
        }
    };
    Ok(Arc::new(read))
}

fn said(error: &photo::PhotoError) -> Problem {
    Problem(error.to_string())
}

fn bytes_of(book: &Book, file: &str) -> Result<Vec<u8>, Problem> {
    let gone = || Problem(say::GONE.into());
    let id: uuid::Uuid = file.parse().map_err(|_| gone())?;
    book.held(id.as_bytes())?.ok_or_else(gone)
}

/// Where the ends stand until they are found or set.
fn somewhere(preview: &Preview, hand: Hand) -> [Pixel; 4] {
    let [width, height] = preview.size_px.map(|side| side as f64);
    let toe = if hand == Hand::Left { 0.75 } else { 0.25 };
    [(1.0 - toe, 0.5), (toe, 0.5), (0.5, 0.3), (0.5, 0.7)].map(|(x, y)| Pixel { x: x * width, y: y * height })
}

/// The four ends: where they were dragged to, else where they were found.
fn ends(held: &Held, found: Option<&[Pixel; 4]>, preview: &Preview, hand: Hand) -> [Pixel; 4] {
    let mut ends = found.copied().unwrap_or_else(|| somewhere(preview, hand));
    for (end, key) in ends.iter_mut().zip(ENDS) {
        if let Some((x, y, _)) = held.point(PAD, key) {
            *end = Pixel { x, y };
        }
    }
    ends
}

/// The marks: those read, moved where they were dragged, with those that were added; those
/// taken out are no strikes.
fn marks(held: &Held, read: &Photo, before: Option<&StrikePhoto>) -> Result<Vec<Mark>, Refusal> {
    let is_in = |list: &str, key: &str| listed(held, list).any(|of| of == key);
    let mut marks = Vec::new();
    for (n, mark) in read.marks.iter().enumerate() {
        let key = format!("mark{n}");
        match held.point(PAD, &key) {
            Some((x, y, _)) if !is_in(OUT, &key) => marks.extend(set_at(read, key, Pixel { x, y })?),
            _ => {
                let mut placed = read_mark(mark)?;
                if is_in(OUT, &key) {
                    placed.by = MarkBy::NoStrike;
                }
                let at = Pixel { x: mark.u_px, y: mark.v_px };
                marks.push(Mark { key, at, placed, read: Some((mark.sigma_mm, mark.confidence)) });
            }
        }
    }
    for n in 0..held.whole(ADDED).unwrap_or(0).clamp(0, MOST_ADDED) {
        let key = format!("added{n}");
        let middle = read.pose.see(&read.face, 0.0, 0.0);
        let at = held.point(PAD, &key).map(|(x, y, _)| Pixel { x, y }).or(middle);
        if let Some(at) = at.filter(|_| !is_in(OUT, &key)) {
            marks.extend(set_at(read, key, at)?);
        }
    }
    if let Some(before) = before.filter(|_| held.flag(FRESH) != Some(true)) {
        let mut placed: Vec<PhotoMark> = marks.iter().map(|mark| mark.placed).collect();
        tell_earlier(&mut placed, before);
        marks.iter_mut().zip(placed).for_each(|(mark, placed)| mark.placed = placed);
    }
    for mark in marks.iter_mut().filter(|mark| is_in(TURNED, &mark.key)) {
        mark.placed.earlier = !mark.placed.earlier;
    }
    Ok(marks)
}

/// A mark that was set at a pixel; one beside the face goes to the face's edge.
fn set_at(read: &Photo, key: String, at: Pixel) -> Result<Option<Mark>, Refusal> {
    let Some([toe_mm, high_mm]) = read.pose.on_face(&read.face, at) else { return Ok(None) };
    let (half_width, half_height) = (0.5 * read.face.width_mm, 0.5 * read.face.height_mm);
    let placed = set_mark(toe_mm.clamp(-half_width, half_width), high_mm.clamp(-half_height, half_height))?;
    Ok(Some(Mark { key, at, placed, read: None }))
}
