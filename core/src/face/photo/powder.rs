//! Whether a face is coated with powder.
//!
//! The network that sees the handles says it of its crop; a few numbers on light within and beyond the oval
//! that the handles lay tell some bare faces that it takes for coated. The rule: a picture is only told off
//! for it, never left unread. `core/train/train_powder.py` makes the weights. Start at [`odds`].

use super::camera::Pixel;
use super::keypoints::{Known, Sight};
use super::net::{Map, Net};
use super::outline::Cells;
use super::plane::Small;

const POWDER: &[u8] = include_bytes!("powder.net");

/// The logarithm of the odds that the face about four handles is coated.
pub(super) fn odds(seen: &Small, handles: &[Pixel; 4], sight: &Sight, known: Known) -> f64 {
    let mirrored = (!known.toe_left).then_some(known.view.size.0 as f64);
    let light = Cells::about(seen, handles, known.shape, mirrored).light();
    let mut input = Map::new(1, 1, 1 + light.len());
    input.data = [sight.powder / 4.0].iter().chain(&light).map(|v| *v as f32).collect();
    let said = Net::read(POWDER).and_then(|net| net.run(input));
    said.and_then(|out| out.data.first().map(|v| f64::from(*v))).unwrap_or(sight.powder)
}
