//! Balls for a student's swing, gathered one by one from a log or a file.
//!
//! The rule: what a ball can't tell is left out and counted, never mixed in: spin
//! read off a powdered face, strikes that were only felt, other clubs. Start at
//! [`Gathering`].

use std::collections::BTreeMap;

use serde::Serialize;

use super::feel::Feel;
use super::fits::{evidence, felt_mark};
use super::log::Log;
use super::seen::{Watched, club_of, face_of, seen_of};
use super::student_model::{Assumed, Ball, StudentModel};
use crate::flight::law::AirLaw;
use crate::flight::{self, Delivery, Face, Flier, FlightError, Hand, Head, Quantity, Seen, Setting, slopes};
use crate::model::{MarkRead, RecordId};

/// What was left out, in balls.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize)]
pub struct LeftOut {
    /// Balls of which nothing was read.
    pub nothing_read: u32,
    /// Balls hit with another club.
    pub other_club: u32,
    /// Balls of drills that are off on purpose.
    pub off_on_purpose: u32,
    /// Strikes that were only felt, of a student whose feel is not known.
    pub felt: u32,
    /// Marks beyond the club's face.
    pub off_face: u32,
    /// Readings of spin off a powdered face.
    pub powdered_spin: u32,
}

/// A club, a hand and air, and the balls so far.
#[derive(Debug)]
pub struct Gathering<'a, L> {
    /// The club's head.
    pub head: &'a Head,
    /// The player's hand.
    pub hand: Hand,
    /// Law of the air and conditions.
    pub flier: &'a Flier<'a, L>,
    sessions: BTreeMap<String, usize>,
    balls: Vec<Ball>,
    left_out: LeftOut,
}

impl<'a, L: AirLaw> Gathering<'a, L> {
    /// No ball yet.
    pub fn new(head: &'a Head, hand: Hand, flier: &'a Flier<'a, L>) -> Self {
        let (sessions, balls, left_out) = (BTreeMap::new(), Vec::new(), LeftOut::default());
        Self { head, hand, flier, sessions, balls, left_out }
    }

    /// One more ball as it was written down; sessions are told apart by their label.
    ///
    /// # Errors
    /// [`FlightError::WithoutError`] for a reading whose own error is 0.
    pub fn add(&mut self, session: &str, face: Face, watched: Watched<'_>) -> Result<(), FlightError> {
        let felt = watched.mark.is_some_and(|mark| mark.read == MarkRead::Felt);
        let watched = Watched { mark: watched.mark.filter(|_| !felt), ..watched };
        let evidence = seen_of(watched, self.head.club())?;
        self.left_out.felt += u32::from(felt);
        self.left_out.off_face += u32::from(evidence.off_face);
        self.add_seen(session, face, &evidence.seen);
        Ok(())
    }

    /// One more ball as the physics takes it.
    pub fn add_seen(&mut self, session: &str, face: Face, seen: &Seen) {
        let seen = self.without_powdered_spin(face, seen);
        let known = self.sessions.get(session).copied();
        let number = known.unwrap_or(self.sessions.len());
        match Ball::of(number, face, &seen) {
            Ok(ball) => {
                self.balls.push(ball);
                if known.is_none() {
                    self.sessions.insert(session.to_owned(), number);
                }
            }
            Err(_) => self.left_out.nothing_read += 1,
        }
    }

    /// One more ball that is left out because it was hit with another club.
    pub fn skip_other_club(&mut self) {
        self.left_out.other_club += 1;
    }

    /// One more ball that is left out because a drill put it off on purpose.
    pub fn skip_off_on_purpose(&mut self) {
        self.left_out.off_on_purpose += 1;
    }

    fn without_powdered_spin(&mut self, face: Face, seen: &Seen) -> Seen {
        if face == Face::Dry {
            return *seen;
        }
        let spin = |quantity| matches!(quantity, Quantity::Backspin | Quantity::Sidespin);
        self.left_out.powdered_spin += seen.all().filter(|(quantity, _)| spin(*quantity)).count() as u32;
        seen.all()
            .filter(|(quantity, _)| !spin(*quantity))
            .try_fold(Seen::nothing(), |seen, (quantity, reading)| seen.with(quantity, reading))
            .unwrap_or_default()
    }

    /// The swing behind all of them, and what was left out.
    ///
    /// # Errors
    /// As [`StudentModel::of`].
    pub fn model(self, assumed: &Assumed) -> Result<(StudentModel, LeftOut), FlightError> {
        let Self { head, hand, flier, balls, left_out, .. } = self;
        let straight =
            |face, about: &Delivery, flies| slopes(&Setting { head, hand, face, flier }, about, flies);
        Ok((StudentModel::of(balls, assumed, &straight)?, left_out))
    }
}

/// The build of the club that a student used last.
pub fn club_in_use(log: &Log) -> flight::Club {
    last_club(log).and_then(|id| log.clubs.get(&id)).map_or_else(flight::Club::default, club_of)
}

fn last_club(log: &Log) -> Option<RecordId> {
    log.visits.iter().rev().find_map(|visit| visit.shots.iter().rev().find_map(|shot| visit.club_of(shot)))
}

/// All balls of a log that were hit with the club in use, or with nobody saying
/// which. Felt strikes count as far as this student's feel has matched their marks;
/// while that is not known they are left out.
///
/// # Errors
/// As [`Gathering::add`].
pub fn gather_log<L: AirLaw>(balls: &mut Gathering<'_, L>, log: &Log) -> Result<(), FlightError> {
    let club = last_club(log);
    let feel = Feel::of(log);
    for visit in &log.visits {
        for shot in &visit.shots {
            if visit.club_of(shot).is_some_and(|used| Some(used) != club) {
                balls.skip_other_club();
                continue;
            }
            if !log.is_as_in_play(shot) {
                balls.skip_off_on_purpose();
                continue;
            }
            let face = face_of(shot.powder.or(visit.session.powder));
            let session = visit.id.0.to_string();
            if felt_mark(shot).is_some() && feel.felt_sigma_mm.own {
                let evidence = evidence(shot, balls.head.club(), &feel)?;
                balls.left_out.off_face += u32::from(evidence.off_face);
                balls.add_seen(&session, face, &evidence.seen);
            } else {
                balls.add(&session, face, Watched::from(shot))?;
            }
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flight::{Club, Conditions, FiveConstantLaw};
    use crate::model::quantity::{Backspin, HeadSpeed};
    use crate::model::{Reading, Readings, StrikeMark};

    #[test]
    fn spin_off_powder_and_felt_strikes_are_left_out_and_counted() {
        let law = FiveConstantLaw::ODS_FIT;
        let flier = Flier::new(&law, &Conditions::default()).unwrap();
        let head = Club::default().conforming().unwrap();
        let mut gathering = Gathering::new(&head, Hand::Right, &flier);
        let readings = Readings {
            head_speed: Some(Reading { value: HeadSpeed::new(44.0).unwrap(), sigma: None }),
            backspin: Some(Reading { value: Backspin::new(3000.0).unwrap(), sigma: None }),
            ..Readings::default()
        };
        let mark = |read| Some(StrikeMark::new(3.0, 4.0, None, read).unwrap());
        let none = Readings::default();
        let watched = |mark, readings| Watched { mark, start_by_eye: None, curve_by_eye: None, readings };
        gathering.add("a", Face::Powdered, watched(mark(MarkRead::Tap), &readings)).unwrap();
        gathering.add("b", Face::Dry, watched(mark(MarkRead::Felt), &none)).unwrap();
        gathering.add("b", Face::Dry, watched(None, &readings)).unwrap();
        gathering.add("a", Face::Dry, watched(None, &readings)).unwrap();
        let (model, left_out) = gathering.model(&Assumed::default()).unwrap();
        let expected = LeftOut { nothing_read: 1, felt: 1, powdered_spin: 1, ..LeftOut::default() };
        assert_eq!(left_out, expected);
        assert_eq!((model.balls, model.sessions), (3, 2));
        let mut unspun = Gathering::new(&head, Hand::Right, &flier);
        let dry = Readings { backspin: None, ..readings.clone() };
        unspun.add("a", Face::Powdered, watched(mark(MarkRead::Tap), &dry)).unwrap();
        unspun.add("b", Face::Dry, watched(None, &readings)).unwrap();
        unspun.add("a", Face::Dry, watched(None, &readings)).unwrap();
        let (same, _) = unspun.model(&Assumed::default()).unwrap();
        assert_eq!(model, same, "as if spin off powder had not been read");
    }
}
