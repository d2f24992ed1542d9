//! One ball explained: the delivery behind what was seen, and how much of the
//! shot comes from where on the face it was struck.
//!
//! The rule: every figure has its error or its doubt beside it. Start at [`explain`].

use serde::Serialize;

use super::seen::{Watched, club_of, face_of, hand_of, reading_name, seen_of};
use crate::flight::inverse::{Estimate, Prior, Setting, fit};
use crate::flight::law::AirLaw;
use crate::flight::{
    self, Conditions, Face, Fit, FiveConstantLaw, Flier, FlightError, Quantity, Split, hit, split,
};
use crate::model::{self, Shot};

/// Where on the face the ball was struck, after all that was seen.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct StruckAt {
    /// Toward the toe, mm.
    pub toe_mm: Estimate,
    /// Toward the crown, mm.
    pub high_mm: Estimate,
}

/// What makes an explanation less sure than its figures say.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Doubt {
    /// No strike mark: the strike is the assumed prior's, moved by what else was seen.
    NoStrikeMark,
    /// The mark lies beyond the club's face and was left out.
    MarkOffFace,
    /// The readings contradict each other or the prior: less than once in a
    /// thousand would they lie so far apart.
    Contradiction,
    /// The shot's flight leaves the range that the law of the air was fitted in.
    OutOfRange,
    /// The face was powdered: its friction is assumed.
    PowderedFriction,
}

/// One ball explained.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Explained {
    /// Head speed, m/s.
    pub head_speed_mps: Estimate,
    /// Face angle, deg, right positive.
    pub face_deg: Estimate,
    /// Path, deg, right positive.
    pub path_deg: Estimate,
    /// Attack angle, deg, upward positive.
    pub attack_deg: Estimate,
    /// Dynamic loft, deg.
    pub loft_deg: Estimate,
    /// The readings that it rests on, as a log calls them.
    pub used: Vec<&'static str>,
    /// The shot in its parts.
    pub split: Split,
    /// Where on the face.
    pub strike: StruckAt,
    /// The readings that were judged by eye.
    pub by_eye: Vec<&'static str>,
    /// The readings whose error is the stated one of their kind.
    pub assumed_error: Vec<&'static str>,
    /// The face's state: powdered and dry are not to be mixed.
    pub face: Face,
    /// Half the sum of squared standard errors of readings and prior.
    pub misfit: f64,
    /// What makes it less sure.
    pub doubts: Vec<Doubt>,
}

/// Explains one logged ball: with the club it was hit with, in the air of a mild day at sea
/// level.
///
/// # Errors
/// As [`explain`].
pub fn explain_shot(
    hand: model::Hand,
    club: Option<&model::Club>,
    powder: Option<bool>,
    shot: &Shot,
    target_mm: [f64; 2],
) -> Result<Explained, FlightError> {
    let law = FiveConstantLaw::ODS_FIT;
    let flier = Flier::new(&law, &Conditions::default())?;
    let (head, _) = club.map_or_else(flight::Club::default, club_of).any()?;
    let face = face_of(shot.powder.or(powder));
    let setting = Setting { head: &head, hand: hand_of(hand), face, flier: &flier };
    explain(&setting, &Prior::default(), Watched::from(shot), target_mm)
}

/// Explains one ball; `target_mm` is where the coach wants the strike, toward
/// toe and crown.
///
/// # Errors
/// [`FlightError::NothingRead`] where nothing was seen, and as [`fit`] and [`split()`].
pub fn explain<L: AirLaw>(
    setting: &Setting<L>,
    prior: &Prior,
    watched: Watched<'_>,
    target_mm: [f64; 2],
) -> Result<Explained, FlightError> {
    let evidence = seen_of(watched, setting.head.club())?;
    let found = fit(setting, prior, &evidence.seen)?;
    let number = |quantity| found.of(quantity).ok_or(FlightError::NoFit);
    let shot = hit(setting.head, setting.hand, setting.face, setting.flier, &found.delivery)?;
    let doubts = [
        (evidence.seen.of(Quantity::Toe).is_none() && !evidence.off_face, Doubt::NoStrikeMark),
        (evidence.off_face, Doubt::MarkOffFace),
        (contradicts(&found), Doubt::Contradiction),
        (shot.flight.out_of_fit.any(), Doubt::OutOfRange),
        (setting.face == Face::Powdered, Doubt::PowderedFriction),
    ];
    let names = |quantities: &[Quantity]| quantities.iter().map(|q| reading_name(*q)).collect();
    Ok(Explained {
        head_speed_mps: number(Quantity::HeadSpeed)?,
        face_deg: number(Quantity::Face)?,
        path_deg: number(Quantity::Path)?,
        attack_deg: number(Quantity::Attack)?,
        loft_deg: number(Quantity::Loft)?,
        used: names(&found.used),
        split: split(setting, &found.delivery, target_mm)?,
        strike: StruckAt { toe_mm: number(Quantity::Toe)?, high_mm: number(Quantity::High)? },
        by_eye: names(&evidence.by_eye),
        assumed_error: names(&evidence.assumed_error),
        face: setting.face,
        misfit: found.misfit,
        doubts: doubts.into_iter().filter_map(|(holds, doubt)| holds.then_some(doubt)).collect(),
    })
}

/// Whether readings and prior lie further apart than once in a thousand: twice
/// the misfit is then above chi square's 99.9 % point for as many readings,
/// by the approximation of Wilson and Hilferty (PNAS 17, 684, 1931; status M).
fn contradicts(found: &Fit) -> bool {
    const Z_999: f64 = 3.090_232;
    let n = found.used.len() as f64;
    let part = 2.0 / (9.0 * n);
    let root = 1.0 - part + Z_999 * part.sqrt();
    2.0 * found.misfit > n * root * root * root
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flight::{Club, Conditions, Delivery, FiveConstantLaw, Flier, Hand};
    use crate::model::quantity::{BallSpeed, Curve, HeadSpeed, Launch, Start};
    use crate::model::{MarkRead, Reading, Readings, Sigma, StrikeMark};

    const LAW: FiveConstantLaw = FiveConstantLaw::ODS_FIT;

    fn with_setting<T>(face: Face, f: impl FnOnce(&Setting<FiveConstantLaw>) -> T) -> T {
        let flier = Flier::new(&LAW, &Conditions::default()).unwrap();
        let head = Club::default().conforming().unwrap();
        f(&Setting { head: &head, hand: Hand::Right, face, flier: &flier })
    }

    fn sure<T>(value: T) -> Reading<T> {
        Reading { value, sigma: Some(Sigma::new(0.05).unwrap()) }
    }

    fn watched(readings: &Readings, mark: Option<StrikeMark>) -> Watched<'_> {
        Watched { mark, start_by_eye: None, curve_by_eye: None, readings }
    }

    #[test]
    fn a_shot_that_was_read_well_is_explained_by_the_swing_that_made_it() {
        with_setting(Face::Dry, |setting| {
            let swing = Delivery { face_deg: 2.0, toe_mm: 14.0, head_speed_mps: 44.0, ..Delivery::default() };
            let shot = hit(setting.head, setting.hand, setting.face, setting.flier, &swing).unwrap();
            let readings = Readings {
                head_speed: Some(sure(HeadSpeed::new(44.0).unwrap())),
                ball_speed: Some(sure(BallSpeed::new(shot.launch.ball_speed_mps).unwrap())),
                launch: Some(sure(Launch::new(shot.launch.launch_deg).unwrap())),
                start: Some(sure(Start::new(shot.launch.start_deg).unwrap())),
                curve: Some(sure(Curve::new(shot.flight.curve_m(shot.launch.start_deg)).unwrap())),
                ..Readings::default()
            };
            let mark = StrikeMark::new(14.0, 0.0, Some(0.1), MarkRead::Photo).unwrap();
            let found =
                explain(setting, &Prior::default(), watched(&readings, Some(mark)), [0.0, 6.0]).unwrap();
            assert!((found.face_deg.estimate - 2.0).abs() < 0.2, "{found:?}");
            assert!((found.path_deg.estimate).abs() < 0.4, "{found:?}");
            assert!(found.face_deg.sigma < 0.3 && found.strike.toe_mm.sigma < 0.2);
            assert_eq!(found.used, ["head_speed", "toe", "high", "ball_speed", "launch", "start", "curve"]);
            assert!(found.doubts.is_empty() && found.assumed_error.is_empty(), "{found:?}");
            let start = found.split.start_deg;
            assert!((start.from_strike + start.from_delivery - shot.launch.start_deg).abs() < 0.1);
            assert!(start.from_strike > 1.0, "the toe's bulge starts it to the right: {start:?}");
        });
    }

    #[test]
    fn doubts_are_told_and_nothing_seen_is_nothing_explained() {
        let run = |readings: &Readings, mark, face| {
            with_setting(face, |setting| {
                explain(setting, &Prior::default(), watched(readings, mark), [0.0, 6.0])
            })
        };
        let none = Readings::default();
        assert_eq!(run(&none, None, Face::Dry), Err(FlightError::NothingRead));
        let off = StrikeMark::new(55.0, 30.0, None, MarkRead::Tap).unwrap();
        assert_eq!(run(&none, Some(off), Face::Dry), Err(FlightError::NothingRead));
        let speed = Readings { head_speed: Some(sure(HeadSpeed::new(44.0).unwrap())), ..none.clone() };
        assert_eq!(run(&speed, None, Face::Dry).unwrap().doubts, [Doubt::NoStrikeMark]);
        let both = run(&speed, Some(off), Face::Powdered).unwrap();
        assert_eq!(both.doubts, [Doubt::MarkOffFace, Doubt::PowderedFriction]);
        assert_eq!(both.face, Face::Powdered);
        let rough = |mps| Some(Reading { value: BallSpeed::new(mps).unwrap(), sigma: None });
        let fair = Readings { ball_speed: rough(64.0), ..speed.clone() };
        assert_eq!(run(&fair, None, Face::Dry).unwrap().doubts, [Doubt::NoStrikeMark]);
        let torn = Readings { ball_speed: rough(75.0), ..speed };
        assert!(run(&torn, None, Face::Dry).unwrap().doubts.contains(&Doubt::Contradiction));
    }
}
