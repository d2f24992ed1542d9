//! The face in the picture: from the face frame to the scene, and its outline.
//!
//! The picture shows the face as a photograph of the marks would: seen from the
//! front, crown up, the viewer standing on the target's side and looking back at
//! the club. A right-hander stands to the left of the ball as one looks down the
//! target line, so the heel points left and the toe right from there; the viewer
//! looks the other way, so **a right-hander's toe is on the viewer's left**, a
//! left-hander's on the right. In the face frame nothing changes: x is toward the
//! toe for both.
//!
//! Invariant: distances are to one scale in both directions.
//!
//! Where to start: [`Plot`].

use super::scene::{Point, Step, at};
use crate::face::Ellipse;

/// A cubic Bezier step in units of half the face: two controls and an end.
type Curve = [(f64, f64); 3];

/// The outline of a driver face, in half widths and half heights: fuller at the
/// toe, tapering to the heel, highest a little toward the toe. It is ours, drawn
/// to look like a face; no head is measured by it.
const START: (f64, f64) = (-1.0, -0.16);
const CURVES: [Curve; 4] = [
    [(-1.0, 0.40), (-0.60, 1.0), (0.08, 1.0)],
    [(0.66, 1.0), (1.0, 0.78), (1.0, 0.04)],
    [(1.0, -0.66), (0.68, -1.0), (0.04, -1.0)],
    [(-0.66, -1.0), (-1.0, -0.76), (-1.0, -0.16)],
];

/// From the face frame to the scene.
#[derive(Debug, Clone, Copy)]
pub(super) struct Plot {
    /// Scene place of the face centre.
    pub centre: Point,
    /// Scene mm for one face mm.
    pub scale: f64,
    /// -1 when the toe is on the left (right-handers), else 1.
    pub toe_sign: f64,
}

impl Plot {
    /// Where a place on the face is drawn.
    pub fn place(&self, toe_mm: f64, high_mm: f64) -> Point {
        at(self.centre.x_mm + self.toe_sign * toe_mm * self.scale, self.centre.y_mm - high_mm * self.scale)
    }

    /// An angle of the face frame (from the toe axis toward the crown) as a turn
    /// on the scene (clockwise, y down).
    pub fn turn_deg(&self, angle_deg: f64) -> f64 {
        -self.toe_sign * angle_deg
    }

    /// The outline of a face of this size.
    pub fn outline(&self, face_width_mm: f64, face_height_mm: f64) -> Vec<Step> {
        let (w, h) = (0.5 * face_width_mm, 0.5 * face_height_mm);
        let p = |(x, y): (f64, f64)| self.place(x * w, y * h);
        let mut steps = vec![Step::Move { to: p(START) }];
        steps.extend(CURVES.iter().map(|[first, second, to]| Step::Curve {
            first: p(*first),
            second: p(*second),
            to: p(*to),
        }));
        steps.push(Step::Close);
        steps
    }
}

impl Plot {
    /// The same outline as a polygon, for what has to be cut to it.
    pub fn polygon(&self, face_width_mm: f64, face_height_mm: f64) -> Vec<Point> {
        flattened().map(|(x, y)| self.place(0.5 * face_width_mm * x, 0.5 * face_height_mm * y)).collect()
    }
}

/// The flattened outline, corner by corner, in half widths and half heights.
fn flattened() -> impl Iterator<Item = (f64, f64)> {
    const PARTS: u32 = 24;
    let starts = core::iter::once(START).chain(CURVES.iter().map(|curve| curve[2]));
    starts.zip(CURVES).flat_map(|(start, [first, second, to])| {
        (1..=PARTS).map(move |part| {
            let t = f64::from(part) / f64::from(PARTS);
            let s = 1.0 - t;
            let mix = |a: f64, b: f64, c: f64, d: f64| {
                s * s * s * a + 3.0 * s * s * t * b + 3.0 * s * t * t * c + t * t * t * d
            };
            (mix(start.0, first.0, second.0, to.0), mix(start.1, first.1, second.1, to.1))
        })
    })
}

/// Whether a mark lies inside the outline that [`Plot::outline`] draws.
pub(super) fn on_face(toe_mm: f64, high_mm: f64, face_width_mm: f64, face_height_mm: f64) -> bool {
    let (x, y) = (2.0 * toe_mm / face_width_mm, 2.0 * high_mm / face_height_mm);
    // Crossings of a ray to the right with the flattened outline.
    let mut inside = false;
    let mut from = START;
    for next in flattened() {
        if (from.1 > y) != (next.1 > y) && x < from.0 + (y - from.1) / (next.1 - from.1) * (next.0 - from.0) {
            inside = !inside;
        }
        from = next;
    }
    inside
}

/// How far a turned ellipse reaches from its centre along toe and high, mm.
pub(super) fn reach(ellipse: &Ellipse) -> (f64, f64) {
    let angle = ellipse.angle_deg * (core::f64::consts::PI / 180.0);
    let (s, c) = (libm::sin(angle), libm::cos(angle));
    let (a, b) = (ellipse.semi_major_mm, ellipse.semi_minor_mm);
    ((a * a * c * c + b * b * s * s).sqrt(), (a * a * s * s + b * b * c * c).sqrt())
}

#[cfg(test)]
#[allow(clippy::float_cmp, clippy::indexing_slicing)]
mod tests {
    use super::*;

    fn plot(toe_sign: f64) -> Plot {
        Plot { centre: at(50.0, 40.0), scale: 0.5, toe_sign }
    }

    #[test]
    fn the_outline_is_exactly_as_wide_and_high_as_the_face() {
        let (mut x, mut y) = ((0.0_f64, 0.0_f64), (0.0_f64, 0.0_f64));
        for tenth_x in -600..=600 {
            for tenth_y in -300..=300 {
                let (toe, high) = (f64::from(tenth_x) / 10.0, f64::from(tenth_y) / 10.0);
                if on_face(toe, high, 110.0, 56.0) {
                    x = (x.0.min(toe), x.1.max(toe));
                    y = (y.0.min(high), y.1.max(high));
                }
            }
        }
        for (seen, end) in [(x.0, -55.0), (x.1, 55.0), (y.0, -28.0), (y.1, 28.0)] {
            assert!((seen - end).abs() <= 0.25, "{seen} for {end}");
        }
    }

    #[test]
    fn a_right_handers_toe_is_on_the_left_and_the_crown_is_up() {
        let toe_high = plot(-1.0).place(20.0, 10.0);
        assert_eq!((toe_high.x_mm, toe_high.y_mm), (40.0, 35.0));
        let mirrored = plot(1.0).place(20.0, 10.0);
        assert_eq!((mirrored.x_mm, mirrored.y_mm), (60.0, 35.0));
    }

    #[test]
    fn the_turn_of_an_ellipse_follows_its_long_axis_for_both_hands() {
        for sign in [-1.0, 1.0] {
            let plot = plot(sign);
            let (s, c) = (libm::sin(0.5), libm::cos(0.5));
            let end = plot.place(30.0 * c, 30.0 * s);
            let turn = plot.turn_deg(0.5_f64.to_degrees()).to_radians();
            let (dx, dy) = (15.0 * libm::cos(turn), 15.0 * libm::sin(turn));
            let (x, y) = (end.x_mm - 50.0, end.y_mm - 40.0);
            assert!((x * dy - y * dx).abs() < 1e-9, "not along the axis");
        }
    }
}
