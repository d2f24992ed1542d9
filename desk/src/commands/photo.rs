//! `photo`: strike marks out of pictures, without a book.

use std::path::Path;
use std::process::ExitCode;

use chalkface_core::face::photo::{self, Asked, PhotoError, Side};
use chalkface_core::model::Hand;
use chalkface_core::words::photo as say;
use serde::Serialize;
use serde_json::json;

use crate::cli::photo::{FaceOptions, Photo};
use crate::error::DeskError;
use crate::output::print;

/// One picture's answer.
#[derive(Serialize)]
struct Answer<'a> {
    file: String,
    face_assumed: bool,
    #[serde(flatten)]
    photo: &'a photo::Photo,
}

pub fn run(json: bool, options: &Photo) -> Result<ExitCode, DeskError> {
    if options.overlay.is_some() && options.images.len() > 1 {
        return Err(DeskError::System("--overlay draws one picture; give one at a time".into()));
    }
    let (_, assumed) = options.face.shape();
    let mut answers = Vec::new();
    let mut text = String::new();
    let mut bad = 0;
    for path in &options.images {
        let file = path.display().to_string();
        match read(path, &options.face) {
            Ok((bytes, photo)) => {
                if let Some(out) = &options.overlay {
                    draw(out, &bytes, &photo).map_err(|problem| problem.of(path))?;
                }
                text += &format!("{file}\n");
                text +=
                    &say::lines(&photo, assumed).iter().map(|line| format!("  {line}\n")).collect::<String>();
                let answer = Answer { file, face_assumed: assumed, photo: &photo };
                answers.push(
                    serde_json::to_value(answer).map_err(|e| DeskError::System(format!("no JSON: {e}")))?,
                );
            }
            Err(problem) => {
                let error = problem.of(path);
                if options.images.len() == 1 {
                    return Err(error);
                }
                bad += 1;
                text += &format!("{error}\n");
                answers.push(
                    json!({ "file": file, "error": { "kind": error.kind(), "text": error.to_string() } }),
                );
            }
        }
    }
    print(json, &answers, || text)?;
    Ok(if bad == 0 { ExitCode::SUCCESS } else { ExitCode::FAILURE })
}

/// What can go wrong with one picture.
pub enum Problem {
    /// It can't be read.
    Photo(PhotoError),
    /// The system has an error.
    File(std::io::Error),
    /// The drawing has another ending than .png.
    Ending(std::path::PathBuf),
    /// The drawing can't be written.
    Out(DeskError),
}

impl Problem {
    /// The error, with the picture's name.
    pub fn of(self, path: &Path) -> DeskError {
        let path = path.to_owned();
        match self {
            Self::Photo(problem) => DeskError::Photo { path, problem },
            Self::File(error) => DeskError::File { path, error },
            Self::Ending(path) => DeskError::Ending { path, allowed: ".png" },
            Self::Out(error) => error,
        }
    }
}

/// Larger files than this are no picture of a phone.
const MOST_BYTES: u64 = 100 << 20;

/// Reads one picture.
///
/// # Errors
/// A [`Problem`] that says what to do.
pub fn read(path: &Path, face: &FaceOptions) -> Result<(Vec<u8>, photo::Photo), Problem> {
    let size = std::fs::metadata(path).map_err(Problem::File)?.len();
    if size > MOST_BYTES {
        return Err(Problem::Photo(PhotoError::NotAPicture));
    }
    let bytes = std::fs::read(path).map_err(Problem::File)?;
    let (shape, _) = face.shape();
    let side = match face.hand {
        Hand::Right => Side::Right,
        Hand::Left => Side::Left,
    };
    let photo = photo::read(&bytes, &Asked { shape, side, handles: face.handles }).map_err(Problem::Photo)?;
    Ok((bytes, photo))
}

fn draw(out: &Path, bytes: &[u8], photo: &photo::Photo) -> Result<(), Problem> {
    if !out.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("png")) {
        return Err(Problem::Ending(out.to_owned()));
    }
    let png = photo::overlay(bytes, photo).map_err(Problem::Photo)?;
    std::fs::write(out, png).map_err(|error| Problem::Out(DeskError::File { path: out.to_owned(), error }))
}
