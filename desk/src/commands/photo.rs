//! `photo`: strike marks out of pictures, without a book.

use std::path::Path;
use std::process::ExitCode;

use chalkface_core::face::photo::{self, Asked, Mark, PhotoError, Placed, Side, Step};
use chalkface_core::model::Hand;
use chalkface_core::words::photo as say;
use serde::Serialize;
use serde_json::{Map, Value, json};

use crate::cli::photo::{FaceOptions, Photo};
use crate::clock;
use crate::error::DeskError;
use crate::output::print;

/// One picture's answer.
#[derive(Serialize)]
struct Answer<'a> {
    file: String,
    face_assumed: bool,
    #[serde(flatten)]
    photo: &'a photo::Photo,
    #[serde(skip_serializing_if = "Option::is_none")]
    timing_ms: Option<Map<String, Value>>,
}

/// What a step is called in the program's JSON.
fn step_name(step: Step) -> &'static str {
    match step {
        Step::Decode => "decode",
        Step::Shrink => "shrink",
        Step::Handles => "handles",
        Step::Pose => "pose",
        Step::Rectify => "rectify",
        Step::Marks => "marks",
    }
}

pub fn run(json: bool, options: &Photo) -> Result<ExitCode, DeskError> {
    if options.images.len() > 1 {
        for (out, name) in [(&options.overlay, "--overlay draws"), (&options.flat, "--flat writes")] {
            if out.is_some() {
                return Err(DeskError::System(format!("{name} one picture; give one at a time")));
            }
        }
    }
    let (_, assumed) = options.face.shape();
    let earlier = match &options.since {
        Some(path) => Some(earlier(path, options).map_err(|problem| problem.of(path))?),
        None => None,
    };
    let mut answers = Vec::new();
    let mut text = String::new();
    let mut bad = 0;
    for path in &options.images {
        let file = path.display().to_string();
        match read(path, &options.face) {
            Ok(Read { bytes, photo, times }) => {
                if let Some(out) = &options.overlay {
                    draw(out, &bytes, &photo, photo::overlay).map_err(|problem| problem.of(path))?;
                }
                if let Some(out) = &options.flat {
                    draw(out, &bytes, &photo, photo::flat_png).map_err(|problem| problem.of(path))?;
                }
                text += &format!("{file}\n");
                let new = earlier.as_ref().map(|earlier| photo::are_new(earlier, &placed(&photo.marks)));
                let lines = say::lines(&photo, assumed, new.as_deref());
                text += &lines.iter().map(|line| format!("  {line}\n")).collect::<String>();
                if options.times {
                    let each = times.iter().map(|(step, ms)| format!("{} {ms:.1}", step_name(*step)));
                    text += &format!("  ms: {}\n", each.collect::<Vec<_>>().join(", "));
                }
                let named = |(step, ms): &(Step, f64)| (step_name(*step).to_owned(), json!(ms));
                let times = options.times.then(|| times.iter().map(named).collect());
                let answer = Answer { file, face_assumed: assumed, photo: &photo, timing_ms: times };
                let mut answer =
                    serde_json::to_value(answer).map_err(|e| DeskError::System(format!("no JSON: {e}")))?;
                let marks = answer.get_mut("marks").and_then(Value::as_array_mut);
                for (mark, new) in marks.into_iter().flatten().zip(new.into_iter().flatten()) {
                    if let Some(mark) = mark.as_object_mut() {
                        mark.insert("new".into(), Value::Bool(new));
                    }
                }
                answers.push(answer);
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

/// The marks of the earlier picture of the same face.
fn earlier(path: &Path, options: &Photo) -> Result<Vec<Placed>, Problem> {
    let face = FaceOptions { handles: options.since_handles, ..options.face.clone() };
    Ok(placed(&read(path, &face)?.photo.marks))
}

fn placed(marks: &[Mark]) -> Vec<Placed> {
    marks.iter().map(|mark| (mark.x_mm, mark.y_mm, mark.sigma_mm)).collect()
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

/// A picture that was read.
pub struct Read {
    /// The file's bytes.
    pub bytes: Vec<u8>,
    /// What it shows.
    pub photo: photo::Photo,
    /// What each step took, ms.
    pub times: Vec<(Step, f64)>,
}

/// Reads one picture.
///
/// # Errors
/// A [`Problem`] that says what to do.
pub fn read(path: &Path, face: &FaceOptions) -> Result<Read, Problem> {
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
    let mut times = Vec::new();
    let mut last = clock::watch();
    let mut done = |step| {
        let now = clock::watch();
        times.push((step, (now - last).as_secs_f64() * 1000.0));
        last = now;
    };
    let asked = Asked { shape, side, handles: face.handles };
    let photo = photo::read_watched(&bytes, &asked, &mut done).map_err(Problem::Photo)?;
    Ok(Read { bytes, photo, times })
}

/// Turns a read picture into another picture's bytes.
type Drawing = fn(&[u8], &photo::Photo) -> Result<Vec<u8>, PhotoError>;

fn draw(out: &Path, bytes: &[u8], photo: &photo::Photo, drawing: Drawing) -> Result<(), Problem> {
    if !out.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("png")) {
        return Err(Problem::Ending(out.to_owned()));
    }
    let png = drawing(bytes, photo).map_err(Problem::Photo)?;
    std::fs::write(out, png).map_err(|error| Problem::Out(DeskError::File { path: out.to_owned(), error }))
}
