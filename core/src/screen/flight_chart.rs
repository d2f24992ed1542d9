//! A flight from the side and above, and what strikes off the centre cost, as
//! drawings: the physics' values put into the charts' plain ones.
//!
//! Start at [`flight_drawing`] and [`face_map_drawing`].

use crate::chart::{
    self, ChartError, FaceMap, FlightPaths, FlownPath, Length, MapCell, PHONE_WIDTH_MM, PathSpot, Scene,
    face_map, flight_paths,
};
use crate::flight::delivery::Hand;
use crate::flight::{AirLaw, Delivery, Flier, FlightError, Grid, Launch, Setting, carry_map};
use crate::model::UnitSystem;
use crate::words::flight as say;

/// Why a flight could not be drawn.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum DrawError {
    /// It can't be computed.
    #[error(transparent)]
    Flight(#[from] FlightError),
    /// It can't be put on paper.
    #[error(transparent)]
    Chart(#[from] ChartError),
}

/// A point of the path so often, s.
const EVERY_S: f64 = 0.05;

/// One ball from the side and from above.
///
/// # Errors
/// [`DrawError`] for an impossible launch.
pub fn flight_drawing<L: AirLaw>(
    flier: &Flier<L>,
    launch: &Launch,
    label: &str,
    units: UnitSystem,
) -> Result<Scene, DrawError> {
    let mut path = Vec::new();
    let flight = flier.fly_path(launch, EVERY_S, &mut path)?;
    let spots: Vec<PathSpot> =
        path.iter().map(|p| PathSpot { down_m: p.x_m, height_m: p.y_m, right_m: p.z_m }).collect();
    let flown =
        FlownPath { label, path: &spots, start_deg: launch.start_deg, landing_deg: flight.landing_deg };
    Ok(flight_paths(&FlightPaths {
        title: say::ONE_FLIGHT,
        unit: length(units),
        flights: &[flown],
        caption: say::CARRY_TRUST,
        width_mm: PHONE_WIDTH_MM,
    })?)
}

/// The face with the carry that each strike would lose, for one swing.
///
/// # Errors
/// [`DrawError`] for an impossible swing or club.
pub fn face_map_drawing<L: AirLaw>(
    setting: &Setting<L>,
    delivery: &Delivery,
    units: UnitSystem,
) -> Result<Scene, DrawError> {
    let grid = Grid::default();
    let club = setting.head.club();
    let (width, height) = (club.face_width_mm, club.face_height_mm);
    let cells: Vec<MapCell> = carry_map(setting, delivery, grid)?
        .iter()
        .map(|cell| MapCell { toe_mm: cell.toe_mm, high_mm: cell.high_mm, carry_m: cell.carry_m })
        .collect();
    Ok(face_map(&FaceMap {
        title: say::FACE_MAP,
        hand: match setting.hand {
            Hand::Right => chart::Hand::Right,
            Hand::Left => chart::Hand::Left,
        },
        face_width_mm: width,
        face_height_mm: height,
        cells: &cells,
        cell_mm: (width / f64::from(grid.columns), height / f64::from(grid.rows)),
        unit: length(units),
        caption: &say::swing(delivery, units),
        width_mm: PHONE_WIDTH_MM,
    })?)
}

fn length(units: UnitSystem) -> Length {
    match units {
        UnitSystem::Metric => Length::Metres,
        UnitSystem::Imperial => Length::Yards,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flight::{Club, Conditions, Face, FiveConstantLaw, hit};

    #[test]
    fn the_drawing_says_the_carry_that_the_flight_has_in_the_players_units() {
        let (head, law) = (Club::default().conforming().unwrap(), FiveConstantLaw::default());
        let flier = Flier::new(&law, &Conditions::default()).unwrap();
        let delivery = Delivery { head_speed_mps: 45.0, loft_deg: 13.0, ..Delivery::default() };
        let shot = hit(&head, Hand::Right, Face::Dry, &flier, &delivery).unwrap();
        let metric = flight_drawing(&flier, &shot.launch, "A ball", UnitSystem::Metric).unwrap();
        // The centre hit of the physics' table of printed cases carries 204.4 m.
        let said = |scene: &Scene| chart::to_svg(scene, chart::Theme::Light);
        assert!(said(&metric).contains("204 m"), "{}", said(&metric));
        let imperial = flight_drawing(&flier, &shot.launch, "A ball", UnitSystem::Imperial).unwrap();
        let yards = format!("{:.0} yd", shot.flight.carry_m / 0.9144);
        assert!(said(&imperial).contains(&yards), "{yards}: {}", said(&imperial));
    }

    #[test]
    fn the_map_names_the_swing_that_it_is_for() {
        let (head, law) = (Club::default().conforming().unwrap(), FiveConstantLaw::default());
        let flier = Flier::new(&law, &Conditions::default()).unwrap();
        let setting = Setting { head: &head, hand: Hand::Left, face: Face::Dry, flier: &flier };
        let delivery = Delivery { head_speed_mps: 40.0, ..Delivery::default() };
        let map = face_map_drawing(&setting, &delivery, UnitSystem::Imperial).unwrap();
        assert!(map.alt.contains("89.5 mph"), "{}", map.alt);
    }
}
