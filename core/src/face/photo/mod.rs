//! From a phone picture of a powdered face to strike marks in millimetres.
//!
//! ```text
//! bytes -> decode -> handles (given, or proposed from the picture) -> pose of the camera
//!       -> the face laid flat -> quality: can it be judged? -> marks, each with its error
//! ```
//!
//! Face frame: x toward the toe, y toward the crown, mm, along the face's normal at its
//! centre. Pixels count from the top-left corner of the top-left pixel of the upright
//! picture. The rule: every mark says how far it may be off and how sure it is a mark;
//! what can't be read is an error that says what to do; the same bytes give the same
//! marks on every device, and nothing larger than one decoded picture is ever held.
//!
//! # Where to start
//! [`read`], then [`Photo`] and [`Mark`].

mod camera;
mod coat;
mod decode;
mod disc;
mod ends;
mod error;
mod exif;
mod grey;
mod keypoints;
mod linear;
mod marks;
mod net;
mod outline;
mod overlay;
mod plane;
mod pose;
mod powder;
mod preview;
mod quality;
mod rectify;
mod since;
mod uncertain;

#[cfg(test)]
mod tests;

use serde::Serialize;

pub use camera::{Camera, FaceShape, Pixel};
pub use decode::{LEAST_SIDE, MOST_PIXELS, MOST_SIDE};
pub use error::PhotoError;
pub use grey::{Grey, grey};
pub use overlay::{flat_png, overlay, thumbnail};
pub use preview::{Preview, preview};
pub use quality::{Quality, Trouble};
pub use since::{Placed, accounted_for, are_new};

use keypoints::{Known, Sight};
use pose::View;
use rectify::Flat;
use uncertain::Sources;

/// The hand that a club is made for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Side {
    /// Its toe is on the left, seen from the front.
    Right,
    /// Its toe is on the right, seen from the front.
    Left,
}

/// Where the handles come from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum HandlesBy {
    /// A person set them.
    Given,
    /// They were found in the picture.
    Proposed,
}

/// What is known beside the picture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Asked {
    /// The face's size and curves.
    pub shape: FaceShape,
    /// The hand that the club is for.
    pub side: Side,
    /// Heel end, toe end, crown edge and sole edge in the upright picture, where a person
    /// has set them.
    pub handles: Option<[Pixel; 4]>,
}

/// One strike mark.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Mark {
    /// Toward the toe from the face centre, mm.
    pub x_mm: f64,
    /// Toward the crown from the face centre, mm.
    pub y_mm: f64,
    /// Across, where it is half as dark as inside, mm.
    pub diameter_mm: f64,
    /// Standard error along each axis, the two axes' mean, mm.
    pub sigma_mm: f64,
    /// Standard error toward the toe, mm.
    pub sigma_x_mm: f64,
    /// Standard error toward the crown, mm.
    pub sigma_y_mm: f64,
    /// Correlation of the two errors.
    pub correlation: f64,
    /// How sure it is a strike mark, 0 to 1.
    pub confidence: f64,
    /// Its centre in the upright picture, pixels from the left.
    pub u_px: f64,
    /// Its centre in the upright picture, pixels from the top.
    pub v_px: f64,
}

/// What was read of a picture.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Photo {
    /// Width and height of the upright picture, pixels.
    pub size_px: [usize; 2],
    /// Heel, toe, crown and sole in the upright picture.
    #[serde(serialize_with = "pairs")]
    pub handles: [Pixel; 4],
    /// Where they come from.
    pub handles_by: HandlesBy,
    /// The face that was assumed.
    pub face: FaceShape,
    /// The camera that sees the face so.
    pub pose: Camera,
    /// What is wrong with the picture, if anything.
    pub quality: Quality,
    /// The marks, from heel to toe.
    pub marks: Vec<Mark>,
}

fn pairs<S: serde::Serializer>(handles: &[Pixel; 4], to: S) -> Result<S::Ok, S::Error> {
    handles.map(|at| [at.x, at.y]).serialize(to)
}

/// How far a handle that a person set may be off, mm on the face (one standard deviation, assumed).
const GIVEN_SD_MM: f64 = 0.4;
/// Where a proposed handle may be off by more than this (standard error), no face was seen.
const LOST_SD_MM: f64 = 15.0;
/// The longest side that a face is looked for in, about.
const LOOKED_SIDE: usize = 700;
/// The longest side that marks are searched in; larger pictures are made smaller.
const WORKING_SIDE: usize = 1700;
/// The grid on which a face is laid flat, mm.
const STEP_MM: f64 = 0.5;

/// A part of the work of reading a picture.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Step {
    /// Bytes to pixels.
    Decode,
    /// The pixels upright and smaller.
    Shrink,
    /// The networks' look at the face; with handles that are given only at its powder.
    Handles,
    /// The camera's pose.
    Pose,
    /// The face laid flat, and the picture judged.
    Rectify,
    /// Marks and their errors.
    Marks,
}

/// Reads a picture: handles, quality and marks.
///
/// # Errors
/// [`PhotoError`] where the bytes are no usable picture, the face's size or the handles
/// can't be, or no face is found.
pub fn read(bytes: &[u8], asked: &Asked) -> Result<Photo, PhotoError> {
    read_watched(bytes, asked, &mut |_| ())
}

/// The same; `done` is told of each step at its end, for whoever has a clock.
///
/// # Errors
/// As [`read`].
pub fn read_watched(bytes: &[u8], asked: &Asked, done: &mut dyn FnMut(Step)) -> Result<Photo, PhotoError> {
    asked.shape.check()?;
    let raw = decode::decode(bytes)?;
    done(Step::Decode);
    let size = raw.upright();
    let small = raw.shrunk((size.0.max(size.1) / WORKING_SIDE).max(1), false);
    let looked = raw.shrunk((size.0.max(size.1) / LOOKED_SIDE).max(1), true);
    let toe_left = asked.side == Side::Right;
    let mut view = View { size, focal_35mm: raw.hints.focal_35mm, handle_sd_mm: [[GIVEN_SD_MM; 2]; 4] };
    drop(raw);
    done(Step::Shrink);
    let known = Known { shape: &asked.shape, view: &view, toe_left };
    let sight = match &asked.handles {
        Some(handles) => {
            if pose::check(handles, size)? != toe_left {
                let (seen, said) = if toe_left { ("left", "right") } else { ("right", "left") };
                return Err(PhotoError::OtherHand { seen, said });
            }
            keypoints::at(&looked, handles, known)
        }
        None => Some(whole(keypoints::propose(&looked, known), size, toe_left)?),
    };
    let sight = sight.map(|sight| {
        let at = asked.handles.unwrap_or(sight.handles);
        Sight { powder: powder::odds(&looked, &at, &sight, known), ..sight }
    });
    done(Step::Handles);
    let (handles, handles_by) = match (asked.handles, &sight) {
        (Some(handles), _) => (handles, HandlesBy::Given),
        (None, Some(sight)) => {
            view.handle_sd_mm = sight.sd_mm;
            (sight.handles, HandlesBy::Proposed)
        }
        (None, None) => return Err(PhotoError::NoFace),
    };
    let proposed = handles_by == HandlesBy::Proposed;
    let pose = pose::fit(&handles, &asked.shape, &view)
        .map_err(|error| if proposed { PhotoError::NoFace } else { error })?;
    let sources = Sources::of(&pose, &handles, &asked.shape, &view);
    let handles = if proposed { pose::as_seen(&pose.camera, &asked.shape, size, handles) } else { handles };
    done(Step::Pose);
    let flat = Flat::of(&small, &pose.camera, &asked.shape, STEP_MM);
    let quality = quality::judge(&flat, &pose, &asked.shape, sight.as_ref(), proposed);
    done(Step::Rectify);
    let marks = marks::find(&flat.coarser(2), &asked.shape)
        .into_iter()
        .filter_map(|found| stated(&found, &pose.camera, &asked.shape, &sources))
        .collect();
    done(Step::Marks);
    Ok(Photo {
        size_px: [size.0, size.1],
        handles,
        handles_by,
        face: asked.shape,
        pose: pose.camera,
        quality,
        marks,
    })
}

/// A proposal that is a whole face in the picture.
fn whole(sight: Option<Sight>, size: (usize, usize), toe_left: bool) -> Result<Sight, PhotoError> {
    let sight = sight.filter(|sight| sight.worst_mm() < LOST_SD_MM).ok_or(PhotoError::NoFace)?;
    match pose::check(&sight.handles, size) {
        Ok(left) if left == toe_left => Ok(sight),
        Err(PhotoError::Outside { .. }) => Err(PhotoError::CutOff),
        _ => Err(PhotoError::NoFace),
    }
}

/// A found mark with its whole error.
fn stated(found: &marks::Found, camera: &Camera, shape: &FaceShape, sources: &Sources) -> Option<Mark> {
    let (x, y) = (found.disc.x, found.disc.y);
    let seen = camera.see(shape, x, y)?;
    let more = sources.at([x, y]);
    let [xx, xy, yy] =
        [0, 1, 2].map(|i| found.spread.get(i).copied().unwrap_or(0.0) + more.get(i).copied().unwrap_or(0.0));
    let (sx, sy) = (xx.max(1e-6).sqrt(), yy.max(1e-6).sqrt());
    Some(Mark {
        x_mm: x,
        y_mm: y,
        diameter_mm: 2.0 * found.disc.radius,
        sigma_mm: f64::midpoint(xx, yy).max(1e-6).sqrt(),
        sigma_x_mm: sx,
        sigma_y_mm: sy,
        correlation: (xy / (sx * sy)).clamp(-0.99, 0.99),
        confidence: found.confidence,
        u_px: seen.x,
        v_px: seen.y,
    })
}
