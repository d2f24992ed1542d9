//! Words of the screen on which a ball is logged.

use super::super::number::{count, fixed};
use crate::model::club::{DEFAULT_FACE_HEIGHT_MM, DEFAULT_FACE_WIDTH_MM};
use crate::model::{Ball, CurveByEye, Hand, MarkRead, Place, Shot, StartByEye};

/// Its title.
pub const TITLE: &str = "A ball";
/// The face to tap.
pub const FACE: &str = "Where the ball met the face";
/// The face to tap, without powder.
pub const FACE_FELT: &str = "Where it felt like";
/// The grid.
pub const FLIGHT: &str = "How it started and curved";
/// The finish.
pub const FINISH: &str = "Finish held for a count of three";
/// Save.
pub const SAVE: &str = "Save this ball";
/// Save with the flight of the ball before.
pub const SAME: &str = "Save, flight as the ball before";
/// Over the setting.
pub const SETTING: &str = "Where and with what";
/// The place.
pub const PLACE: &str = "Place";
/// The kind of ball.
pub const BALL: &str = "Balls";
/// The powder.
pub const POWDER: &str = "Face powdered";
/// The club.
pub const CLUB: &str = "Club";
/// No club said.
pub const NO_CLUB: &str = "Not said";
/// On the course.
pub const COURSE: &str = "On the course no powder: nothing may be put on the face during a round (Rules of Golf 4.1a(3)). Tap the zone where it felt like.";
/// With powder.
pub const POWDERED: &str = "Spray outdoors, away from faces, and wipe it off afterwards.";
/// Nothing was entered.
pub const NOTHING: &str = "Tap the face where the ball met it, or how the ball flew; then save.";
/// There is no ball before.
pub const NO_BEFORE: &str = "There is no ball before this one to take the flight from: tap it in the grid.";

/// The places.
pub fn place(place: Place) -> &'static str {
    match place {
        Place::Lesson => "Lesson",
        Place::Range => "Range",
        Place::Course => "Course",
    }
}

/// The balls.
pub fn ball(ball: Ball) -> &'static str {
    match ball {
        Ball::Course => "As on the course",
        Ball::Range => "Range balls",
        Ball::Foam => "Foam",
    }
}

/// `12 balls here today`.
pub fn so_far(balls: u64, place: Place) -> String {
    match (balls, place) {
        (0, _) => "No ball here yet today".into(),
        (n, Place::Course) => format!("{} on the course today", count(n, "ball")),
        (n, Place::Range) => format!("{} on the range today", count(n, "ball")),
        (n, Place::Lesson) => format!("{} in the lesson today", count(n, "ball")),
    }
}

/// That the ball is one of a drill.
pub const IN_DRILL: &str = "A ball of the drill under way: it counts there. When the drill is over, go back.";

/// What was saved, as undo names it.
pub fn what(no: u64) -> String {
    format!("ball {no}")
}

/// It was saved.
pub fn saved(no: u64, shot: &Shot, hand: Hand) -> String {
    format!("Ball {no} saved: {}.", shot_line(shot, hand))
}

/// A column of the grid.
pub fn start(start: StartByEye) -> &'static str {
    match start {
        StartByEye::FarLeft => "Far left",
        StartByEye::Left => "Left",
        StartByEye::Straight => "On line",
        StartByEye::Right => "Right",
        StartByEye::FarRight => "Far right",
    }
}

/// A row of the grid, in the words of the hand.
pub fn curve(curve: CurveByEye, hand: Hand) -> &'static str {
    let mirrored = hand == Hand::Left;
    match curve {
        CurveByEye::Straight => "Straight",
        CurveByEye::StrongLeft | CurveByEye::StrongRight => {
            if (curve == CurveByEye::StrongLeft) == mirrored {
                "Slice"
            } else {
                "Hook"
            }
        }
        CurveByEye::Left | CurveByEye::Right => {
            if (curve == CurveByEye::Left) == mirrored {
                "Fade"
            } else {
                "Draw"
            }
        }
    }
}

/// A cell in full: `Started left, slice (curves right)`.
pub fn flight(of: StartByEye, curved: CurveByEye, hand: Hand) -> String {
    let side = match curved {
        CurveByEye::StrongLeft | CurveByEye::Left => " (curves left)",
        CurveByEye::StrongRight | CurveByEye::Right => " (curves right)",
        CurveByEye::Straight => "",
    };
    format!("Started {}, {}{side}", start(of).to_lowercase(), curve(curved, hand).to_lowercase())
}

/// A zone of the face.
pub fn zone(key: &str) -> &'static str {
    match key {
        "high_heel" => "High on the heel",
        "high" => "High",
        "high_toe" => "High on the toe",
        "heel" => "Heel",
        "toe" => "Toe",
        "low_heel" => "Low on the heel",
        "low" => "Low",
        "low_toe" => "Low on the toe",
        _ => "Middle",
    }
}

/// The zone of a strike that was only felt, on a face of the usual size.
fn felt_zone(toe_mm: f64, high_mm: f64) -> &'static str {
    let third = |share: f64| if share > 1.0 / 3.0 { 1 } else { -i8::from(share < -1.0 / 3.0) };
    let (wide, tall) = (2.0 * toe_mm / DEFAULT_FACE_WIDTH_MM, 2.0 * high_mm / DEFAULT_FACE_HEIGHT_MM);
    zone(match (third(tall), third(wide)) {
        (1, -1) => "high_heel",
        (1, 0) => "high",
        (1, 1) => "high_toe",
        (0, -1) => "heel",
        (0, 1) => "toe",
        (-1, -1) => "low_heel",
        (-1, 0) => "low",
        (-1, 1) => "low_toe",
        _ => "middle",
    })
}

/// `8 mm toward the toe, 3 mm high`.
pub fn strike(toe_mm: f64, high_mm: f64) -> String {
    // What would be said as nothing is left out.
    let of = |mm: f64, more: &str, less: &str| {
        let side = if mm < 0.0 { less } else { more };
        let far = fixed(mm.abs(), 0);
        (far != "0").then(|| format!("{far} mm {side}"))
    };
    let wide = of(toe_mm, "toward the toe", "toward the heel");
    let tall = of(high_mm, "high", "low");
    match (wide, tall) {
        (None, None) => "in the middle".into(),
        (Some(one), None) | (None, Some(one)) => one,
        (Some(wide), Some(tall)) => format!("{wide}, {tall}"),
    }
}

/// A ball in one line.
pub fn shot_line(shot: &Shot, hand: Hand) -> String {
    let mut said = Vec::new();
    if let Some(mark) = shot.mark {
        let (toe, high) = (mark.toe_mm.mm(), mark.high_mm.mm());
        said.push(match mark.read {
            MarkRead::Felt => format!("felt {}", felt_zone(toe, high).to_lowercase()),
            MarkRead::Photo | MarkRead::Tap => strike(toe, high),
        });
    }
    match (shot.start_by_eye, shot.curve_by_eye) {
        (Some(start), Some(curve)) => said.push(flight(start, curve, hand).to_lowercase()),
        (Some(of), None) => said.push(format!("started {}", start(of).to_lowercase())),
        (None, Some(of)) => said.push(curve(of, hand).to_lowercase()),
        (None, None) => {}
    }
    match shot.finish_held {
        Some(true) => said.push("finish held".into()),
        Some(false) => said.push("finish not held".into()),
        None => {}
    }
    if said.is_empty() { "nothing read".into() } else { said.join("; ") }
}
