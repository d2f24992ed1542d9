//! Flies the rows of a CSV file and prints one JSON line for each, in order, for
//! checks by other programs: `cargo run -p chalkface-tests --example fly_json --
//! --batch FILE.csv [--law ods|smits-smith] [--hand left] [--club FILE.json]
//! [--tail-wind 3mps] [--cross-wind 3mps] [--temperature 20C --pressure 1000hPa
//! --humidity 40]`. Columns are exactly those of a delivery or of a launch.
//!
//! Start at `main`; what it flies with is in core/src/flight.

use std::collections::HashMap;
use std::error::Error;
use std::fs;

use chalkface_core::flight::{
    Air, Club, Conditions, Delivery, Face, FiveConstantLaw, Flier, Flight, Hand, Launch, Weather, hit,
};
use serde_json::json;

type Failure = Box<dyn Error>;

/// The options by name.
struct Told(HashMap<String, String>);

impl Told {
    fn read() -> Result<Self, Failure> {
        let mut words = std::env::args().skip(1);
        let mut told = HashMap::new();
        while let Some(word) = words.next() {
            let (name, value) = match word.split_once('=') {
                Some((name, value)) => (name.to_owned(), value.to_owned()),
                None => (word.clone(), words.next().ok_or_else(|| format!("{word} lacks its value"))?),
            };
            told.insert(name, value);
        }
        Ok(Self(told))
    }

    fn text(&self, name: &str) -> Option<&str> {
        self.0.get(name).map(String::as_str)
    }

    /// A number that stands with this unit.
    fn number(&self, name: &str, unit: &str) -> Result<Option<f64>, Failure> {
        let Some(text) = self.text(name) else { return Ok(None) };
        let bare = text.strip_suffix(unit).ok_or_else(|| format!("{name} {text} is not in {unit}"))?;
        Ok(Some(bare.parse()?))
    }

    fn conditions(&self) -> Result<Conditions, Failure> {
        let weather = (
            self.number("--temperature", "C")?,
            self.number("--pressure", "hPa")?,
            self.number("--humidity", "")?,
        );
        let air = match weather {
            (None, None, None) => Air::STANDARD,
            (Some(temperature_c), Some(pressure_hpa), Some(humidity_percent)) => {
                Air::of_weather(&Weather { temperature_c, pressure_hpa, humidity_percent })?
            }
            _ => return Err("give temperature, pressure and humidity together".into()),
        };
        Ok(Conditions {
            air,
            tail_wind_mps: self.number("--tail-wind", "mps")?.unwrap_or(0.0),
            cross_wind_mps: self.number("--cross-wind", "mps")?.unwrap_or(0.0),
            ..Conditions::default()
        })
    }
}

fn line(launch: &Launch, flight: &Flight, slipped: Option<bool>) -> String {
    json!({
        "ball_speed_mps": launch.ball_speed_mps,
        "launch_deg": launch.launch_deg,
        "start_deg": launch.start_deg,
        "backspin_rpm": launch.backspin_rpm,
        "sidespin_rpm": launch.sidespin_rpm,
        "axis_deg": launch.axis_deg(),
        "carry_m": flight.carry_m,
        "lateral_m": flight.lateral_m,
        "apex_m": flight.apex_m,
        "time_s": flight.time_s,
        "landing_deg": flight.landing_deg,
        "slipped": slipped,
        "out_of_range": flight.out_of_fit.any(),
    })
    .to_string()
}

fn main() -> Result<(), Failure> {
    let told = Told::read()?;
    let law = match told.text("--law") {
        None | Some("ods") => FiveConstantLaw::ODS_FIT,
        Some("smits-smith") => FiveConstantLaw::SMITS_SMITH_1994,
        Some(other) => return Err(format!("no law is called {other}").into()),
    };
    let hand = match told.text("--hand") {
        None | Some("right") => Hand::Right,
        Some("left") => Hand::Left,
        Some(other) => return Err(format!("no hand is called {other}").into()),
    };
    let club: Club = match told.text("--club") {
        Some(path) => serde_json::from_str(&fs::read_to_string(path)?)?,
        None => Club::default(),
    };
    let flier = Flier::new(&law, &told.conditions()?)?;
    let (head, _) = club.any()?;
    let rows = fs::read_to_string(told.text("--batch").ok_or("--batch names the file")?)?;
    let mut rows = rows.lines();
    let header = rows.next().unwrap_or_default();
    for row in rows {
        let numbers: Vec<f64> = row.split(',').map(str::parse).collect::<Result<_, _>>()?;
        let answer = match (header, numbers.as_slice()) {
            (
                "ball_speed_mps,launch_deg,start_deg,backspin_rpm,sidespin_rpm",
                &[ball_speed_mps, launch_deg, start_deg, backspin_rpm, sidespin_rpm],
            ) => {
                let rifle_rpm = 0.0;
                let launch =
                    Launch { ball_speed_mps, launch_deg, start_deg, backspin_rpm, sidespin_rpm, rifle_rpm };
                line(&launch, &flier.fly(&launch)?, None)
            }
            (
                "head_speed_mps,loft_deg,face_deg,path_deg,attack_deg,toe_mm,high_mm",
                &[head_speed_mps, loft_deg, face_deg, path_deg, attack_deg, toe_mm, high_mm],
            ) => {
                let delivery =
                    Delivery { head_speed_mps, loft_deg, face_deg, path_deg, attack_deg, toe_mm, high_mm };
                let shot = hit(&head, hand, Face::Dry, &flier, &delivery)?;
                line(&shot.launch, &shot.flight, Some(shot.slipped))
            }
            _ => return Err(format!("columns {header} with {} numbers", numbers.len()).into()),
        };
        println!("{answer}");
    }
    Ok(())
}
