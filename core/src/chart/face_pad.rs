//! The face to tap: the same face as in the face chart, without title and legend, with
//! room for a thumb around it.
//!
//! Invariant: what [`FacePad::place`] answers for a point is where a mark is drawn that is
//! at that place of the face, for both hands. Start at [`face_pad`].

use super::face_plot::Plot;
use super::layout::sign;
use super::scene::{Anchor, Dash, Item, Role, Scene, Shape, Style, at};
use super::{ChartError, Hand, check_width};
use crate::words::chart as words;

/// Paper left and right of the face, mm: a thumb finds an end of the face.
const SIDE_MM: f64 = 6.0;
/// Paper above and below it, mm: there stand crown and sole, heel and toe.
const ABOVE_MM: f64 = 6.5;
/// Halves of the middle zone of a face, as shares of its half width and half height
/// (assumed: a third of the width and of the height).
const MIDDLE: f64 = 1.0 / 3.0;

/// A face to tap.
#[derive(Debug, Clone, PartialEq)]
pub struct FacePad<'a> {
    /// Who plays: it decides on which side the toe is.
    pub hand: Hand,
    /// Width of the face, mm.
    pub face_width_mm: f64,
    /// Its height, mm.
    pub face_height_mm: f64,
    /// Target point and centre radius, mm.
    pub target: Option<[f64; 3]>,
    /// Marks of the same session, toe and high, mm.
    pub before: &'a [(f64, f64)],
    /// The mark that was tapped.
    pub mark: Option<(f64, f64)>,
    /// Coarse zones instead of a place: for strikes that are only felt.
    pub zones: bool,
    /// Width of the drawing, mm.
    pub width_mm: f64,
}

/// The nine zones of a face: a key, and the toe and high of each zone's middle, in mm, from
/// the crown down and from the heel to the toe.
pub fn felt_zones(face_width_mm: f64, face_height_mm: f64) -> [(&'static str, f64, f64); 9] {
    let (x, y) = (2.0 * MIDDLE * 0.5 * face_width_mm, 2.0 * MIDDLE * 0.5 * face_height_mm);
    [
        ("high_heel", -x, y),
        ("high", 0.0, y),
        ("high_toe", x, y),
        ("heel", -x, 0.0),
        ("middle", 0.0, 0.0),
        ("toe", x, 0.0),
        ("low_heel", -x, -y),
        ("low", 0.0, -y),
        ("low_toe", x, -y),
    ]
}

impl FacePad<'_> {
    fn plot(&self) -> Plot {
        let scale = (self.width_mm - 2.0 * SIDE_MM) / self.face_width_mm;
        let half = 0.5 * self.face_height_mm * scale;
        Plot {
            centre: at(0.5 * self.width_mm, ABOVE_MM + half),
            scale,
            toe_sign: if self.hand == Hand::Right { -1.0 } else { 1.0 },
        }
    }

    /// The place on the face, toe and high in mm, at a point of the drawing; on a tenth of a
    /// millimetre.
    pub fn place(&self, x_mm: f64, y_mm: f64) -> (f64, f64) {
        let plot = self.plot();
        let tenth = |mm: f64| libm::round(10.0 * mm) / 10.0;
        (
            tenth((x_mm - plot.centre.x_mm) / (plot.scale * plot.toe_sign)),
            tenth((plot.centre.y_mm - y_mm) / plot.scale),
        )
    }

    /// The zone at a place on the face.
    pub fn zone(&self, toe_mm: f64, high_mm: f64) -> &'static str {
        let third = |share: f64| match share {
            share if share > MIDDLE => 0,
            share if share < -MIDDLE => 2,
            _ => 1,
        };
        let row = third(2.0 * high_mm / self.face_height_mm);
        let column = 2 - third(2.0 * toe_mm / self.face_width_mm);
        let zones = felt_zones(self.face_width_mm, self.face_height_mm);
        zones.get(3 * row + column).map_or("middle", |(key, ..)| key)
    }
}

/// The drawing of a face to tap.
///
/// # Errors
/// [`ChartError`] for a width that no label fits on.
pub fn face_pad(pad: &FacePad<'_>) -> Result<Scene, ChartError> {
    check_width(pad.width_mm)?;
    let plot = pad.plot();
    let (half_w, half_h) = (0.5 * pad.face_width_mm, 0.5 * pad.face_height_mm);
    let mut items = vec![Item::group(
        "face",
        "",
        vec![Item::Path {
            steps: plot.outline(pad.face_width_mm, pad.face_height_mm),
            style: Style::line(Role::Ink, 0.5).filled(Role::Surface, 0.75),
        }],
    )];
    if pad.zones {
        items.push(zone_lines(&plot, half_w, half_h));
    } else if let Some([toe, high, radius]) = pad.target {
        let place = plot.place(toe, high);
        items.push(Item::group(
            "target",
            "",
            vec![
                Item::Circle {
                    centre: place,
                    radius_mm: radius * plot.scale,
                    style: Style::line(Role::Ink, 0.35).dashed(Dash::Dotted),
                },
                Item::Marker {
                    at: place,
                    shape: Shape::Plus,
                    size_mm: 3.0,
                    style: Style::line(Role::Ink, 0.5),
                },
            ],
        ));
    }
    let before = pad.before.iter().map(|(toe, high)| Item::Marker {
        at: plot.place(*toe, *high),
        shape: Shape::Disc,
        size_mm: 2.4,
        style: Style::line(Role::Muted, 0.35),
    });
    items.push(Item::group("before", "", before.collect()));
    if let Some((toe, high)) = pad.mark {
        let place = plot.place(toe, high);
        items.push(Item::group(
            "mark",
            "",
            vec![
                Item::Circle { centre: place, radius_mm: 3.2, style: Style::line(Role::AccentA, 0.6) },
                Item::Marker {
                    at: place,
                    shape: Shape::Disc,
                    size_mm: 3.6,
                    style: Style::fill(Role::AccentA).edged(Role::Paper, 0.4),
                },
            ],
        ));
    }
    let height_mm = 2.0 * ABOVE_MM + 2.0 * half_h * plot.scale;
    let middle = plot.centre.x_mm;
    let (toe_x, heel_x) = (plot.place(0.72 * half_w, 0.0).x_mm, plot.place(-0.72 * half_w, 0.0).x_mm);
    for (x, y, word) in [
        (middle, ABOVE_MM - 2.0, words::CROWN),
        (middle, height_mm - 2.2, words::SOLE),
        (toe_x, height_mm - 2.2, words::TOE),
        (heel_x, height_mm - 2.2, words::HEEL),
    ] {
        items.push(sign(at(x, y), word, Anchor::Middle));
    }
    Ok(Scene {
        title: words::FACE_PAD.into(),
        alt: words::face_pad(pad.hand == Hand::Left),
        width_mm: pad.width_mm,
        height_mm,
        items,
    })
}

fn zone_lines(plot: &Plot, half_w: f64, half_h: f64) -> Item {
    let style = Style::line(Role::Muted, 0.4).dashed(Dash::Dashed);
    let line = |from: (f64, f64), to: (f64, f64)| {
        Item::line(plot.place(from.0, from.1), plot.place(to.0, to.1), style)
    };
    let (x, y) = (MIDDLE * half_w, MIDDLE * half_h);
    Item::group(
        "zones",
        "",
        vec![
            line((-x, -0.98 * half_h), (-x, 0.98 * half_h)),
            line((x, -0.98 * half_h), (x, 0.98 * half_h)),
            line((-0.94 * half_w, y), (0.94 * half_w, y)),
            line((-0.94 * half_w, -y), (0.94 * half_w, -y)),
        ],
    )
}
