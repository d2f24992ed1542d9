//! Many shots of which some may be impossible: each gets its own answer.
//!
//! The invariant: the same bits as [`hit`](super::hit) and
//! [`off_centre_band`](super::off_centre_band) one at a time, at the speed of
//! the batch interface. Start at [`hit_each`].

use super::ball::Launch;
use super::batch::{Shot, fly_many, hit_many};
use super::delivery::Delivery;
use super::error::FlightError;
use super::figures::Figures;
use super::inverse::Setting;
use super::law::AirLaw;
use super::split::{Band, STIFFER};
use super::trajectory::Flier;

/// Figures of every delivery, in order, or why it has none.
pub fn hit_each<L: AirLaw>(
    setting: &Setting<L>,
    deliveries: &[Delivery],
) -> Vec<Result<Figures, FlightError>> {
    let stiff = setting.head.with_inertia_times(STIFFER);
    let run = |head| {
        each(deliveries, |swings, shots| {
            hit_many(head, setting.hand, setting.face, setting.flier, swings, shots)
        })
    };
    let (free, stiff) = (run(setting.head), run(&stiff));
    free.into_iter()
        .zip(stiff)
        .map(|(free, stiff): (Result<Shot, _>, Result<Shot, _>)| {
            let (free, stiff) = (free?, stiff?);
            Ok(Figures::of(&free, Band::between(&free, &stiff)))
        })
        .collect()
}

/// Figures of every launch, in order, or why it has none.
pub fn fly_each<L: AirLaw>(flier: &Flier<L>, launches: &[Launch]) -> Vec<Result<Figures, FlightError>> {
    each(launches, |launches, flights| fly_many(flier, launches, flights))
        .into_iter()
        .zip(launches)
        .map(|(flight, launch)| flight.map(|flight| Figures::of_flight(launch, &flight)))
        .collect()
}

/// Calls `many` until every item has its answer: it stops at the first bad
/// item, which is then left out. What was written before it stays, so that no
/// number of bad items makes the whole slower than one by one.
fn each<I: Copy, O: Copy>(
    items: &[I],
    many: impl Fn(&[I], &mut [Option<O>]) -> Result<(), FlightError>,
) -> Vec<Result<O, FlightError>> {
    let mut answers = Vec::with_capacity(items.len());
    let mut room: Vec<Option<O>> = vec![None; items.len()];
    let mut rest = items;
    while !rest.is_empty() {
        let room = room.get_mut(..rest.len()).unwrap_or_default();
        let outcome = many(rest, room);
        let (bad, error) = match outcome {
            Err(FlightError::Row { row, source }) => (row, Some(*source)),
            Err(other) => (0, Some(other)),
            Ok(()) => (rest.len(), None),
        };
        // A bad item hides the good ones of its own block: do these alone.
        for (item, done) in rest.iter().zip(room.iter_mut()).take(bad) {
            answers.push(match done.take() {
                Some(done) => Ok(done),
                None => one(item, &many),
            });
        }
        answers.extend(error.map(Err));
        rest = rest.get(bad + 1..).unwrap_or_default();
    }
    answers
}

fn one<I: Copy, O: Copy>(
    item: &I,
    many: impl Fn(&[I], &mut [Option<O>]) -> Result<(), FlightError>,
) -> Result<O, FlightError> {
    let mut room = [None];
    match many(&[*item], &mut room) {
        Err(FlightError::Row { source, .. }) => Err(*source),
        Err(other) => Err(other),
        Ok(()) => room[0].ok_or(FlightError::Room { shots: 1, room: 0 }),
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Club, Conditions, Face, FiveConstantLaw, Hand, hit, off_centre_band};
    use super::*;

    #[test]
    fn good_shots_between_bad_ones_have_the_same_bits_as_alone() {
        let law = FiveConstantLaw::ODS_FIT;
        let flier = Flier::new(&law, &Conditions::default()).unwrap();
        let head = Club::default().conforming().unwrap();
        let setting = Setting { head: &head, hand: Hand::Left, face: Face::Dry, flier: &flier };
        // Every third is refused by its numbers, every seventh meets no ball.
        let deliveries: Vec<Delivery> = (0..64)
            .map(|n| {
                let good =
                    Delivery { toe_mm: f64::from(n) * 0.7 - 20.0, path_deg: 1.5, ..Delivery::default() };
                match n {
                    n if n % 3 == 1 => Delivery { head_speed_mps: -1.0, ..good },
                    n if n % 7 == 3 => Delivery { head_speed_mps: 1.0, loft_deg: 70.0, ..good },
                    _ => good,
                }
            })
            .collect();
        let answers = hit_each(&setting, &deliveries);
        assert_eq!(answers.len(), deliveries.len());
        let mut bad = 0;
        for (delivery, answer) in deliveries.iter().zip(answers) {
            let alone = hit(&head, Hand::Left, Face::Dry, &flier, delivery)
                .map(|shot| Figures::of(&shot, off_centre_band(&setting, delivery).unwrap()));
            bad += u32::from(alone.is_err());
            assert_eq!(answer, alone, "{delivery:?}");
        }
        assert!(bad > 20, "{bad}");
        assert!(hit_each(&setting, &[]).is_empty());
    }

    #[test]
    fn a_bad_launch_is_told_and_the_others_fly() {
        let law = FiveConstantLaw::ODS_FIT;
        let flier = Flier::new(&law, &Conditions::default()).unwrap();
        let launch = Launch {
            ball_speed_mps: 66.0,
            launch_deg: 10.0,
            start_deg: 0.0,
            backspin_rpm: 2500.0,
            sidespin_rpm: 0.0,
            rifle_rpm: 0.0,
        };
        let answers = fly_each(&flier, &[launch, Launch { ball_speed_mps: f64::NAN, ..launch }, launch]);
        assert!(matches!(answers.as_slice(), [Ok(_), Err(FlightError::OutOfRange { .. }), Ok(_)]));
        assert_eq!(answers[0].as_ref().ok(), answers[2].as_ref().ok());
    }
}
