//! How sure a place on the face is: what handles, bulge and roll add to a mark's own error.
//!
//! The rule: each source is carried through the whole map from pixels to millimetres;
//! nothing is a flat allowance. Start at [`Sources::of`].
#![allow(clippy::indexing_slicing, reason = "arrays of fixed size")]

use super::camera::{Camera, FaceShape, Pixel};
use super::pose::{Pose, View, refit, slopes};

/// How far bulge and roll of a face differ from the usual radius (one standard deviation, mm;
/// assumed: nothing published was found).
const CURVE_SD_MM: f64 = 16.0;

/// A covariance on the face, mm^2: xx, xy, yy.
pub(super) type Spread = [f64; 3];

/// What makes a place unsure, for one picture.
#[derive(Debug, Clone)]
pub(super) struct Sources {
    pose: Pose,
    shape: FaceShape,
    /// Cameras that fit the handles with another bulge, or another roll.
    curved: Vec<(Camera, FaceShape)>,
}

impl Sources {
    /// The sources for a fitted camera.
    pub fn of(pose: &Pose, handles: &[Pixel; 4], shape: &FaceShape, view: &View) -> Self {
        let more = |v: f64| 1.0 / (1.0 / v - CURVE_SD_MM / (v * v));
        let bent = [
            FaceShape { bulge_mm: more(shape.bulge_mm), ..*shape },
            FaceShape { roll_mm: more(shape.roll_mm), ..*shape },
        ];
        let curved = bent
            .into_iter()
            .filter_map(|shape| refit(&pose.camera, handles, &shape, view).map(|camera| (camera, shape)))
            .collect();
        Self { pose: pose.clone(), shape: *shape, curved }
    }

    /// What they add to the covariance of a mark at a place.
    pub fn at(&self, place: [f64; 2]) -> Spread {
        self.of_handles(place).zip_with(self.of_curves(place))
    }

    fn of_handles(&self, place: [f64; 2]) -> Spread {
        let camera = &self.pose.camera;
        let at = [place[0], place[1], self.shape.depth(place[0], place[1])];
        let (Some(px), Some(by)) = (camera.slope(&self.shape, place), slopes(camera, at)) else {
            return [0.0; 3];
        };
        let det = px[0][0] * px[1][1] - px[0][1] * px[1][0];
        if det.abs() < 1e-12 {
            return [0.0; 3];
        }
        let moved =
            by.map(|[u, v]| [(px[1][1] * u - px[0][1] * v) / det, (px[0][0] * v - px[1][0] * u) / det]);
        let mut sum = [0.0; 3];
        for (i, a) in moved.iter().enumerate() {
            for (j, b) in moved.iter().enumerate() {
                let c = self.pose.covariance.get(i * 7 + j).copied().unwrap_or(0.0);
                sum[0] += c * a[0] * b[0];
                sum[1] += c * a[0] * b[1];
                sum[2] += c * a[1] * b[1];
            }
        }
        sum
    }

    fn of_curves(&self, place: [f64; 2]) -> Spread {
        let mut sum = [0.0; 3];
        let Some(seen) = self.pose.camera.see(&self.shape, place[0], place[1]) else { return sum };
        let rival = self.pose.rival.map(|(share, camera)| (share, camera, self.shape));
        let curved = self.curved.iter().map(|(camera, shape)| (1.0, *camera, *shape));
        for (share, camera, shape) in curved.chain(rival) {
            if let Some(other) = camera.on_face(&shape, seen) {
                let (dx, dy) = (other[0] - place[0], other[1] - place[1]);
                sum = sum.zip_with([share * dx * dx, share * dx * dy, share * dy * dy]);
            }
        }
        sum
    }
}

/// Sums of covariances.
pub(super) trait ZipWith {
    /// Each plus its counterpart.
    fn zip_with(self, other: Self) -> Self;
}

impl ZipWith for Spread {
    fn zip_with(self, other: Self) -> Self {
        [self[0] + other[0], self[1] + other[1], self[2] + other[2]]
    }
}
