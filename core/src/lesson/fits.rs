//! The delivery behind every ball of a log that anything was seen of, with the
//! fits that a book keeps.
//!
//! The rule: a kept fit counts only if it was made from exactly what would be
//! fitted now (reading, club, hand, powder, feel, model), so with or without a
//! book the answers are the same bits. Start at [`fits`].

use std::collections::BTreeMap;

use sha2::{Digest, Sha256};

use super::feel::Feel;
use super::fit_bytes;
use super::log::{Log, Visit};
use super::seen::{Evidence, Watched, club_of, face_of, hand_of, seen_of};
use crate::book::{Book, Kept, KeptKind, Print};
use crate::flight::{
    self, Conditions, Face, Fit, FiveConstantLaw, Flier, FlightError, Hand, Head, Prior, Quantity, Reading,
    Setting, fit, hit,
};
use crate::model::{MarkRead, RecordId, Shot};

/// Fits as a book keeps them.
pub(super) const KIND: KeptKind = KeptKind(1);

/// The version of all that turns evidence into a fit: impact, flight, law, search.
/// Raise it whenever a test here says that fits have changed.
pub(super) const MODEL: u32 = 2;

const LAW: FiveConstantLaw = FiveConstantLaw::ODS_FIT;

/// The fit of one shot.
#[derive(Debug, Clone, PartialEq)]
pub struct FitOfShot {
    /// Which of the log's visits.
    pub visit: usize,
    /// Which of that visit's shots.
    pub shot: usize,
    /// The shot's record.
    pub id: RecordId,
    /// The face's state: spin off a powdered one is not to be mixed with a dry one's.
    pub face: Face,
    /// Whether the strike in it was felt, not looked at.
    pub felt: bool,
    /// The most probable delivery, or why there is none.
    pub fit: Result<Fit, FlightError>,
}

/// The fits of all shots that anything was seen of, in the log's order, under
/// the assumed prior, in still standard air.
///
/// Fits that the book keeps are taken from there; new ones are kept, where the
/// book can be written. Without a book all are made anew.
///
/// # Errors
/// [`FlightError`] where no air can be flown through: not in practice.
pub fn fits(book: Option<&Book>, log: &Log) -> Result<Vec<FitOfShot>, FlightError> {
    let flier = Flier::new(&LAW, &Conditions::default())?;
    let feel = Feel::of(log);
    let kept = book.map_or_else(Kept::default, |book| book.cached(log.strand, KIND));
    let hand = hand_of(log.student.hand);
    let mut benches = Benches::new(hand);
    let (mut found, mut made) = (Vec::new(), Vec::new());
    for (v, visit) in log.visits.iter().enumerate() {
        for ((s, shot), id) in visit.shots.iter().enumerate().zip(&visit.shot_ids) {
            if !anything_seen(shot) {
                continue;
            }
            let bench = benches.of(log, visit, shot);
            let felt = felt_mark(shot).is_some();
            let mut answer = FitOfShot {
                visit: v,
                shot: s,
                id: *id,
                face: bench.face,
                felt,
                fit: Err(FlightError::NothingRead),
            };
            answer.fit = match (&bench.head, evidence(shot, &bench.club, &feel)) {
                (Ok(head), Ok(evidence)) => {
                    let print = bench.print(&evidence);
                    let known = kept.get(*id, &print).and_then(fit_bytes::decode);
                    known.unwrap_or_else(|| {
                        let setting = Setting { head, hand, face: bench.face, flier: &flier };
                        let fit = fit(&setting, &Prior::default(), &evidence.seen);
                        made.extend(fit_bytes::encode(&fit).map(|bytes| (*id, print, bytes)));
                        fit
                    })
                }
                (Err(error), _) => Err(error.clone()),
                (_, Err(error)) => Err(error),
            };
            found.push(answer);
        }
    }
    if let Some(book) = book.filter(|_| !made.is_empty()) {
        // Whether they could be kept makes no difference to what is answered.
        let _ = book.keep(
            log.strand,
            KIND,
            made.iter().map(|(id, print, bytes)| (*id, *print, bytes.as_slice())),
        );
    }
    Ok(found)
}

/// The carry of a fitted delivery, m, with the club and face that it was hit with.
///
/// # Errors
/// As [`hit`].
pub fn computed_carry_m(log: &Log, of: &FitOfShot) -> Result<f64, FlightError> {
    let fit = of.fit.as_ref().map_err(Clone::clone)?;
    let visit = log.visits.get(of.visit).ok_or(FlightError::NothingRead)?;
    let shot = visit.shots.get(of.shot).ok_or(FlightError::NothingRead)?;
    let flier = Flier::new(&LAW, &Conditions::default())?;
    let club = build_of(log, visit, shot);
    let (head, _) = club.any()?;
    let hand = hand_of(log.student.hand);
    Ok(hit(&head, hand, of.face, &flier, &fit.delivery)?.flight.carry_m)
}

fn build_of(log: &Log, visit: &Visit, shot: &Shot) -> flight::Club {
    let record = visit.club_of(shot).and_then(|id| log.clubs.get(&id));
    record.map_or_else(flight::Club::default, club_of)
}

/// A strike that was only felt: said without powder, or guessed and never looked at.
pub(super) fn felt_mark(shot: &Shot) -> Option<(f64, f64)> {
    match (shot.mark, shot.guess) {
        (Some(mark), _) => (mark.read == MarkRead::Felt).then(|| (mark.toe_mm.mm(), mark.high_mm.mm())),
        (None, guess) => guess.map(|guess| (guess.toe_mm.mm(), guess.high_mm.mm())),
    }
}

fn anything_seen(shot: &Shot) -> bool {
    let by_eye = shot.start_by_eye.is_some() || shot.curve_by_eye.is_some();
    by_eye
        || shot.mark.is_some()
        || shot.guess.is_some()
        || shot.readings != crate::model::Readings::default()
}

/// What was seen of a shot; a felt strike as far as this student's feel can be trusted.
pub(super) fn evidence(shot: &Shot, club: &flight::Club, feel: &Feel) -> Result<Evidence, FlightError> {
    let mut evidence = seen_of(Watched::from(shot), club)?;
    if let Some((toe_mm, high_mm)) = felt_mark(shot).filter(|_| !evidence.off_face) {
        let mark = feel.mark_from_felt(toe_mm, high_mm);
        for (quantity, value, sigma) in [
            (Quantity::Toe, mark.toe_mm, mark.sigma_toe_mm),
            (Quantity::High, mark.high_mm, mark.sigma_high_mm),
        ] {
            evidence.seen = evidence.seen.with(quantity, Reading::Number { value, sigma })?;
        }
    }
    Ok(evidence)
}

/// One club with one state of its face, and the start of every print made with it.
struct Bench {
    club: flight::Club,
    head: Result<Head, FlightError>,
    face: Face,
    start: Sha256,
}

impl Bench {
    fn new(club: flight::Club, hand: Hand, face: Face) -> Self {
        let mut start = Sha256::new().chain_update(MODEL.to_le_bytes());
        start.update([u8::from(hand == Hand::Left), u8::from(face == Face::Powdered)]);
        for number in club_numbers(&club) {
            start.update(number.to_bits().to_le_bytes());
        }
        Self { head: club.any().map(|(head, _)| head), club, face, start }
    }

    fn print(&self, evidence: &Evidence) -> Print {
        let mut bytes = Vec::with_capacity(26 * 8);
        for (quantity, reading) in evidence.seen.all() {
            let (form, numbers) = match reading {
                Reading::Number { value, sigma } => (0, [value, sigma, 0.0]),
                Reading::Bin { low, high, blur } => (1, [low, high, blur]),
            };
            bytes.extend([quantity.place() as u8, form]);
            bytes.extend(numbers.into_iter().flat_map(|n| n.to_bits().to_le_bytes()));
        }
        let digest = self.start.clone().chain_update(bytes).finalize();
        let mut print = Print::default();
        for (to, from) in print.iter_mut().zip(digest) {
            *to = from;
        }
        print
    }
}

/// Every number of a club; one that is added has to be added here.
fn club_numbers(club: &flight::Club) -> [f64; 22] {
    let flight::Club {
        length_m,
        loft_deg,
        head_mass_kg,
        shaft_share_kg,
        face_width_mm,
        face_height_mm,
        bulge_mm,
        roll_mm,
        inertia_normal_gcm2,
        inertia_up_gcm2,
        inertia_toe_gcm2,
        balance_depth_mm,
        balance_up_mm,
        balance_toe_mm,
        restitution,
        restitution_speed_mps,
        restitution_fall_spm,
        restitution_fall_pm2,
        tangential_restitution,
        ball_lag,
        friction,
        friction_powdered,
    } = *club;
    [
        length_m,
        loft_deg,
        head_mass_kg,
        shaft_share_kg,
        face_width_mm,
        face_height_mm,
        bulge_mm,
        roll_mm,
        inertia_normal_gcm2,
        inertia_up_gcm2,
        inertia_toe_gcm2,
        balance_depth_mm,
        balance_up_mm,
        balance_toe_mm,
        restitution,
        restitution_speed_mps,
        restitution_fall_spm,
        restitution_fall_pm2,
        tangential_restitution,
        ball_lag,
        friction,
        friction_powdered,
    ]
}

/// The benches of a log, each made when it is first needed.
struct Benches {
    hand: Hand,
    made: BTreeMap<(Option<RecordId>, bool), Bench>,
}

impl Benches {
    fn new(hand: Hand) -> Self {
        Self { hand, made: BTreeMap::new() }
    }

    fn of(&mut self, log: &Log, visit: &Visit, shot: &Shot) -> &Bench {
        let face = face_of(shot.powder.or(visit.session.powder));
        let key = (visit.club_of(shot), face == Face::Powdered);
        let hand = self.hand;
        self.made.entry(key).or_insert_with(|| Bench::new(build_of(log, visit, shot), hand, face))
    }
}
