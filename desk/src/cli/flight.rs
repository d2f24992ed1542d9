//! Options of `fly` and `delivery`.
//!
//! A quantity stands with its unit in one word: `100mph`, `-2mps`, `25C`.
//! Angles may go without (degrees), spins too (rpm).

use std::path::PathBuf;

use chalkface_core::model::{Hand, written};
use clap::{ArgGroup, Args, ValueEnum};

use super::{Units, hand, pair};

/// Options of `fly`.
#[derive(Debug, Args)]
#[command(group = ArgGroup::new("what").required(true).args(["head_speed", "ball_speed", "batch"]))]
pub struct Fly {
    /// Speed of the head just before impact, such as 100mph or 44.7mps.
    #[arg(long, value_name = "SPEED", value_parser = written::speed, allow_hyphen_values = true, requires = "loft")]
    pub head_speed: Option<f64>,
    /// Loft of the face at impact, degrees.
    #[arg(long, value_name = "DEG", value_parser = written::angle, allow_hyphen_values = true, requires = "head_speed")]
    pub loft: Option<f64>,
    /// Where the face points, degrees right of the target; 0 if not given.
    #[arg(long, value_name = "DEG", value_parser = written::angle, allow_hyphen_values = true, requires = "head_speed")]
    pub face: Option<f64>,
    /// Where the head moves, degrees right of the target; 0 if not given.
    #[arg(long, value_name = "DEG", value_parser = written::angle, allow_hyphen_values = true, requires = "head_speed")]
    pub path: Option<f64>,
    /// How far the head moves upward, degrees; 0 if not given.
    #[arg(long, value_name = "DEG", value_parser = written::angle, allow_hyphen_values = true, requires = "head_speed")]
    pub attack: Option<f64>,
    /// Where on the face, mm from its centre, such as toe20,high0 or heel5,low3; the centre if not given.
    #[arg(long, value_name = "WHERE", value_parser = written::strike, requires = "head_speed")]
    pub strike: Option<(f64, f64)>,
    /// Instead of a delivery: speed of the ball as it leaves the face, such as 147mph.
    #[arg(long, value_name = "SPEED", value_parser = written::speed, allow_hyphen_values = true,
          requires_all = ["launch", "backspin"], conflicts_with_all = ["club", "powder"])]
    pub ball_speed: Option<f64>,
    /// With --ball-speed: angle of the first path above the ground, degrees.
    #[arg(long, value_name = "DEG", value_parser = written::angle, allow_hyphen_values = true, requires = "ball_speed")]
    pub launch: Option<f64>,
    /// With --ball-speed: where the ball starts, degrees right of the target; 0 if not given.
    #[arg(long, value_name = "DEG", value_parser = written::angle, allow_hyphen_values = true, requires = "ball_speed")]
    pub start: Option<f64>,
    /// With --ball-speed: backspin, rpm.
    #[arg(long, value_name = "RPM", value_parser = written::spin, allow_hyphen_values = true, requires = "ball_speed")]
    pub backspin: Option<f64>,
    /// With --ball-speed: sidespin, rpm, positive curves right; 0 if not given.
    #[arg(long, value_name = "RPM", value_parser = written::spin, allow_hyphen_values = true, requires = "ball_speed")]
    pub sidespin: Option<f64>,
    /// A CSV file with a delivery or a launch a row; prints one line of JSON for each, in order.
    ///
    /// Columns of a delivery: head_speed_mps or head_speed_mph, loft_deg, face_deg, path_deg,
    /// attack_deg, toe_mm, high_mm. Of a launch: ball_speed_mps or ball_speed_mph, launch_deg,
    /// start_deg, backspin_rpm, sidespin_rpm. A file that has both is taken as deliveries.
    #[arg(long, value_name = "FILE.csv", verbatim_doc_comment)]
    pub batch: Option<PathBuf>,
    /// The face is powdered; in a file, where its column powder says nothing.
    #[arg(long)]
    pub powder: bool,
    /// Draw the flight from the side and above: .svg, .png or .pdf.
    #[arg(long, value_name = "FILE", conflicts_with = "batch")]
    pub out: Option<PathBuf>,
    /// Draw what strikes off the centre cost this swing: .svg, .png or .pdf.
    #[arg(long, value_name = "FILE", requires = "head_speed")]
    pub face_map: Option<PathBuf>,
    /// Units of the drawings.
    #[arg(long, value_enum, default_value = "metric")]
    pub units: Units,
    /// Ignore columns of the file that are not known.
    #[arg(long, requires = "batch")]
    pub ignore_unknown_columns: bool,
    /// Who swings what.
    #[command(flatten)]
    pub swung: Swung,
    /// The law and the air.
    #[command(flatten)]
    pub air: InAir,
}

/// Options of `delivery`.
#[derive(Debug, Args)]
pub struct Delivery {
    /// The CSV file: one row a ball, units in the header, any subset of what can be read.
    pub file: PathBuf,
    /// The strike that each shot is compared with: mm toward the toe, mm toward the crown.
    #[arg(long, value_name = "TOE,HIGH", value_parser = pair, allow_hyphen_values = true)]
    pub target: Option<(f64, f64)>,
    /// Ignore columns that are not known.
    #[arg(long)]
    pub ignore_unknown_columns: bool,
    /// Who swings what.
    #[command(flatten)]
    pub swung: Swung,
    /// The law and the air.
    #[command(flatten)]
    pub air: InAir,
}

/// Who swings what.
#[derive(Debug, Args)]
pub struct Swung {
    /// The hand that the player plays from.
    #[arg(long, value_parser = hand, default_value = "right")]
    pub hand: Hand,
    /// The club's build: a JSON object whose keys are named with their units, such as
    /// {"length_m": 1.13, "inertia_up_gcm2": 4800}; what it leaves out is the default driver's.
    #[arg(long, value_name = "FILE.json", verbatim_doc_comment)]
    pub club: Option<PathBuf>,
}

/// The law of drag and lift, and the air.
#[derive(Debug, Args)]
pub struct InAir {
    /// The law of drag and lift.
    #[arg(long, value_enum, default_value = "ods")]
    pub law: Law,
    /// Temperature, such as 25C or 77F; the standard atmosphere's if not given.
    #[arg(long, value_name = "TEMPERATURE", value_parser = written::temperature, allow_hyphen_values = true)]
    pub temperature: Option<f64>,
    /// Pressure at the place, such as 1013hPa or 29.9inHg; the standard atmosphere's if not given.
    #[arg(long, value_name = "PRESSURE", value_parser = written::pressure, allow_hyphen_values = true)]
    pub pressure: Option<f64>,
    /// Relative humidity, percent; dry if not given.
    #[arg(long, value_name = "PERCENT", value_parser = written::percent, allow_hyphen_values = true)]
    pub humidity: Option<f64>,
    /// Altitude, such as 500m or 1640ft: stands in for a temperature or pressure that is not given.
    #[arg(long, value_name = "HEIGHT", value_parser = written::length, allow_hyphen_values = true)]
    pub altitude: Option<f64>,
    /// Wind from behind, such as 3mps or 7mph; from ahead negative.
    #[arg(long, value_name = "SPEED", value_parser = written::speed, allow_hyphen_values = true)]
    pub tail_wind: Option<f64>,
    /// Wind that blows to the right; to the left negative.
    #[arg(long, value_name = "SPEED", value_parser = written::speed, allow_hyphen_values = true)]
    pub cross_wind: Option<f64>,
}

/// Laws by name.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Law {
    /// The published shape, fitted to the rule makers' distance test.
    Ods,
    /// The constants printed in 1994.
    SmitsSmith,
}
