//! Words on and about the charts of flights, landings and the face map.
//!
//! The rule that must hold: a distance comes with its unit, a side with its
//! side, and what a model can't know is said beside what it says.
//!
//! # Where to start
//! The functions named after the chart.

use super::number::{counted, fixed};
use super::pattern::mm;

/// Under every map of the face.
pub const FACE_MAP_DOUBT: &str = "Computed with a rigid club head: it shows where carry is lost and in \
                                  which order. How much is lost far from the centre it does not know.";
/// Under a map whose cells are too small for numbers.
pub const VALUES_LEFT_OUT: &str = "The cells are too small for numbers at this width; shades tell the bands.";
/// Said on a map without a single carry.
pub const NO_CARRY: &str = "No carry to show";
/// Legend: the best cell.
pub const BEST_CELL: &str = "carries farthest";
/// Said on a landing chart without balls.
pub const NO_BALLS: &str = "No balls yet";
/// Said on a flight chart without flights.
pub const NO_FLIGHTS: &str = "No flights yet";
/// Legend: the line that the player aims along.
pub const TARGET_LINE: &str = "target line";
/// Legend: where a ball started to.
pub const START_LINE: &str = "start line";
/// Legend: from the end of the start line to the landing.
pub const CURVE: &str = "curve";
/// Legend: the highest point.
pub const APEX: &str = "highest point";
/// Legend: the landing.
pub const LANDING: &str = "landing";
const STRAIGHT: &str = "straight";
/// Left of the target line.
pub const LEFT: &str = "left";
/// Right of the target line.
pub const RIGHT: &str = "right";
/// Heading of a side view.
pub const FROM_THE_SIDE: &str = "From the side";
/// Heading of a top view.
pub const FROM_ABOVE: &str = "From above";
/// Legend: the middle of the balls, before its distances.
pub const MIDDLE_OF_BALLS: &str = "middle: ";
/// A direct label before the curve's size.
pub const CURVES: &str = "curves";
/// A direct label in place of a curve's size.
pub const NO_CURVE: &str = "no curve";

/// How the face is seen on a map, and what its numbers are.
pub fn face_map_view(left_handed: bool, unit: &str) -> String {
    let (hand, side) = if left_handed { ("Left", "right") } else { ("Right", "left") };
    let unit = unit_word(unit);
    format!(
        "Carry lost, {unit}. {hand}-handed driver seen from the front, toe on the {side}; scale in mm from the centre"
    )
}

fn unit_word(unit: &str) -> &str {
    match unit {
        "m" => "metres",
        "yd" => "yards",
        other => other,
    }
}

/// Legend: a band of loss, both ends in it; the last has no end.
pub fn lost_band(from: u32, to: Option<u32>, unit: &str) -> String {
    match to {
        None => format!("loses {from} {unit} or more"),
        Some(to) if to == from => format!("loses {from} {unit}"),
        Some(to) => format!("loses {from} to {to} {unit}"),
    }
}

/// Text alternative of the cells.
pub fn map_cells(cells: usize, unit: &str) -> String {
    let cells = counted(cells as u64, "cell", "cells");
    format!("{cells} of the face with the carry lost in each, {}.", unit_word(unit))
}

/// A place on the face in words.
pub fn place_on_face(toe_mm: f64, high_mm: f64) -> String {
    let side = |value: f64, plus: &str, minus: &str| {
        let word = if value < 0.0 { minus } else { plus };
        (value.abs() >= 0.5).then(|| format!("{} {word}", mm(value.abs())))
    };
    let toe = side(toe_mm, "toward the toe", "toward the heel");
    let high = side(high_mm, "above the centre", "below the centre");
    match (toe, high) {
        (Some(toe), Some(high)) => format!("{toe} and {high}"),
        (Some(one), None) | (None, Some(one)) => one,
        (None, None) => "in the centre".to_owned(),
    }
}

/// Text alternative: the best place of a map.
pub fn map_best(place: &str, carry: &str) -> String {
    format!("It carries farthest struck {place}: {carry}.")
}

/// Text alternative: the worst place of a map.
pub fn map_worst(place: &str, lost: &str) -> String {
    format!("It loses most struck {place}: {lost}.")
}

/// `6 m right`, or `straight` where it rounds to nothing. The distance is ready
/// text without its sign.
pub fn aside(distance: &str, right_m: f64) -> String {
    if distance.starts_with("0 ") {
        return STRAIGHT.to_owned();
    }
    format!("{distance} {}", if right_m < 0.0 { LEFT } else { RIGHT })
}

/// Whether [`aside`] or [`turned`] found nothing to tell.
pub fn is_straight(text: &str) -> bool {
    text == STRAIGHT
}

/// `2.4° right`, or `straight`.
pub fn turned(right_deg: f64) -> String {
    match fixed(right_deg.abs(), 1).as_str() {
        "0.0" => STRAIGHT.to_owned(),
        degrees => format!("{degrees}° {}", if right_deg < 0.0 { LEFT } else { RIGHT }),
    }
}

/// Label of a start line.
pub fn starts(right_deg: f64) -> String {
    format!("starts {}", turned(right_deg))
}

/// Label of the highest point.
pub fn high(apex: &str) -> String {
    format!("{apex} high")
}

/// Label of the landing angle.
pub fn down(landing_deg: f64) -> String {
    format!("{}° down", fixed(landing_deg, 0))
}

/// One flight in words. Distances are ready text.
pub fn flight(carry: &str, apex: &str, landing_deg: f64, start_deg: f64, curve: &str) -> String {
    let curve = if is_straight(curve) { "does not curve".to_owned() } else { format!("curves {curve}") };
    format!(
        "Carries {carry}, {apex} high, lands at {}°; {}, {curve}.",
        fixed(landing_deg, 0),
        starts(start_deg)
    )
}

/// Under the title of a flight chart.
pub fn paths_view(unit: &str) -> String {
    format!("Distances in {}; from above, right is down", unit_word(unit))
}

/// How much larger than lengths a side view draws heights.
pub fn tall(times: u32) -> String {
    match times {
        1 => "heights to the same scale as lengths".to_owned(),
        n => format!("heights enlarged {n} times; angles in words are true"),
    }
}

/// How much larger than lengths a top view draws sideways distances.
pub fn wide(times: u32) -> String {
    match times {
        1 => "sideways to the same scale as lengths".to_owned(),
        n => format!("sideways enlarged {n} times"),
    }
}

/// Text alternative of a flight chart.
pub fn paths_alt(view: &str, flights: usize) -> String {
    match flights {
        0 => format!("{view}. {NO_FLIGHTS}."),
        n => format!("{view}. {}.", counted(n as u64, "flight", "flights")),
    }
}

/// Under the title of a landing chart.
pub fn landing_view(unit: &str) -> String {
    format!("Where the balls came down, {}: carry up the page, all to one scale", unit_word(unit))
}

/// Legend: the fairway.
pub fn fairway(width: &str) -> String {
    format!("fairway, {width} wide")
}

/// Legend and text alternative: a middle in distances.
pub fn middle_at(carry: &str, aside: &str) -> String {
    format!("{carry}, {aside}")
}

/// Legend: how many balls a set has, after its name.
pub fn balls_alt(label: &str, balls: usize) -> String {
    format!("{label}: {}.", counted(balls as u64, "ball", "balls"))
}

/// Text alternative of a scatter.
pub fn scatter_alt(middle: &str, one: (&str, &str), most: (&str, &str)) -> String {
    format!(
        "On average {middle}. About 4 balls in 10 lie in an ellipse with half axes {} and {}, about 19 in 20 \
         in one with {} and {}.",
        one.0, one.1, most.0, most.1
    )
}

/// Text alternative of a landing chart: how many are on the fairway.
pub fn on_fairway(inside: usize, all: usize, width: &str) -> String {
    format!("{inside} of {} came down within a fairway {width} wide.", counted(all as u64, "ball", "balls"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sides_are_named_and_nothing_is_called_straight() {
        assert_eq!(aside("6 m", -6.2), "6 m left");
        assert_eq!(aside("0 yd", -0.2), "straight");
        assert_eq!(turned(-2.44), "2.4° left");
        assert_eq!(turned(0.01), "straight");
        assert_eq!(place_on_face(0.0, 8.3), "8 mm above the centre");
        assert_eq!(place_on_face(0.1, -0.2), "in the centre");
    }

    #[test]
    fn a_flight_reads_as_one_sentence() {
        let text = flight("204 m", "19 m", 37.6, 2.4, "14 m left");
        assert_eq!(text, "Carries 204 m, 19 m high, lands at 38°; starts 2.4° right, curves 14 m left.");
        assert!(flight("9 m", "0 m", 1.0, 0.0, "straight").ends_with("starts straight, does not curve."));
    }
}
