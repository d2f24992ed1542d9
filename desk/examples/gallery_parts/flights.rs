//! The gallery's charts of flights, landings and the face map: computed with the
//! core's physics from invented swings. Start at [`scenes`].

use std::error::Error;

use chalkface_core::chart::{
    FaceMap, FlightPaths, FlownPath, Hand, Landing, LandingOval, LandingScatter, LandingSet, Length, MapCell,
    PathSpot, Scene, face_map, flight_paths, landing_chart,
};
use chalkface_core::flight::{
    self, Club, Conditions, Delivery, Face, FiveConstantLaw, Flier, Grid, Launch, Oval, Setting, carry_map,
    hit, scatter,
};

type Failure = Box<dyn Error>;

fn launch(speed: f64, up: f64, start: f64, backspin: f64, sidespin: f64) -> Launch {
    Launch {
        ball_speed_mps: speed,
        launch_deg: up,
        start_deg: start,
        backspin_rpm: backspin,
        sidespin_rpm: sidespin,
        rifle_rpm: 0.0,
    }
}

fn paths(
    title: &str,
    launches: &[(&str, Launch)],
    unit: Length,
    caption: &str,
    width_mm: f64,
) -> Result<Scene, Failure> {
    let law = FiveConstantLaw::default();
    let flier = Flier::new(&law, &Conditions::default())?;
    let mut flown = Vec::new();
    for (label, launch) in launches {
        let mut path = Vec::new();
        let flight = flier.fly_path(launch, 0.05, &mut path)?;
        let spots: Vec<PathSpot> =
            path.iter().map(|p| PathSpot { down_m: p.x_m, height_m: p.y_m, right_m: p.z_m }).collect();
        flown.push((*label, spots, launch.start_deg, flight.landing_deg));
    }
    let flights: Vec<FlownPath<'_>> = flown
        .iter()
        .map(|(label, path, start_deg, landing_deg)| FlownPath {
            label,
            path,
            start_deg: *start_deg,
            landing_deg: *landing_deg,
        })
        .collect();
    Ok(flight_paths(&FlightPaths { title, unit, flights: &flights, caption, width_mm })?)
}

fn oval(oval: &Oval) -> LandingOval {
    LandingOval {
        semi_major_m: oval.semi_major_m,
        semi_minor_m: oval.semi_minor_m,
        right_deg: oval.right_deg,
    }
}

/// Landing points of swings that scatter as the marks do.
fn balls(strikes: &[(f64, f64)], face: f64) -> Result<Vec<[f64; 2]>, Failure> {
    let (head, law) = (Club::default().conforming()?, FiveConstantLaw::default());
    let flier = Flier::new(&law, &Conditions::default())?;
    let mut found = Vec::new();
    for (i, (toe_mm, high_mm)) in strikes.iter().enumerate() {
        let wobble = f64::from((i * 37 % 19) as u32) / 9.0 - 1.0;
        let delivery = Delivery {
            head_speed_mps: 43.0 + 0.8 * wobble,
            face_deg: face + 2.2 * wobble,
            path_deg: 1.5 * wobble,
            toe_mm: *toe_mm,
            high_mm: *high_mm,
            ..Delivery::default()
        };
        let shot = hit(&head, flight::delivery::Hand::Right, Face::Dry, &flier, &delivery)?;
        found.push([shot.flight.carry_m, shot.flight.lateral_m]);
    }
    Ok(found)
}

fn landing(
    title: &str,
    sets: &[(&str, Vec<[f64; 2]>)],
    unit: Length,
    width_mm: f64,
) -> Result<Scene, Failure> {
    let of_latest = sets.last().and_then(|(_, balls)| scatter(balls));
    let sets: Vec<LandingSet<'_>> = sets.iter().map(|(label, balls)| LandingSet { label, balls }).collect();
    Ok(landing_chart(&Landing {
        title,
        unit,
        sets: &sets,
        scatter: of_latest.map(|s| LandingScatter {
            carry_m: s.carry_m,
            lateral_m: s.lateral_m,
            one_sigma: oval(&s.one_sigma),
            oval95: oval(&s.oval95),
        }),
        fairway_m: Some(30.0),
        caption: "",
        width_mm,
    })?)
}

fn map(hand: Hand, speed: f64, unit: Length, grid: Grid, width_mm: f64) -> Result<Scene, Failure> {
    let club = Club::default();
    let (head, law) = (club.conforming()?, FiveConstantLaw::default());
    let flier = Flier::new(&law, &Conditions::default())?;
    let side = match hand {
        Hand::Right => flight::delivery::Hand::Right,
        Hand::Left => flight::delivery::Hand::Left,
    };
    let setting = Setting { head: &head, hand: side, face: Face::Dry, flier: &flier };
    let delivery = Delivery { head_speed_mps: speed, ..Delivery::default() };
    let cells: Vec<MapCell> = carry_map(&setting, &delivery, grid)?
        .iter()
        .map(|c| MapCell { toe_mm: c.toe_mm, high_mm: c.high_mm, carry_m: c.carry_m })
        .collect();
    Ok(face_map(&FaceMap {
        title: "What a strike off the centre costs",
        hand,
        face_width_mm: club.face_width_mm,
        face_height_mm: club.face_height_mm,
        cells: &cells,
        cell_mm: (club.face_width_mm / f64::from(grid.columns), club.face_height_mm / f64::from(grid.rows)),
        unit,
        caption: &format!("Club head at {speed:.0} m/s, square to its path."),
        width_mm,
    })?)
}

/// All of them at one width. `strikes` are invented marks, toe and high, mm.
pub fn scenes(strikes: &[(f64, f64)], width: f64) -> Result<Vec<(&'static str, Scene)>, Failure> {
    let (m, yd) = (Length::Metres, Length::Yards);
    let fade = [("Drive 3", launch(66.0, 11.0, -1.5, 2500.0, 620.0))];
    let draw = [("Drive 3", launch(58.0, 13.0, 2.4, 2700.0, -520.0))];
    let three = [
        ("Struck in the middle", launch(66.1, 10.3, 0.0, 2487.0, 0.0)),
        ("20 mm toward the toe", launch(64.7, 10.2, 4.0, 2451.0, -440.0)),
        ("15 mm high", launch(64.6, 13.4, 0.0, 1819.0, 0.0)),
    ];
    let topped = [("A topped ball", launch(38.0, 1.5, 0.0, 300.0, 0.0))];
    let (first, second) = strikes.split_at(strikes.len() / 2);
    let some = |strikes: &[(f64, f64)], n| strikes.iter().take(n).copied().collect::<Vec<_>>();
    let few = [("2 March", balls(&some(first, 14), 1.8)?), ("27 April", balls(&some(second, 18), 0.2)?)];
    let many = [("Spring", balls(first, 1.5)?), ("Summer", balls(second, -0.4)?)];
    Ok(vec![
        ("flight-fade", paths("One drive", &fade, m, "Computed from what was read.", width)?),
        ("flight-draw", paths("One drive", &draw, yd, "", width)?),
        ("flight-three", paths("The same swing, struck in three places", &three, yd, "", width)?),
        ("flight-topped", paths("A ball that stays low", &topped, m, "", width)?),
        ("flight-none", paths("Nothing yet", &[], m, "", width)?),
        ("landing-few", landing("Where the drives came down", &few, m, width)?),
        ("landing-many", landing("Two seasons", &many, yd, width)?),
        ("landing-none", landing("Nothing yet", &[], m, width)?),
        ("map-right", map(Hand::Right, 45.0, m, Grid::default(), width)?),
        ("map-left", map(Hand::Left, 36.0, yd, Grid::default(), width)?),
        ("map-fine", map(Hand::Right, 45.0, m, Grid { columns: 25, rows: 15 }, width)?),
    ])
}
