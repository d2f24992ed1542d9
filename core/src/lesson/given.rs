//! A row that gives a whole delivery or a whole launch, for computing its flight.
//!
//! The rule: nothing is filled in; what a row lacks is named. Start at
//! [`delivery_of`] and [`launch_of`].

use super::seen::{Watched, reading_name};
use crate::flight::{Delivery, Launch, Quantity};
use crate::model::Reading;

/// What a row lacks.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("the row has no value for {}; each of {} is needed, 0 where it is 0", self.lacking.join(", "), self.needed.join(", "))]
pub struct Lacks {
    /// The readings that it has no value for, as a log calls them.
    pub lacking: Vec<&'static str>,
    /// All that are needed.
    pub needed: Vec<&'static str>,
}

const DELIVERY: [Quantity; 7] = [
    Quantity::HeadSpeed,
    Quantity::Loft,
    Quantity::Face,
    Quantity::Path,
    Quantity::Attack,
    Quantity::Toe,
    Quantity::High,
];
const LAUNCH: [Quantity; 5] =
    [Quantity::BallSpeed, Quantity::Launch, Quantity::Start, Quantity::Backspin, Quantity::Sidespin];

/// The delivery that a row gives.
///
/// # Errors
/// [`Lacks`] with the names of what it doesn't give.
pub fn delivery_of(row: Watched<'_>) -> Result<Delivery, Lacks> {
    let r = row.readings;
    let values = [
        value(r.head_speed),
        value(r.dynamic_loft),
        value(r.face_angle),
        value(r.path),
        value(r.attack),
        row.mark.map(|m| m.toe_mm.mm()),
        row.mark.map(|m| m.high_mm.mm()),
    ];
    let [head_speed_mps, loft_deg, face_deg, path_deg, attack_deg, toe_mm, high_mm] =
        whole(DELIVERY, values)?;
    Ok(Delivery { head_speed_mps, loft_deg, face_deg, path_deg, attack_deg, toe_mm, high_mm })
}

/// The launch that a row gives.
///
/// # Errors
/// As [`delivery_of`].
pub fn launch_of(row: Watched<'_>) -> Result<Launch, Lacks> {
    let r = row.readings;
    let values = [value(r.ball_speed), value(r.launch), value(r.start), value(r.backspin), value(r.sidespin)];
    let [ball_speed_mps, launch_deg, start_deg, backspin_rpm, sidespin_rpm] = whole(LAUNCH, values)?;
    Ok(Launch { ball_speed_mps, launch_deg, start_deg, backspin_rpm, sidespin_rpm, rifle_rpm: 0.0 })
}

fn value<T: Into<f64>>(reading: Option<Reading<T>>) -> Option<f64> {
    reading.map(|r| r.value.into())
}

fn whole<const N: usize>(names: [Quantity; N], values: [Option<f64>; N]) -> Result<[f64; N], Lacks> {
    if values.iter().all(Option::is_some) {
        return Ok(values.map(Option::unwrap_or_default));
    }
    let lacking = names.iter().zip(values).filter(|(_, v)| v.is_none()).map(|(q, _)| reading_name(*q));
    Err(Lacks { lacking: lacking.collect(), needed: names.map(reading_name).to_vec() })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::quantity::HeadSpeed;
    use crate::model::{MarkRead, Readings, StrikeMark};

    #[test]
    fn what_a_row_lacks_is_named_and_never_filled_in() {
        let readings = Readings {
            head_speed: Some(Reading { value: HeadSpeed::new(45.0).unwrap(), sigma: None }),
            ..Readings::default()
        };
        let mark = Some(StrikeMark::new(3.0, 4.0, None, MarkRead::Tap).unwrap());
        let row = Watched { mark, start_by_eye: None, curve_by_eye: None, readings: &readings };
        assert_eq!(delivery_of(row).unwrap_err().lacking, ["loft", "face", "path", "attack"]);
        let said = launch_of(row).unwrap_err().to_string();
        assert!(said.contains("no value for ball_speed, launch, start, backspin, sidespin;"), "{said}");
    }
}
