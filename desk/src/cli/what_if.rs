//! Options of `what-if`.

use std::path::PathBuf;

use chalkface_core::lesson::{Care, Edge, Trouble};
use clap::{Args, ValueEnum};

use super::flight::{InAir, Swung};
use super::pair;

/// Options of `what-if`.
#[derive(Debug, Args)]
pub struct WhatIf {
    /// A student of the book, or a CSV file: one row a ball, columns as for `delivery`, and `session`.
    pub of: String,
    /// Width of the fairway, m.
    #[arg(long, value_name = "M", default_value_t = 30.0)]
    pub fairway_m: f64,
    /// Where trouble begins: m from the target line, on both sides or one, such as 35 or left35.
    #[arg(long, value_name = "M", value_parser = trouble, default_value = "30")]
    pub trouble: Trouble,
    /// What ranks the fixes.
    #[arg(long, value_enum, default_value = "both")]
    pub care: CareFor,
    /// Another size for a fix, such as centre=6 or tighten=0.7; may be given several times.
    ///
    /// centre (mm), tighten (times), grip-down (in), speed (m/s), face-to-path (times),
    /// square (deg), tee (mm).
    #[arg(long, value_name = "FIX=SIZE", value_parser = size)]
    pub size: Vec<(SizeOf, f64)>,
    /// Where the strike should be: mm toward the toe, mm toward the crown.
    #[arg(long, value_name = "TOE,HIGH", value_parser = pair, allow_hyphen_values = true)]
    pub target: Option<(f64, f64)>,
    /// Drives of each swing.
    #[arg(long, value_name = "N", default_value_t = chalkface_core::lesson::what_if::DRIVES)]
    pub drives: usize,
    /// Write the page: .html, .svg, .png, .pdf, .json or .txt; to the terminal if not given.
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// Ignore columns of the file that are not known.
    #[arg(long)]
    pub ignore_unknown_columns: bool,
    /// Who swings what; for a student of the book, what the book says.
    #[command(flatten)]
    pub swung: Swung,
    /// The law and the air.
    #[command(flatten)]
    pub air: InAir,
}

/// What the student cares about, by word.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum CareFor {
    /// Carry.
    Distance,
    /// Fairways.
    Fairways,
    /// A metre of carry counts as much as one fairway in a hundred.
    Both,
}

impl From<CareFor> for Care {
    fn from(care: CareFor) -> Self {
        match care {
            CareFor::Distance => Self::Distance,
            CareFor::Fairways => Self::Fairways,
            CareFor::Both => Self::Both,
        }
    }
}

/// Which fix's size.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SizeOf {
    Centre,
    Tighten,
    GripDown,
    Speed,
    FaceToPath,
    Square,
    Tee,
}

fn size(text: &str) -> Result<(SizeOf, f64), String> {
    let (name, value) = text.split_once('=').ok_or("a fix and its size with = between, such as centre=6")?;
    let of = match name.trim() {
        "centre" => SizeOf::Centre,
        "tighten" => SizeOf::Tighten,
        "grip-down" => SizeOf::GripDown,
        "speed" => SizeOf::Speed,
        "face-to-path" => SizeOf::FaceToPath,
        "square" => SizeOf::Square,
        "tee" => SizeOf::Tee,
        other => {
            return Err(format!(
                "{other:?} is no fix with a size; there are centre, tighten, grip-down, speed, face-to-path, square and tee"
            ));
        }
    };
    let value = value.trim().parse().map_err(|_| format!("{value:?} is not a number"))?;
    Ok((of, value))
}

fn trouble(text: &str) -> Result<Trouble, String> {
    let text = text.trim();
    let (edge, distance) = if let Some(rest) = text.strip_prefix("left") {
        (Edge::Left, rest)
    } else if let Some(rest) = text.strip_prefix("right") {
        (Edge::Right, rest)
    } else {
        (Edge::Both, text)
    };
    let beyond_m =
        distance.trim().trim_end_matches('m').parse().map_err(|_| {
            format!("{text:?} is no trouble line; give metres, such as 35, left35 or right40")
        })?;
    Ok(Trouble { edge, beyond_m })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn trouble_has_a_side_or_two() {
        assert_eq!(trouble("left35"), Ok(Trouble { edge: Edge::Left, beyond_m: 35.0 }));
        assert_eq!(trouble("40m"), Ok(Trouble { edge: Edge::Both, beyond_m: 40.0 }));
        assert!(trouble("far").is_err());
    }

    #[test]
    fn a_size_names_its_fix() {
        assert_eq!(size("grip-down=1"), Ok((SizeOf::GripDown, 1.0)));
        assert!(size("putt=3").unwrap_err().contains("centre, tighten"));
    }
}
