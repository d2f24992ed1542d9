//! Sentences about one flight: what was given, what came out, what is assumed,
//! and how far to trust it.
//!
//! The rule: a figure that is fragile says so in the same place. Start at
//! [`Told`]; [`warnings`] for what is out of bounds, [`trust`] for the rest.

use super::number::{fixed, speed};
use crate::flight::{Air, Breach, Club, Delivery, Ending, Face, Figures, Hand, Launch, OutOfFit};
use crate::model::UnitSystem::{self, Imperial, Metric};

/// A figure for a person, in both systems where they differ.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Told {
    /// What it is.
    pub name: &'static str,
    /// In metric units.
    pub metric: String,
    /// In imperial units; the same where the trade has one unit only.
    pub imperial: String,
    /// Whether it rests on assumptions alone.
    pub assumed: bool,
}

const LEFT_RIGHT: [&str; 2] = ["left", "right"];

/// A signed figure as a size and a side; `none` where it rounds to 0.
fn sided(value: f64, decimals: usize, unit: &str, words: [&str; 2]) -> String {
    let size = fixed(value.abs(), decimals);
    if size.bytes().all(|b| b == b'0' || b == b'.') {
        return format!("{size} {unit}");
    }
    let [negative, positive] = words;
    format!("{size} {unit} {}", if value < 0.0 { negative } else { positive })
}

fn speed_cells(mps: f64) -> [String; 2] {
    [Metric, Imperial].map(|units| {
        let (value, unit) = units.speed(mps);
        format!("{} {unit}", fixed(value, 1))
    })
}

fn length_cells(m: f64) -> [String; 2] {
    [Metric, Imperial].map(|units| {
        let (value, unit) = units.distance(m);
        format!("{} {unit}", fixed(value, 1))
    })
}

fn side_cells(m: f64) -> [String; 2] {
    [Metric, Imperial].map(|units| {
        let (value, unit) = units.distance(m);
        sided(value, 1, unit, LEFT_RIGHT)
    })
}

fn between_cells(band: [f64; 2]) -> [String; 2] {
    let [low, high] = band.map(side_cells);
    let [low_m, low_yd] = low;
    let [high_m, high_yd] = high;
    [(low_m, high_m), (low_yd, high_yd)].map(
        |(low, high)| {
            if low == high { low } else { format!("{low} to {high}") }
        },
    )
}

/// Every figure, in the order in which it is read.
pub fn figures(f: &Figures) -> Vec<Told> {
    let both = |name, [metric, imperial]: [String; 2]| Told { name, metric, imperial, assumed: false };
    let same = |name, text: String| Told { name, imperial: text.clone(), metric: text, assumed: false };
    let mut told = vec![
        both("Ball speed", speed_cells(f.ball_speed_mps)),
        same("Launch", sided(f.launch_deg, 1, "deg", ["down", "up"])),
        same("Start", sided(f.start_deg, 1, "deg", LEFT_RIGHT)),
        same("Backspin", format!("{} rpm", fixed(f.backspin_rpm, 0))),
        same("Sidespin", sided(f.sidespin_rpm, 0, "rpm", LEFT_RIGHT)),
        same("Spin axis", sided(f.axis_deg, 1, "deg", LEFT_RIGHT)),
    ];
    told.extend(f.carry_m.map(|m| both("Carry", length_cells(m))));
    told.extend(f.lateral_m.map(|m| both("Side", side_cells(m))));
    told.extend(f.curve_m.map(|m| both("Curve", side_cells(m))));
    told.extend(f.apex_m.map(|m| both("Highest point", length_cells(m))));
    told.extend(f.time_s.map(|s| same("Time in the air", format!("{} s", fixed(s, 2)))));
    told.extend(f.landing_deg.map(|deg| same("Landing angle", format!("{} deg", fixed(deg, 1)))));
    if let Some(band) = f.band {
        let [low, high] = band.sidespin_rpm.map(|rpm| sided(rpm, 0, "rpm", LEFT_RIGHT));
        let spin = if low == high { low } else { format!("{low} to {high}") };
        told.push(same("Band of the sidespin", spin));
        told.push(both("Band of the curve", between_cells(band.curve_m)));
        told.push(both("Band of the side", between_cells(band.lateral_m)));
    }
    if let Some(run) = f.assumed_run {
        let [metric, imperial] = [Metric, Imperial].map(|units| {
            let [estimate, low, high] =
                [run.estimate_m, run.low_m, run.high_m].map(|m| fixed(units.distance(m).0, 0));
            format!("{estimate} {} ({low} to {high})", units.distance(0.0).1)
        });
        told.push(Told { name: "Run on level turf", metric, imperial, assumed: true });
    }
    told
}

/// A delivery in one line.
pub fn delivery(d: &Delivery, hand: Hand) -> String {
    let [metric, imperial] = speed_cells(d.head_speed_mps);
    let strike = match (sided(d.toe_mm, 1, "mm", ["heel", "toe"]), sided(d.high_mm, 1, "mm", ["low", "high"]))
    {
        (toe, high) if toe == "0.0 mm" && high == "0.0 mm" => "struck in the face centre".to_owned(),
        (toe, high) => format!("struck {toe}, {high}"),
    };
    format!(
        "{}: head speed {metric} ({imperial}), loft {} deg, face {}, path {}, attack {}, {strike}",
        hand_word(hand),
        fixed(d.loft_deg, 1),
        sided(d.face_deg, 1, "deg", LEFT_RIGHT),
        sided(d.path_deg, 1, "deg", LEFT_RIGHT),
        sided(d.attack_deg, 1, "deg", ["down", "up"]),
    )
}

/// A launch in one line.
pub fn launch(l: &Launch) -> String {
    let [metric, imperial] = speed_cells(l.ball_speed_mps);
    format!("From the launch: ball speed {metric} ({imperial}); no impact was computed")
}

fn hand_word(hand: Hand) -> &'static str {
    match hand {
        Hand::Right => "Right-handed",
        Hand::Left => "Left-handed",
    }
}

/// What is out of bounds: the flight, the club, the strike.
pub fn warnings(figures: &Figures, breaches: &[Breach], off_face: Option<&Club>) -> Vec<String> {
    let mut said: Vec<String> = breaches.iter().map(|b| club_warning(*b)).collect();
    said.extend(off_face.map(off_face_warning));
    if figures.out_of_range {
        said.push(format!(
            "The ball flew {} than the range in which this law of drag and lift was fitted: the flight is extrapolated.",
            out_of_fit(figures.out_of_fit)
        ));
    }
    said.extend(
        match figures.ending {
            Ending::Landed => None,
            Ending::Grounded => Some("The ball never rose: there is no flight and no carry."),
            Ending::Short => Some("The ball never rose to the height of the ground where it should land."),
            Ending::Unfinished => Some("The flight could not be followed to its end: it has no landing."),
        }
        .map(str::to_owned),
    );
    said
}

/// A club outside the Equipment Rules or an option of them.
pub fn club_warning(breach: Breach) -> String {
    if breach.always() {
        format!("Computed although the club breaks the Equipment Rules: {breach}.")
    } else {
        format!("The club: {breach}.")
    }
}

/// A strike beyond the club's face.
pub fn off_face_warning(club: &Club) -> String {
    format!(
        "The strike lies beyond this club's face of {} x {} mm, where there is no face to strike: the figures mean nothing unless the face is larger (common practice for the default size; a club file says your own).",
        fixed(club.face_width_mm, 0),
        fixed(club.face_height_mm, 0)
    )
}

fn out_of_fit(out: OutOfFit) -> String {
    let ways: Vec<&str> = [
        (out.reynolds_low, "slower"),
        (out.reynolds_high, "faster"),
        (out.spin_ratio_low, "with less spin for its speed"),
        (out.spin_ratio_high, "with more spin for its speed"),
    ]
    .into_iter()
    .filter_map(|(holds, word)| holds.then_some(word))
    .collect();
    ways.join(" and ")
}

/// What was taken for granted; `unsaid` names what the person left out.
pub fn assumed(unsaid: &[&str], club: Option<(&Club, Face)>, air: &Air) -> Vec<String> {
    let mut said = Vec::new();
    if !unsaid.is_empty() {
        said.push(format!("Taken as 0, as not given: {}.", unsaid.join(", ")));
    }
    if let Some((club, face)) = club {
        if *club == Club::default() {
            said.push(
                "A default driver of published weight, balance and inertia; a club file says your own."
                    .into(),
            );
        }
        said.push(match face {
            Face::Dry => "A clean, dry face.".into(),
            Face::Powdered => format!(
                "A powdered face with friction {}: the middle of what is said of wet faces, not measured for powder.",
                fixed(club.friction_powdered, 2)
            ),
        });
    }
    said.push(format!(
        "A ball of the largest mass and the least size that the Rules allow, level ground, air of {} kg/m3.",
        fixed(air.density_kgpm3, 3)
    ));
    said
}

/// Title of the drawing of one flight.
pub const ONE_FLIGHT: &str = "The flight";
/// Title of the map of the face.
pub const FACE_MAP: &str = "What a strike off the centre costs";
/// Said under every drawn flight.
pub const CARRY_TRUST: &str = "Computed; carry is known to about 5 %.";

/// The swing that a map of the face is for.
pub fn swing(d: &Delivery, units: UnitSystem) -> String {
    format!(
        "Head speed {}, loft {} deg, face {} deg, path {} deg.",
        speed(units, d.head_speed_mps),
        fixed(d.loft_deg, 1),
        fixed(d.face_deg, 1),
        fixed(d.path_deg, 1)
    )
}

/// How far to trust the figures.
pub fn trust(figures: &Figures) -> Vec<String> {
    let mut said = Vec::new();
    if figures.band.is_some() {
        said.push(
            "Sidespin and curve of a strike off the centre are fragile, a small difference of two large terms: the bands run from a free head to one that turns as if it had 20 % more inertia. The free head's turn is an upper bound, its loss of ball speed a lower one. Where the ball starts is robust."
                .to_owned(),
        );
    }
    said.push(
        "Carry is known to about 5 %: balls differ by that much, and the laws of drag and lift too."
            .to_owned(),
    );
    said
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flight::{Conditions, FiveConstantLaw, Flier, Setting, hit_each};

    fn figures_of(delivery: Delivery) -> Figures {
        let law = FiveConstantLaw::ODS_FIT;
        let flier = Flier::new(&law, &Conditions::default()).unwrap();
        let head = Club::default().conforming().unwrap();
        let setting = Setting { head: &head, hand: Hand::Right, face: Face::Dry, flier: &flier };
        hit_each(&setting, &[delivery]).remove(0).unwrap()
    }

    #[test]
    fn sides_are_words_and_nothing_has_no_side() {
        assert_eq!(sided(-1.26, 1, "m", LEFT_RIGHT), "1.3 m left");
        assert_eq!(sided(0.04, 1, "m", LEFT_RIGHT), "0.0 m");
        assert_eq!(sided(12.0, 0, "rpm", LEFT_RIGHT), "12 rpm right");
    }

    #[test]
    fn a_centre_hit_has_a_band_of_no_width_and_a_toe_strike_a_wide_one() {
        let cell = |toe_mm: f64, name: &str| {
            let d = Delivery { toe_mm, loft_deg: 13.0, head_speed_mps: 45.0, ..Delivery::default() };
            figures(&figures_of(d)).into_iter().find(|t| t.name == name).unwrap()
        };
        assert!(!cell(0.0, "Band of the curve").metric.contains(" to "));
        let toe = cell(20.0, "Band of the sidespin");
        assert!(toe.metric.starts_with("440 rpm left to "), "{toe:?}");
        let carry = cell(0.0, "Carry");
        assert_eq!((carry.metric.as_str(), carry.imperial.as_str()), ("204.4 m", "223.5 yd"));
        assert!(cell(0.0, "Run on level turf").assumed);
    }

    #[test]
    fn a_delivery_is_one_line_with_the_hand() {
        let d = Delivery { face_deg: -2.0, attack_deg: 3.0, toe_mm: -8.0, ..Delivery::default() };
        assert_eq!(
            delivery(&d, Hand::Left),
            "Left-handed: head speed 42.0 m/s (94.0 mph), loft 13.5 deg, face 2.0 deg left, path 0.0 deg, \
             attack 3.0 deg up, struck 8.0 mm heel, 0.0 mm"
        );
    }

    #[test]
    fn a_warning_names_what_is_out_of_bounds_and_nothing_else_warns() {
        let fine = figures_of(Delivery { loft_deg: 13.0, head_speed_mps: 45.0, ..Delivery::default() });
        assert!(warnings(&fine, &[], None).is_empty());
        let slow = figures_of(Delivery { head_speed_mps: 10.0, ..Delivery::default() });
        let said = warnings(&slow, &[Breach::TooLong { length_m: 1.3 }], Some(&Club::default())).join(" ");
        assert!(said.contains("slower") && said.contains("48 in") && said.contains("118 x 58 mm"), "{said}");
    }
}
