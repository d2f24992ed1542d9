//! The map of the face: its order is that of the trade, and hands mirror it.

use super::super::face_map::{Cell, Grid, carry_map};
use super::*;

fn map_of(hand: Hand, delivery: &Delivery, grid: Grid) -> Vec<Cell> {
    let (head, law) = (driver(), FiveConstantLaw::default());
    let flier = still_air(&law);
    let setting = Setting { head: &head, hand, face: Face::Dry, flier: &flier };
    carry_map(&setting, delivery, grid).unwrap()
}

fn lost(cell: &Cell) -> f64 {
    cell.lost_m.unwrap()
}

#[test]
fn the_best_cell_is_in_or_above_the_centre_and_low_heel_is_among_the_worst() {
    // Common practice, no source: a little above the centre is best, low in the
    // heel worst. Order only: the model's heads are rigid.
    for speed in [35.0, 42.0, 50.0] {
        let delivery = Delivery { head_speed_mps: speed, ..standard() };
        for hand in [Hand::Right, Hand::Left] {
            let cells = map_of(hand, &delivery, Grid::default());
            assert_eq!(cells.len(), 63);
            let best = cells.iter().min_by(|a, b| lost(a).total_cmp(&lost(b))).unwrap();
            assert_eq!(lost(best), 0.0);
            assert!(best.toe_mm.abs() < 14.0 && (0.0..18.0).contains(&best.high_mm), "{best:?}");
            let worst = |inside: fn(&Cell) -> bool| {
                cells.iter().filter(|c| inside(c)).map(lost).fold(f64::NEG_INFINITY, f64::max)
            };
            let low_heel = worst(|c| c.toe_mm < -39.0 && c.high_mm < -16.0);
            assert!(low_heel >= worst(|_| true) - 1e-9, "some place loses more than low heel's {low_heel} m");
            assert!(low_heel > worst(|c| c.toe_mm < -39.0 && c.high_mm > 0.0), "{low_heel} m");
            assert!(low_heel > worst(|c| c.toe_mm.abs() < 14.0), "{low_heel} m");
        }
    }
}

#[test]
fn a_left_handers_map_is_a_right_handers_with_face_and_path_mirrored() {
    let right = Delivery { face_deg: 1.5, path_deg: -3.0, ..standard() };
    let left = Delivery { face_deg: -1.5, path_deg: 3.0, ..standard() };
    let grid = Grid { columns: 5, rows: 3 };
    assert_eq!(map_of(Hand::Right, &right, grid), map_of(Hand::Left, &left, grid));
    assert_ne!(map_of(Hand::Right, &right, grid), map_of(Hand::Right, &left, grid));
}

#[test]
fn a_cell_is_the_swing_struck_in_its_middle_and_the_cells_fill_the_face() {
    let club = Club::default();
    let cells = map_of(Hand::Right, &standard(), Grid { columns: 4, rows: 2 });
    let at: Vec<(f64, f64)> = cells.iter().map(|c| (c.toe_mm, c.high_mm)).collect();
    let (w, h) = (club.face_width_mm, club.face_height_mm);
    assert_eq!(at[0], (-0.375 * w, -0.25 * h));
    assert_eq!(at[7], (0.375 * w, 0.25 * h));
    let law = FiveConstantLaw::default();
    let delivery = standard().struck_at(at[6].0, at[6].1);
    let shot = hit(&driver(), Hand::Right, Face::Dry, &still_air(&law), &delivery).unwrap();
    assert_eq!(cells[6].carry_m, Some(shot.flight.carry_m));
}

#[test]
fn a_place_that_meets_no_ball_stays_empty_and_an_impossible_swing_is_refused() {
    let (head, law) = (driver(), FiveConstantLaw::default());
    let flier = still_air(&law);
    let setting = Setting { head: &head, hand: Hand::Right, face: Face::Dry, flier: &flier };
    // Slow and wide open: only the places that the bulge turns back still close in.
    let glancing = Delivery { head_speed_mps: 2.2, face_deg: 45.0, path_deg: -15.0, ..standard() };
    let cells = carry_map(&setting, &glancing, Grid::default()).unwrap();
    assert!(cells.iter().any(|c| c.carry_m.is_none() && c.lost_m.is_none()));
    assert!(cells.iter().any(|c| c.carry_m.is_some()));
    let bad = Delivery { head_speed_mps: f64::NAN, ..standard() };
    assert!(carry_map(&setting, &bad, Grid::default()).is_err());
    assert!(carry_map(&setting, &standard(), Grid { columns: 0, rows: 3 }).is_err());
}
