//! A map of the face: what one swing carries, struck in the middle of each cell
//! of a grid.
//!
//! The invariant: every cell is the same swing, moved on the face and changed in
//! nothing else, so the map shows what the strike alone does. The head is rigid
//! (sources.md I10 and section 9): the loss of ball speed off centre is a lower
//! bound, so the map shows the order of the losses, not their size far out.
//! Start at [`carry_map`].

use serde::{Deserialize, Serialize};

use super::batch::hit;
use super::delivery::Delivery;
use super::error::{FlightError, Limits};
use super::inverse::Setting;
use super::law::AirLaw;

/// How finely the face is divided. Cells are equal, and their middles lie inside
/// the face's width and height; odd numbers put one on the face centre.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Grid {
    /// Cells from heel to toe.
    pub columns: u32,
    /// Cells from sole to crown.
    pub rows: u32,
}

impl Default for Grid {
    /// About 13 by 8 mm on the default club: two dimples either way.
    fn default() -> Self {
        Self { columns: 9, rows: 7 }
    }
}

/// The swing, struck in the middle of one cell.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Cell {
    /// Middle of the cell toward the toe, mm.
    pub toe_mm: f64,
    /// Middle of the cell toward the crown, mm.
    pub high_mm: f64,
    /// Carry down the target line, m; none where this swing would not meet the
    /// ball there.
    pub carry_m: Option<f64>,
    /// Carry lost against the best cell of the map, m.
    pub lost_m: Option<f64>,
}

/// The cells of the face, from heel to toe within a row, rows from sole to crown.
///
/// The delivery's own strike is not used.
///
/// # Errors
/// [`FlightError::OutOfRange`] for an impossible delivery, a face larger than
/// the Equipment Rules allow by so much that a cell lies off any head, or a
/// grid outside 1..=99 by 1..=99.
pub fn carry_map<L: AirLaw>(
    setting: &Setting<L>,
    delivery: &Delivery,
    grid: Grid,
) -> Result<Vec<Cell>, FlightError> {
    let count = |what, value: u32| {
        let (unit, reason, remedy) = ("", "finer than a ball's mark says nothing", "ask for fewer or more");
        Limits { what, unit, low: 1.0, high: 99.0, reason, remedy }.check(f64::from(value))
    };
    count("columns of the face map", grid.columns)?;
    count("rows of the face map", grid.rows)?;
    let club = setting.head.club();
    let mut cells = Vec::with_capacity((grid.columns * grid.rows) as usize);
    for row in 0..grid.rows {
        let high_mm = middle(row, grid.rows, club.face_height_mm);
        for column in 0..grid.columns {
            let toe_mm = middle(column, grid.columns, club.face_width_mm);
            let struck = delivery.struck_at(toe_mm, high_mm);
            let carry_m = match hit(setting.head, setting.hand, setting.face, setting.flier, &struck) {
                Ok(shot) => Some(shot.flight.carry_m),
                Err(FlightError::NoContact { .. }) => None,
                Err(other) => return Err(other),
            };
            cells.push(Cell { toe_mm, high_mm, carry_m, lost_m: None });
        }
    }
    let best = cells.iter().filter_map(|cell| cell.carry_m).fold(f64::NEG_INFINITY, f64::max);
    for cell in &mut cells {
        cell.lost_m = cell.carry_m.map(|carry| best - carry);
    }
    Ok(cells)
}

/// Middle of the i-th of `n` equal parts of a length about zero.
fn middle(i: u32, n: u32, length: f64) -> f64 {
    (f64::from(2 * i + 1) - f64::from(n)) / f64::from(2 * n) * length
}
