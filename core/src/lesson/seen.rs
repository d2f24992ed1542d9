//! From what was logged to what the physics takes: a club's record to a build,
//! a ball's marks, readings and words by eye to evidence.
//!
//! The rule: nothing is invented. What a record doesn't say is the published
//! default of `flight`, an error that a reading didn't bring is the stated one
//! of its kind, and both are told. Start at [`seen_of`]; [`club_of`],
//! [`face_of`] and [`hand_of`] for the setting.

use crate::flight::{self, Face, FlightError, Quantity, Seen};
use crate::model::club::on_ellipse;
use crate::model::quantity::{High, Toe};
use crate::model::{self, CurveByEye, Readings, Shot, StartByEye, StrikeMark};

/// The build of a club, as far as it is known; the rest is the default head.
pub fn club_of(club: &model::Club) -> flight::Club {
    let base = flight::Club::default();
    let or = |known: Option<f64>, default: f64| known.unwrap_or(default);
    flight::Club {
        length_m: or(club.length_m.map(f64::from), base.length_m),
        loft_deg: or(club.loft_deg.map(f64::from), base.loft_deg),
        head_mass_kg: or(club.head_mass_kg.map(f64::from), base.head_mass_kg),
        face_width_mm: or(club.face_width_mm.map(f64::from), base.face_width_mm),
        face_height_mm: or(club.face_height_mm.map(f64::from), base.face_height_mm),
        bulge_mm: or(club.bulge_mm.map(f64::from), base.bulge_mm),
        roll_mm: or(club.roll_mm.map(f64::from), base.roll_mm),
        inertia_normal_gcm2: or(club.inertia_normal_gcm2.map(f64::from), base.inertia_normal_gcm2),
        inertia_up_gcm2: or(club.inertia_up_gcm2.map(f64::from), base.inertia_up_gcm2),
        inertia_toe_gcm2: or(club.inertia_toe_gcm2.map(f64::from), base.inertia_toe_gcm2),
        balance_depth_mm: or(club.balance_depth_mm.map(f64::from), base.balance_depth_mm),
        balance_up_mm: or(club.balance_up_mm.map(f64::from), base.balance_up_mm),
        balance_toe_mm: or(club.balance_toe_mm.map(f64::from), base.balance_toe_mm),
        ..base
    }
}

/// The player's hand.
pub fn hand_of(hand: model::Hand) -> flight::Hand {
    match hand {
        model::Hand::Right => flight::Hand::Right,
        model::Hand::Left => flight::Hand::Left,
    }
}

/// The face's state; where nothing is said it is dry.
pub fn face_of(powder: Option<bool>) -> Face {
    if powder == Some(true) { Face::Powdered } else { Face::Dry }
}

/// Whether a strike, mm toward toe and crown, lies on the face of a club.
pub fn on_face_of(club: &flight::Club, toe_mm: f64, high_mm: f64) -> bool {
    match (Toe::new(toe_mm), High::new(high_mm)) {
        (Ok(toe), Ok(high)) => on_ellipse(toe, high, club.face_width_mm, club.face_height_mm),
        _ => false,
    }
}

/// What was seen of one ball.
#[derive(Debug, Clone, Copy)]
pub struct Watched<'a> {
    /// Where on the face it was struck.
    pub mark: Option<StrikeMark>,
    /// Where it started, by eye.
    pub start_by_eye: Option<StartByEye>,
    /// How it curved, by eye.
    pub curve_by_eye: Option<CurveByEye>,
    /// What was read.
    pub readings: &'a Readings,
}

impl<'a> From<&'a Shot> for Watched<'a> {
    fn from(shot: &'a Shot) -> Self {
        let Shot { mark, start_by_eye, curve_by_eye, ref readings, .. } = *shot;
        Self { mark, start_by_eye, curve_by_eye, readings }
    }
}

/// What was seen of one ball, as the physics takes it.
#[derive(Debug, Clone, PartialEq)]
pub struct Evidence {
    /// The readings with their errors.
    pub seen: Seen,
    /// Those of them that were judged by eye.
    pub by_eye: Vec<Quantity>,
    /// Those of them whose error is the stated one of their kind, not their own.
    pub assumed_error: Vec<Quantity>,
    /// Whether a strike mark was left out because it lies beyond the club's face.
    pub off_face: bool,
}

/// What was seen of one ball, as the physics takes it. A number replaces a
/// judgement by eye of the same quantity; a mark beyond the club's face is left out.
///
/// # Errors
/// [`FlightError::WithoutError`] for a reading whose own error is 0.
pub fn seen_of(watched: Watched<'_>, club: &flight::Club) -> Result<Evidence, FlightError> {
    let Watched { mark, start_by_eye, curve_by_eye, readings } = watched;
    let mut evidence =
        Evidence { seen: Seen::nothing(), by_eye: vec![], assumed_error: vec![], off_face: false };
    let mut numbers = numbers_of(readings);
    if let Some(mark) = mark {
        let (toe, high) = (mark.toe_mm.mm(), mark.high_mm.mm());
        if on_face_of(club, toe, high) {
            let own = mark.sigma_mm.mm();
            // A mark always has an error; one equal to its kind's is that.
            let own = (own.total_cmp(&mark.read.assumed_sigma_mm()).is_ne()).then_some(own);
            let sigma = Some(mark.sigma_mm.mm());
            numbers.extend([(Quantity::Toe, toe, sigma), (Quantity::High, high, sigma)]);
            if own.is_none() {
                evidence.assumed_error.extend([Quantity::Toe, Quantity::High]);
            }
        } else {
            evidence.off_face = true;
        }
    }
    if let Some(start) = start_by_eye.filter(|_| readings.start.is_none()) {
        evidence.seen = evidence.seen.with_start_by_eye(start.code() as i8);
        evidence.by_eye.push(Quantity::Start);
    }
    if let Some(curve) = curve_by_eye.filter(|_| readings.curve.is_none()) {
        evidence.seen = evidence.seen.with_curve_by_eye(curve.code() as i8);
        evidence.by_eye.push(Quantity::Curve);
    }
    for (quantity, value, sigma) in numbers {
        let sigma = sigma.unwrap_or_else(|| {
            evidence.assumed_error.push(quantity);
            quantity.assumed_sigma()
        });
        evidence.seen = evidence.seen.with(quantity, flight::Reading::Number { value, sigma })?;
    }
    evidence.assumed_error.sort();
    Ok(evidence)
}

/// Every reading as a quantity of the physics, its value and its own error.
fn numbers_of(r: &Readings) -> Vec<(Quantity, f64, Option<f64>)> {
    fn number<T: Into<f64> + Copy>(
        quantity: Quantity,
        reading: Option<model::Reading<T>>,
    ) -> Option<(Quantity, f64, Option<f64>)> {
        reading.map(|r| (quantity, r.value.into(), r.sigma.map(model::Sigma::get)))
    }
    [
        number(Quantity::HeadSpeed, r.head_speed),
        number(Quantity::BallSpeed, r.ball_speed),
        number(Quantity::Launch, r.launch),
        number(Quantity::Start, r.start),
        number(Quantity::Backspin, r.backspin),
        number(Quantity::Sidespin, r.sidespin),
        number(Quantity::Carry, r.carry),
        number(Quantity::Lateral, r.side),
        number(Quantity::Path, r.path),
        number(Quantity::Face, r.face_angle),
        number(Quantity::Attack, r.attack),
        number(Quantity::Loft, r.dynamic_loft),
        number(Quantity::Curve, r.curve),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// What a log calls a quantity: the name of its column without the unit.
pub fn reading_name(quantity: Quantity) -> &'static str {
    match quantity {
        Quantity::HeadSpeed => "head_speed",
        Quantity::Loft => "loft",
        Quantity::Face => "face",
        Quantity::Path => "path",
        Quantity::Attack => "attack",
        Quantity::Toe => "toe",
        Quantity::High => "high",
        Quantity::BallSpeed => "ball_speed",
        Quantity::Launch => "launch",
        Quantity::Start => "start",
        Quantity::Backspin => "backspin",
        Quantity::Sidespin => "sidespin",
        Quantity::Carry => "carry",
        Quantity::Lateral => "side",
        Quantity::Curve => "curve",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flight::Reading::{Bin, Number};
    use crate::model::quantity::{Carry, ClubLength, HeadSpeed, Inertia, Side, Start};
    use crate::model::{MarkRead, Name, Reading, RecordId, Sigma};

    fn read<T: TryFrom<f64, Error = model::Refusal>>(value: f64, sigma: Option<f64>) -> Reading<T> {
        let sigma = sigma.map(|s| Sigma::new(s).unwrap());
        Reading { value: T::try_from(value).unwrap(), sigma }
    }

    fn shot() -> Shot {
        Shot::of(RecordId(uuid::Uuid::from_u128(1)))
    }

    fn evidence(shot: &Shot) -> Evidence {
        seen_of(Watched::from(shot), &flight::Club::default()).unwrap()
    }

    #[test]
    fn what_a_clubs_record_says_replaces_the_default_head_and_nothing_else() {
        let mut club = model::Club::named(Name::new("Driver").unwrap());
        assert_eq!(club_of(&club), flight::Club::default());
        club.length_m = Some(ClubLength::new(1.1).unwrap());
        club.inertia_up_gcm2 = Some(Inertia::new(4800.0).unwrap());
        let expected = flight::Club { length_m: 1.1, inertia_up_gcm2: 4800.0, ..flight::Club::default() };
        assert_eq!(club_of(&club), expected);
        assert!(club_of(&club).conforming().is_ok());
    }

    #[test]
    fn every_default_size_of_a_face_is_one_and_the_same() {
        let named = model::Club::named(Name::new("Driver").unwrap());
        let (width, height, _) = named.face_mm();
        let build = flight::Club::default();
        assert_eq!((width, height), (build.face_width_mm, build.face_height_mm));
    }

    #[test]
    fn a_reading_keeps_its_own_error_and_else_has_the_stated_one_of_its_kind() {
        let mut shot = shot();
        shot.readings.head_speed = Some(read::<HeadSpeed>(44.0, Some(0.4)));
        shot.readings.carry = Some(read::<Carry>(190.0, None));
        shot.readings.side = Some(read::<Side>(-12.0, None));
        let evidence = evidence(&shot);
        let seen = &evidence.seen;
        assert_eq!(seen.of(Quantity::HeadSpeed), Some(Number { value: 44.0, sigma: 0.4 }));
        assert_eq!(seen.of(Quantity::Carry), Some(Number { value: 190.0, sigma: 8.0 }));
        assert_eq!(seen.of(Quantity::Lateral), Some(Number { value: -12.0, sigma: 5.0 }));
        assert_eq!(seen.all().count(), 3);
        assert_eq!(evidence.assumed_error, [Quantity::Carry, Quantity::Lateral]);
    }

    #[test]
    fn all_thirteen_readings_arrive_each_under_its_own_name() {
        let all: Readings = serde_json::from_value(serde_json::json!({
            "head_speed": {"value": 41, "sigma": 1}, "ball_speed": {"value": 60, "sigma": 2},
            "launch": {"value": 12, "sigma": 3}, "start": {"value": -2, "sigma": 4},
            "backspin": {"value": 2600, "sigma": 5}, "sidespin": {"value": -300, "sigma": 6},
            "carry": {"value": 180, "sigma": 7}, "side": {"value": -9, "sigma": 8},
            "path": {"value": 1, "sigma": 9}, "face_angle": {"value": 2, "sigma": 10},
            "attack": {"value": 3, "sigma": 11}, "dynamic_loft": {"value": 14, "sigma": 12},
            "curve": {"value": -4, "sigma": 13},
        }))
        .unwrap();
        let shot = Shot { readings: all, ..shot() };
        let found: Vec<String> = evidence(&shot)
            .seen
            .all()
            .map(|(q, r)| match r {
                Number { value, sigma } => format!("{} {value} {sigma}", reading_name(q)),
                Bin { .. } => panic!("{q:?}"),
            })
            .collect();
        assert_eq!(
            found,
            [
                "head_speed 41 1",
                "loft 14 12",
                "face 2 10",
                "path 1 9",
                "attack 3 11",
                "ball_speed 60 2",
                "launch 12 3",
                "start -2 4",
                "backspin 2600 5",
                "sidespin -300 6",
                "carry 180 7",
                "side -9 8",
                "curve -4 13",
            ]
        );
    }

    #[test]
    fn a_word_by_eye_is_a_bin_and_a_number_replaces_it() {
        let mut shot = shot();
        shot.start_by_eye = Some(StartByEye::FarRight);
        shot.curve_by_eye = Some(CurveByEye::StrongLeft);
        let by_eye = evidence(&shot);
        assert_eq!(by_eye.by_eye, [Quantity::Start, Quantity::Curve]);
        assert!(matches!(by_eye.seen.of(Quantity::Start), Some(Bin { low, .. }) if low > 0.0));
        assert!(matches!(by_eye.seen.of(Quantity::Curve), Some(Bin { high, .. }) if high < 0.0));
        shot.readings.start = Some(read::<Start>(7.5, Some(0.5)));
        let read = evidence(&shot);
        assert_eq!(read.by_eye, [Quantity::Curve]);
        assert_eq!(read.seen.of(Quantity::Start), Some(Number { value: 7.5, sigma: 0.5 }));
    }

    #[test]
    fn a_mark_brings_both_axes_and_one_beyond_this_clubs_face_is_left_out() {
        let mut shot = shot();
        shot.mark = Some(StrikeMark::new(-12.0, 4.0, None, MarkRead::Felt).unwrap());
        let felt = evidence(&shot);
        assert_eq!(felt.seen.of(Quantity::Toe), Some(Number { value: -12.0, sigma: 10.0 }));
        assert_eq!(felt.seen.of(Quantity::High), Some(Number { value: 4.0, sigma: 10.0 }));
        assert_eq!(felt.assumed_error, [Quantity::Toe, Quantity::High]);
        shot.mark = Some(StrikeMark::new(50.0, 30.0, Some(1.5), MarkRead::Tap).unwrap());
        let off = evidence(&shot);
        assert!(off.off_face && off.seen.all().count() == 0 && off.assumed_error.is_empty());
        let large = flight::Club { face_width_mm: 127.0, face_height_mm: 100.0, ..flight::Club::default() };
        let on = seen_of(Watched::from(&shot), &large).unwrap();
        assert_eq!(on.seen.of(Quantity::Toe), Some(Number { value: 50.0, sigma: 1.5 }));
        assert!(!on.off_face && on.assumed_error.is_empty());
    }

    #[test]
    fn nothing_said_of_powder_means_a_dry_face() {
        assert_eq!([None, Some(false), Some(true)].map(face_of), [Face::Dry, Face::Dry, Face::Powdered]);
    }

    #[test]
    fn a_reading_without_any_error_is_refused_with_its_name() {
        let mut shot = shot();
        shot.readings.carry = Some(read::<Carry>(190.0, Some(0.0)));
        let said = seen_of(Watched::from(&shot), &flight::Club::default()).unwrap_err().to_string();
        assert!(said.contains("carry (m) is 0"), "{said}");
    }
}
