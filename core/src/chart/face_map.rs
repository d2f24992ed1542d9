//! The map of the face: carry lost by where one swing strikes.
//!
//! The face is divided into equal cells, each shaded by its loss and, where it
//! fits, with the loss written in it. A cell that the edge cuts has the shade of
//! its middle, also where that lies just off the face. Which side the toe is on is as in the face
//! chart (`face_plot.rs`).
//!
//! Invariant: bands are cut from the whole numbers that are written, so a cell's
//! shade and number agree; a band differs from the next in shade and in the
//! closeness of its hatching; nothing is painted outside the outline.
//!
//! Where to start: [`face_map`]; `face_map_cell.rs` paints a cell.

use super::axis::multiples;
use super::face::Hand;
use super::face_map_cell::{BANDS, Tile, best_sign, swatch};
use super::face_plot::{Plot, on_face};
use super::layout::{Entry, caption, drop_mm, label, legend, sign, title};
use super::length::Length;
use super::measure::{cap_height_mm, width_mm};
use super::scene::{Anchor, Item, Point, Role, Scene, Style, Weight, at};
use super::{ChartError, LABEL_MM, LEADING_MM, MARGIN_MM, check_width, within};
use crate::words::{chart, flight_chart as words};

/// One cell of the map.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MapCell {
    /// Its middle toward the toe, mm.
    pub toe_mm: f64,
    /// Its middle toward the crown, mm.
    pub high_mm: f64,
    /// Carry of the swing struck there, m; none where it would not meet the ball.
    pub carry_m: Option<f64>,
}

/// What a map of the face shows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FaceMap<'a> {
    /// Title.
    pub title: &'a str,
    /// Playing side.
    pub hand: Hand,
    /// Width of the club's face, mm.
    pub face_width_mm: f64,
    /// Height of the club's face, mm.
    pub face_height_mm: f64,
    /// Cells, in any order.
    pub cells: &'a [MapCell],
    /// How wide and how high a cell is, mm.
    pub cell_mm: (f64, f64),
    /// Unit that losses are written in.
    pub unit: Length,
    /// A sentence under the map before the doubt, e.g. the speed; may be empty.
    pub caption: &'a str,
    /// Width of the scene, mm.
    pub width_mm: f64,
}

/// A cell with its loss in whole units.
struct Seen {
    cell: MapCell,
    lost: Option<u32>,
    /// Whether its middle is on the face.
    on: bool,
}

/// Draws a map of the face.
///
/// # Errors
/// [`ChartError`] if a size is out of range or a number is none.
pub fn face_map(map: &FaceMap<'_>) -> Result<Scene, ChartError> {
    check(map)?;
    let view = words::face_map_view(map.hand == Hand::Left, map.unit.name());
    let mut items = Vec::new();
    let top = title(&mut items, map.title, &view, map.width_mm);
    let seen = seen(map);
    let edges = edges(&seen);
    let frame = Frame::new(map, top);
    items.push(frame.axes(map));
    let fits = frame.fits(map, &seen);
    items.push(frame.cells(map, &seen, &edges, fits));
    items.push(frame.outline(map));
    let best = best(&seen);
    items.extend(best.map(|best| frame.best(map, best)));
    if best.is_none() {
        items.push(sign(frame.plot.place(0.0, 0.0), words::NO_CARRY, Anchor::Middle));
    }
    let entries = entries(map, &seen, &edges);
    let mut y = legend(&mut items, &entries, frame.bottom_mm + LEADING_MM + 3.0, map.width_mm);
    for text in [map.caption, if fits { "" } else { words::VALUES_LEFT_OUT }, words::FACE_MAP_DOUBT] {
        if !text.is_empty() {
            y = caption(&mut items, text, y, map.width_mm);
        }
    }
    Ok(Scene {
        title: map.title.to_owned(),
        alt: alt(map, &view, &seen, best),
        width_mm: map.width_mm,
        height_mm: y + MARGIN_MM,
        items,
    })
}

fn check(map: &FaceMap<'_>) -> Result<(), ChartError> {
    check_width(map.width_mm)?;
    let size = "from 40 to 160 mm by 20 to 100 mm, as a driver's face may be";
    within("face_width_mm", map.face_width_mm, 40.0, 160.0, size)?;
    within("face_height_mm", map.face_height_mm, 20.0, 100.0, size)?;
    let cell = "from 1 mm to the size of a face, so that a cell can be seen";
    within("cell width", map.cell_mm.0, 1.0, 160.0, cell)?;
    within("cell height", map.cell_mm.1, 1.0, 100.0, cell)?;
    let reach = "from -250 to 250 mm, because no club head is larger";
    for cell in map.cells {
        within("toe_mm", cell.toe_mm, -250.0, 250.0, reach)?;
        within("high_mm", cell.high_mm, -250.0, 250.0, reach)?;
        if let Some(carry) = cell.carry_m {
            within("carry_m", carry, -1000.0, 1000.0, "from -1000 to 1000 m, further than any ball flies")?;
        }
    }
    Ok(())
}

/// The cells with what they lose against the best whose middle is on the face.
fn seen(map: &FaceMap<'_>) -> Vec<Seen> {
    let on = |c: &MapCell| on_face(c.toe_mm, c.high_mm, map.face_width_mm, map.face_height_mm);
    let carries = map.cells.iter().filter(|c| on(c)).filter_map(|c| c.carry_m);
    let best = carries.fold(f64::NEG_INFINITY, f64::max);
    let lost = |carry: f64| map.unit.of((best - carry).max(0.0)).round() as u32;
    map.cells.iter().map(|cell| Seen { cell: *cell, lost: cell.carry_m.map(lost), on: on(cell) }).collect()
}

fn best(seen: &[Seen]) -> Option<&Seen> {
    seen.iter()
        .filter(|s| s.on && s.cell.carry_m.is_some())
        .max_by(|a, b| a.cell.carry_m.unwrap_or(0.0).total_cmp(&b.cell.carry_m.unwrap_or(0.0)))
}

fn worst(seen: &[Seen]) -> Option<&Seen> {
    seen.iter().filter(|s| s.on && s.lost.is_some()).max_by_key(|s| s.lost)
}

/// Where the bands begin, in whole units: narrow where a player can still win
/// something, wide far out, and round.
fn edges(seen: &[Seen]) -> [u32; BANDS as usize] {
    let most = worst(seen).and_then(|s| s.lost).unwrap_or(0);
    let base = [1, 2, 5, 10, 20, 50].into_iter().find(|base| most < 16 * base).unwrap_or(100);
    [0, 1, 2, 4, 8, 12].map(|times| times * base)
}

fn band(edges: &[u32], lost: u32) -> u32 {
    edges.iter().filter(|edge| **edge <= lost).count().saturating_sub(1) as u32
}

struct Frame {
    plot: Plot,
    left_mm: f64,
    right_mm: f64,
    bottom_mm: f64,
    half: (f64, f64),
}

impl Frame {
    fn new(map: &FaceMap<'_>, top: f64) -> Self {
        let (left_mm, right_mm) = (MARGIN_MM + 5.5, map.width_mm - MARGIN_MM);
        let half = (0.5 * map.face_width_mm + 3.0, 0.5 * map.face_height_mm);
        let scale = (right_mm - left_mm) / (2.0 * half.0);
        let around = LABEL_MM + 2.2;
        let centre = at(0.5 * (left_mm + right_mm), top + around + half.1 * scale);
        let toe_sign = match map.hand {
            Hand::Right => -1.0,
            Hand::Left => 1.0,
        };
        let plot = Plot { centre, scale, toe_sign };
        Self { plot, left_mm, right_mm, bottom_mm: centre.y_mm + half.1 * scale + around, half }
    }

    /// Numbers each 20 mm along two edges, and the four directions in words.
    fn axes(&self, map: &FaceMap<'_>) -> Item {
        let mut items = Vec::new();
        let below = self.bottom_mm + LABEL_MM + 0.8;
        let tick = Style::line(Role::Muted, 0.25);
        for toe in multiples(-self.half.0, self.half.0, 20.0) {
            let x = self.plot.place(toe, 0.0).x_mm;
            items.push(Item::line(at(x, self.bottom_mm), at(x, self.bottom_mm - 1.4), tick));
            if self.half.0 - toe.abs() > 11.0 / self.plot.scale {
                items.push(label(at(x, below), format!("{:.0}", toe.abs()), Anchor::Middle, Role::Muted));
            }
        }
        for high in multiples(-self.half.1, self.half.1, 10.0) {
            let y = self.plot.place(0.0, high).y_mm;
            items.push(Item::line(at(self.left_mm - 0.6, y), at(self.left_mm + 0.8, y), tick));
            if high % 20.0 == 0.0 {
                let place = at(self.left_mm - 1.2, y + drop_mm());
                items.push(label(place, format!("{:.0}", high.abs()), Anchor::End, Role::Muted));
            }
        }
        let left = self.plot.toe_sign < 0.0;
        let (left, right) = if left { (chart::TOE, chart::HEEL) } else { (chart::HEEL, chart::TOE) };
        items.push(sign(at(self.left_mm, below), left, Anchor::Start));
        items.push(sign(at(self.right_mm, below), right, Anchor::End));
        let edge = 0.5 * map.face_height_mm;
        let crown = at(self.plot.centre.x_mm, self.plot.place(0.0, edge).y_mm - 1.3);
        let sole = at(self.plot.centre.x_mm, self.plot.place(0.0, -edge).y_mm + 1.3 + 2.0 * drop_mm());
        items.push(sign(crown, chart::CROWN, Anchor::Middle));
        items.push(sign(sole, chart::SOLE, Anchor::Middle));
        Item::group("axes", "", items)
    }

    /// Whether every number fits into its cell.
    fn fits(&self, map: &FaceMap<'_>, seen: &[Seen]) -> bool {
        let room = (map.cell_mm.0 * self.plot.scale - 0.8, map.cell_mm.1 * self.plot.scale - 0.7);
        let wide = |s: &Seen| s.lost.map_or(0.0, |n| width_mm(&n.to_string(), LABEL_MM, Weight::Bold));
        seen.iter().filter(|s| s.on).all(|s| wide(s) <= room.0) && cap_height_mm(LABEL_MM) + 0.66 <= room.1
    }

    fn cells(&self, map: &FaceMap<'_>, seen: &[Seen], edges: &[u32], fits: bool) -> Item {
        let outline = self.plot.polygon(map.face_width_mm, map.face_height_mm);
        let size = (map.cell_mm.0 * self.plot.scale, map.cell_mm.1 * self.plot.scale);
        let mut shades = Vec::new();
        let mut numbers = Vec::new();
        for Seen { cell, lost, on } in seen {
            let Some(lost) = lost else { continue };
            let centre = self.plot.place(cell.toe_mm, cell.high_mm);
            let tile = Tile { centre, size, band: band(edges, *lost) };
            shades.extend(tile.painted(&outline));
            if fits && *on && self.holds(map, centre, &lost.to_string()) {
                numbers.push(sign(
                    at(centre.x_mm, centre.y_mm + drop_mm()),
                    lost.to_string(),
                    Anchor::Middle,
                ));
            }
        }
        shades.extend(numbers);
        Item::group("cells", words::map_cells(seen.iter().filter(|s| s.on).count(), map.unit.name()), shades)
    }

    /// Whether a number at a place keeps inside the outline.
    fn holds(&self, map: &FaceMap<'_>, centre: Point, text: &str) -> bool {
        let half = (0.5 * width_mm(text, LABEL_MM, Weight::Bold) + 0.3, drop_mm() + 0.3);
        [(-1.0, -1.0), (-1.0, 1.0), (1.0, -1.0), (1.0, 1.0)].into_iter().all(|(x, y)| {
            let toe =
                (centre.x_mm + x * half.0 - self.plot.centre.x_mm) / self.plot.scale * self.plot.toe_sign;
            let high = (self.plot.centre.y_mm - centre.y_mm - y * half.1) / self.plot.scale;
            on_face(toe, high, map.face_width_mm, map.face_height_mm)
        })
    }

    fn outline(&self, map: &FaceMap<'_>) -> Item {
        let steps = self.plot.outline(map.face_width_mm, map.face_height_mm);
        Item::group("face", "", vec![Item::Path { steps, style: Style::line(Role::Ink, 0.5) }])
    }

    fn best(&self, map: &FaceMap<'_>, best: &Seen) -> Item {
        let centre = self.plot.place(best.cell.toe_mm, best.cell.high_mm);
        let size = (map.cell_mm.0 * self.plot.scale, map.cell_mm.1 * self.plot.scale);
        Item::group("best", "", best_sign(centre, size))
    }
}

fn entries(map: &FaceMap<'_>, seen: &[Seen], edges: &[u32]) -> Vec<Entry> {
    let Some(most) = seen.iter().filter_map(|s| s.lost).max().filter(|_| best(seen).is_some()) else {
        return Vec::new();
    };
    let ends = edges.iter().skip(1).map(|next| Some(next - 1)).chain([None]);
    let mut found: Vec<Entry> = edges
        .iter()
        .zip(ends)
        .zip(0..)
        .take_while(|((from, _), _)| **from <= most)
        .map(|((from, to), band)| Entry {
            text: words::lost_band(*from, to, map.unit.name()),
            tail: String::new(),
            sign: Box::new(move |place| swatch(place, band)),
        })
        .collect();
    found.push(Entry {
        text: words::BEST_CELL.to_owned(),
        tail: String::new(),
        sign: Box::new(|place| best_sign(place, (7.0, 3.4))),
    });
    found
}

fn alt(map: &FaceMap<'_>, view: &str, seen: &[Seen], best: Option<&Seen>) -> String {
    let mut parts = vec![format!("{view}.")];
    match best.and_then(|b| b.cell.carry_m.map(|carry| (b, carry))) {
        Some((best, carry)) => {
            let place = |s: &Seen| words::place_on_face(s.cell.toe_mm, s.cell.high_mm);
            parts.push(words::map_best(&place(best), &map.unit.text(carry)));
            if let Some((worst, lost)) = worst(seen).and_then(|w| w.lost.map(|lost| (w, lost))) {
                parts.push(words::map_worst(&place(worst), &format!("{lost} {}", map.unit.name())));
            }
        }
        None => parts.push(format!("{}.", words::NO_CARRY)),
    }
    parts.extend(
        [map.caption, words::FACE_MAP_DOUBT].into_iter().filter(|t| !t.is_empty()).map(str::to_owned),
    );
    parts.join(" ")
}
