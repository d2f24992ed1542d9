//! The face as a curved surface, and a camera that looks at it.
//!
//! Face frame: x toward the toe, y toward the crown, z out of the face, mm, origin at
//! the face centre. The surface is an arc of the bulge's radius from heel to toe, of
//! the roll's up and down: `z = sqrt(b^2 - x^2) - b + sqrt(r^2 - y^2) - r`. The camera
//! is a pinhole whose axis goes through the middle of the picture (Hartley and
//! Zisserman, Multiple View Geometry, 2nd ed., section 6.1). Start at [`Camera::see`].
#![allow(clippy::indexing_slicing, reason = "arrays of fixed size")]

use super::error::PhotoError;

/// A place in the upright picture, pixels from its top-left corner.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Pixel {
    /// From the left.
    pub x: f64,
    /// From the top.
    pub y: f64,
}

/// Size and curves of a club's face.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct FaceShape {
    /// Heel end to toe end along the centre line, mm.
    pub width_mm: f64,
    /// Sole edge to crown edge along the centre line, mm.
    pub height_mm: f64,
    /// Radius of the bulge, heel to toe, mm.
    pub bulge_mm: f64,
    /// Radius of the roll, sole to crown, mm.
    pub roll_mm: f64,
}

impl Default for FaceShape {
    /// 118 x 58 mm (common practice, no source), bulge and roll of the measured head
    /// of Proceedings 2020, 49(1), 47, table 1: 305 mm (bulge; the roll is taken as alike).
    fn default() -> Self {
        Self { width_mm: 118.0, height_mm: 58.0, bulge_mm: 305.0, roll_mm: 305.0 }
    }
}

impl FaceShape {
    /// # Errors
    /// [`PhotoError::Size`] for a face that no driver has.
    pub fn check(&self) -> Result<(), PhotoError> {
        let within = [
            ("width", self.width_mm, 70.0, 150.0),
            ("height", self.height_mm, 30.0, 80.0),
            ("bulge", self.bulge_mm, 150.0, 1000.0),
            ("roll", self.roll_mm, 150.0, 1000.0),
        ];
        for (field, value, low, high) in within {
            if !(low..=high).contains(&value) {
                return Err(PhotoError::Size { field, value, low, high });
            }
        }
        Ok(())
    }

    /// How far the surface lies in front of its centre (negative: behind), mm.
    pub(super) fn depth(&self, x: f64, y: f64) -> f64 {
        let arc = |r: f64, v: f64| (r * r - v * v).max(0.0).sqrt() - r;
        arc(self.bulge_mm, x) + arc(self.roll_mm, y)
    }

    /// Heel, toe, crown and sole in the face frame.
    pub(super) fn handles(&self) -> [[f64; 2]; 4] {
        let (w, h) = (self.width_mm / 2.0, self.height_mm / 2.0);
        [[-w, 0.0], [w, 0.0], [0.0, h], [0.0, -h]]
    }
}

/// A camera that sees a face.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Camera {
    /// Focal length, pixels.
    pub focal_px: f64,
    /// Where the axis meets the picture.
    pub centre: Pixel,
    /// Rows right, down and forward of the camera, in the frame of the face seen from
    /// the front: x to the right, y toward the crown, z out of the face.
    pub rotation: [[f64; 3]; 3],
    /// The face's centre in the camera's frame, mm.
    pub translation_mm: [f64; 3],
    /// The toe is on the left of a right-hander's face seen from the front.
    pub toe_left: bool,
}

impl Camera {
    /// Where a point of the face frame is seen; nothing behind the camera.
    pub(super) fn project(&self, [x, y, z]: [f64; 3]) -> Option<Pixel> {
        let x = if self.toe_left { -x } else { x };
        let at = |row: [f64; 3], t: f64| row[0] * x + row[1] * y + row[2] * z + t;
        let [right, down, forward] = self.rotation;
        let [tx, ty, tz] = self.translation_mm;
        let depth = at(forward, tz);
        if depth < 1.0 {
            return None;
        }
        let scale = self.focal_px / depth;
        Some(Pixel { x: self.centre.x + scale * at(right, tx), y: self.centre.y + scale * at(down, ty) })
    }

    /// Where a point on the face's surface is seen.
    pub fn see(&self, shape: &FaceShape, x_mm: f64, y_mm: f64) -> Option<Pixel> {
        self.project([x_mm, y_mm, shape.depth(x_mm, y_mm)])
    }

    /// The point on the face's surface that is seen at a pixel, continued beyond the edge.
    pub fn on_face(&self, shape: &FaceShape, seen: Pixel) -> Option<[f64; 2]> {
        let mut at = [0.0, 0.0];
        for _ in 0..30 {
            let here = self.see(shape, at[0], at[1])?;
            let slope = self.slope(shape, at)?;
            let (dx, dy) = (seen.x - here.x, seen.y - here.y);
            let det = slope[0][0] * slope[1][1] - slope[0][1] * slope[1][0];
            if det.abs() < 1e-12 {
                return None;
            }
            let step =
                [(slope[1][1] * dx - slope[0][1] * dy) / det, (slope[0][0] * dy - slope[1][0] * dx) / det];
            at = [(at[0] + step[0]).clamp(-140.0, 140.0), (at[1] + step[1]).clamp(-140.0, 140.0)];
            if step[0].abs() + step[1].abs() < 1e-9 {
                return Some(at);
            }
        }
        None
    }

    /// Pixels a millimetre: rows x and y of the picture, columns x and y of the face.
    pub(super) fn slope(&self, shape: &FaceShape, [x, y]: [f64; 2]) -> Option<[[f64; 2]; 2]> {
        const STEP: f64 = 1e-4;
        let (a, b) = (self.see(shape, x - STEP, y)?, self.see(shape, x + STEP, y)?);
        let (c, d) = (self.see(shape, x, y - STEP)?, self.see(shape, x, y + STEP)?);
        let per = 0.5 / STEP;
        Some([[(b.x - a.x) * per, (d.x - c.x) * per], [(b.y - a.y) * per, (d.y - c.y) * per]])
    }

    /// The angle between the face's normal at its centre and the line of sight, degrees.
    pub fn tilt_deg(&self) -> f64 {
        let t = self.translation_mm;
        let length = (t[0] * t[0] + t[1] * t[1] + t[2] * t[2]).sqrt().max(1e-9);
        let out: f64 = (0..3).map(|i| -self.rotation[i][2] * t[i] / length).sum();
        libm::acos(out.clamp(-1.0, 1.0)).to_degrees()
    }

    /// How far the face's line from heel to toe is turned in the picture, degrees.
    pub fn roll_deg(&self) -> f64 {
        libm::atan2(self.rotation[1][0], self.rotation[0][0]).to_degrees()
    }
}
