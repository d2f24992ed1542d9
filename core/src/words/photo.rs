//! What was read of a picture of the face, as a person reads it.
//!
//! Start at [`lines`].

use super::number::{count, fixed};
use crate::face::photo::{HandlesBy, Mark, Photo, Trouble};

/// What is wrong with a picture, and what to do.
pub fn trouble(trouble: Trouble) -> &'static str {
    match trouble {
        Trouble::Tilt => "The face is seen from too far aside: hold the phone in front of it.",
        Trouble::Blur => {
            "The picture is blurred: hold still, let the phone focus on the face, take it again."
        }
        Trouble::Glare => "Light glares off the middle of the face: turn the face or yourself a little.",
        Trouble::Powder => "No powder is seen on the face: spray it, outdoors and away from faces, then hit.",
        Trouble::Cut => "A part of the face is outside the picture: go back a little.",
        Trouble::Small => "The face is too small in the picture: go nearer.",
        Trouble::Handles => {
            "Where the face ends is not sure: look at the four handles and set them, or take it again from the front."
        }
    }
}

/// All that was read, a sentence a line; `new` says which marks an earlier picture doesn't have.
pub fn lines(photo: &Photo, face_assumed: bool, new: Option<&[bool]>) -> Vec<String> {
    let mut lines = Vec::new();
    if !photo.quality.good {
        lines.push("This picture should be taken again:".to_owned());
        lines.extend(photo.quality.problems.iter().map(|what| format!("  {}", trouble(*what))));
    }
    lines.push(match photo.marks.len() {
        0 => "No strike mark.".to_owned(),
        n => format!("{}, from heel to toe:", count(n as u64, "strike mark")),
    });
    lines.extend(photo.marks.iter().enumerate().map(|(n, one)| {
        let since = match new.and_then(|new| new.get(n)) {
            Some(true) => "new: ",
            Some(false) => "as before: ",
            None => "",
        };
        format!("  {since}{}", mark(one))
    }));
    if photo.handles_by == HandlesBy::Proposed {
        lines.push(
            "Where the face ends was found in the picture; look at it with --overlay, and set it with --handles \
             where it is wrong."
                .to_owned(),
        );
    }
    if face_assumed {
        lines.push(format!(
            "The face is taken as {} x {} mm, a usual one: measure yours once and give it with --face.",
            fixed(photo.face.width_mm, 0),
            fixed(photo.face.height_mm, 0)
        ));
    }
    lines
}

/// One mark in a line.
pub fn mark(mark: &Mark) -> String {
    let doubt = if mark.confidence < 0.7 { "; it may be something else, look at it" } else { "" };
    format!(
        "{}, {}, {} mm across; off by less than {} mm in 95 of 100{doubt}",
        side(mark.x_mm, "toward the toe", "toward the heel", "between heel and toe"),
        side(mark.y_mm, "high", "low", "up and down"),
        fixed(mark.diameter_mm, 0),
        // Two numbers of one standard error each: 95 of 100 lie within 2.45 of it (Rayleigh).
        fixed(2.448 * mark.sigma_mm, 1)
    )
}

fn side(mm: f64, plus: &str, minus: &str, middle: &str) -> String {
    if mm.abs() < 0.05 {
        format!("in the middle {middle}")
    } else {
        format!("{} mm {}", fixed(mm.abs(), 1), if mm > 0.0 { plus } else { minus })
    }
}
