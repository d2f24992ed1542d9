//! One ball: where on the face it was struck, what was read of the delivery
//! and the flight, and whether the finish was held.

use serde::{Deserialize, Serialize};

use super::check::{Range, Refusal};
use super::club::{Club, on_default_face};
use super::fields::{FieldNo, Fields};
use super::ids::RecordId;
use super::quantity::{
    Attack, Backspin, BallSpeed, Carry, Curve, DynamicLoft, FaceAngle, HeadSpeed, High, Launch, MarkSigma,
    Path, Side, Sidespin, Start, Toe,
};
use super::record::{Kind, Record, coded, need, quantity};
use super::trial::BallNo;

coded!(
    /// How a strike mark was read.
    MarkRead, "read" {
        /// From a picture of the powdered face.
        Photo = 1 "photo",
        /// By a tap on a drawing of the face, beside the powdered one.
        Tap = 2 "tap",
        /// From the feel of it, with no mark to look at.
        Felt = 3 "felt",
    }
);

impl MarkRead {
    /// The standard error along each axis where the reading brought none of
    /// its own (assumed: nothing published was found; a photo's reader states
    /// its own for each mark).
    pub fn assumed_sigma_mm(self) -> f64 {
        match self {
            Self::Photo => 1.0,
            Self::Tap => 2.0,
            Self::Felt => 10.0,
        }
    }
}

coded!(
    /// Where the ball started, by eye.
    StartByEye, "start" {
        /// Well left of the target.
        FarLeft = -2 "far left",
        /// Left of the target.
        Left = -1 "left",
        /// At the target.
        Straight = 0 "straight",
        /// Right of the target.
        Right = 1 "right",
        /// Well right of the target.
        FarRight = 2 "far right",
    }
);

coded!(
    /// How the ball curved, by eye.
    CurveByEye, "curve" {
        /// Strongly to the left.
        StrongLeft = -2 "strong left",
        /// To the left.
        Left = -1 "left",
        /// Hardly at all.
        Straight = 0 "straight",
        /// To the right.
        Right = 1 "right",
        /// Strongly to the right.
        StrongRight = 2 "strong right",
    }
);

/// Where on the face the ball was struck.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct StrikeMark {
    /// Toward the toe from the face centre.
    pub toe_mm: Toe,
    /// Toward the crown from the face centre.
    pub high_mm: High,
    /// Standard error of the reading along each axis.
    pub sigma_mm: MarkSigma,
    /// How it was read.
    pub read: MarkRead,
}

impl StrikeMark {
    /// A mark; without a standard error of its own, the assumed one.
    ///
    /// # Errors
    /// A [`Refusal`] for a strike off the largest allowed head, or an error out of range.
    pub fn new(toe_mm: f64, high_mm: f64, sigma_mm: Option<f64>, read: MarkRead) -> Result<Self, Refusal> {
        Ok(Self {
            toe_mm: Toe::new(toe_mm)?,
            high_mm: High::new(high_mm)?,
            sigma_mm: MarkSigma::new(sigma_mm.unwrap_or_else(|| read.assumed_sigma_mm()))?,
            read,
        })
    }
}

impl StrikeMark {
    /// Whether it lies on a club's face; on one of the default size where the
    /// club is not known.
    pub fn is_on_face_of(&self, club: Option<&Club>) -> bool {
        match club {
            Some(club) => club.has_on_face(self.toe_mm, self.high_mm),
            None => on_default_face(self.toe_mm, self.high_mm),
        }
    }
}

/// Where a player felt the strike, said before looking at the mark.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Guess {
    /// Toward the toe from the face centre.
    pub toe_mm: Toe,
    /// Toward the crown from the face centre.
    pub high_mm: High,
}

/// A shot's place in a trial.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct TrialBall {
    /// The trial.
    pub trial: RecordId,
    /// The ball's number in its order.
    pub ball: BallNo,
}

/// A figure with the standard error of its own, where it has one.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Reading<T> {
    /// The figure.
    pub value: T,
    /// Its standard error, in the same unit.
    pub sigma: Option<Sigma>,
}

/// A standard error: a number from 0 up.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "f64", into = "f64")]
pub struct Sigma(f64);

impl Sigma {
    const RANGE: Range = Range {
        field: "standard error",
        low: 0.0,
        high: 10_000.0,
        unit: "in the unit of its reading",
        reason: "a spread can't be negative",
    };

    /// A standard error.
    ///
    /// # Errors
    /// A [`Refusal`] for a negative number, NaN or an infinity.
    pub fn new(value: f64) -> Result<Self, Refusal> {
        Self::RANGE.check(value).map(Self)
    }

    /// The number, in the unit of its reading.
    pub fn get(self) -> f64 {
        self.0
    }
}

impl TryFrom<f64> for Sigma {
    type Error = Refusal;
    fn try_from(value: f64) -> Result<Self, Refusal> {
        Self::new(value)
    }
}

impl From<Sigma> for f64 {
    fn from(sigma: Sigma) -> f64 {
        sigma.0
    }
}

/// What was read of one shot, by radar or otherwise; each may be absent.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[allow(missing_docs, reason = "each field is documented by its type")]
pub struct Readings {
    pub head_speed: Option<Reading<HeadSpeed>>,
    pub ball_speed: Option<Reading<BallSpeed>>,
    pub launch: Option<Reading<Launch>>,
    pub start: Option<Reading<Start>>,
    pub backspin: Option<Reading<Backspin>>,
    pub sidespin: Option<Reading<Sidespin>>,
    pub carry: Option<Reading<Carry>>,
    pub side: Option<Reading<Side>>,
    pub path: Option<Reading<Path>>,
    pub face_angle: Option<Reading<FaceAngle>>,
    pub attack: Option<Reading<Attack>>,
    pub dynamic_loft: Option<Reading<DynamicLoft>>,
    pub curve: Option<Reading<Curve>>,
}

/// One ball.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Shot {
    /// The session it belongs to.
    pub session: RecordId,
    /// The club, where it is not the session's.
    pub club: Option<RecordId>,
    /// Whether the face was powdered, where it is not as in the session.
    pub powder: Option<bool>,
    /// Where on the face it was struck.
    pub mark: Option<StrikeMark>,
    /// Where the player felt the strike, before looking at the mark.
    pub guess: Option<Guess>,
    /// Its place in a trial, where it is one's ball.
    pub trial: Option<TrialBall>,
    /// The practice of a drill in which it was hit.
    pub practice: Option<RecordId>,
    /// Where the ball started, by eye.
    pub start_by_eye: Option<StartByEye>,
    /// How it curved, by eye.
    pub curve_by_eye: Option<CurveByEye>,
    /// What was read.
    pub readings: Readings,
    /// Whether the finish was held for a count of three.
    pub finish_held: Option<bool>,
}

impl Shot {
    /// A ball of which nothing is known but its session.
    pub fn of(session: RecordId) -> Self {
        Self {
            session,
            club: None,
            powder: None,
            mark: None,
            guess: None,
            trial: None,
            practice: None,
            start_by_eye: None,
            curve_by_eye: None,
            readings: Readings::default(),
            finish_held: None,
        }
    }
}

/// A reading's standard error is stored this far above the reading.
const SIGMA_ABOVE: FieldNo = 100;

fn put_reading<T: Into<f64> + Copy>(f: &mut Fields, no: FieldNo, reading: Option<Reading<T>>) {
    f.put(no, reading.map(|r| r.value.into()));
    f.put(no + SIGMA_ABOVE, reading.and_then(|r| r.sigma).map(Sigma::get));
}

fn get_reading<T: TryFrom<f64, Error = Refusal>>(
    f: &Fields,
    no: FieldNo,
) -> Result<Option<Reading<T>>, Refusal> {
    let Some(value) = quantity(f, no)? else { return Ok(None) };
    Ok(Some(Reading { value, sigma: quantity(f, no + SIGMA_ABOVE)? }))
}

impl Record for Shot {
    const KIND: Kind = Kind::SHOT;

    fn to_fields(&self) -> Fields {
        let mut f = Fields::new();
        f.put(1, Some(self.session.0));
        f.put(2, self.club.map(|c| c.0));
        f.put(3, self.powder);
        f.put(4, self.finish_held);
        f.put(5, self.trial.map(|t| t.trial.0));
        f.put(6, self.trial.map(|t| i64::from(t.ball)));
        f.put(7, self.practice.map(|p| p.0));
        f.put(10, self.mark.map(|m| m.toe_mm.mm()));
        f.put(11, self.mark.map(|m| m.high_mm.mm()));
        f.put(12, self.mark.map(|m| m.sigma_mm.mm()));
        f.put(13, self.mark.map(|m| m.read.code()));
        f.put(14, self.guess.map(|g| g.toe_mm.mm()));
        f.put(15, self.guess.map(|g| g.high_mm.mm()));
        f.put(20, self.start_by_eye.map(StartByEye::code));
        f.put(21, self.curve_by_eye.map(CurveByEye::code));
        let r = &self.readings;
        put_reading(&mut f, 30, r.head_speed);
        put_reading(&mut f, 31, r.ball_speed);
        put_reading(&mut f, 32, r.launch);
        put_reading(&mut f, 33, r.start);
        put_reading(&mut f, 34, r.backspin);
        put_reading(&mut f, 35, r.sidespin);
        put_reading(&mut f, 36, r.carry);
        put_reading(&mut f, 37, r.side);
        put_reading(&mut f, 38, r.path);
        put_reading(&mut f, 39, r.face_angle);
        put_reading(&mut f, 40, r.attack);
        put_reading(&mut f, 41, r.dynamic_loft);
        put_reading(&mut f, 42, r.curve);
        f
    }

    fn from_fields(f: &Fields) -> Result<Self, Refusal> {
        let mark = match (quantity(f, 10)?, quantity(f, 11)?) {
            (Some(toe_mm), Some(high_mm)) => {
                let read = f.whole(13).and_then(MarkRead::from_code).unwrap_or(MarkRead::Tap);
                let sigma_mm = match quantity(f, 12)? {
                    Some(sigma) => sigma,
                    None => MarkSigma::new(read.assumed_sigma_mm())?,
                };
                Some(StrikeMark { toe_mm, high_mm, sigma_mm, read })
            }
            _ => None,
        };
        Ok(Self {
            session: RecordId(need(f.id(1), "session")?),
            club: f.id(2).map(RecordId),
            powder: f.bool(3),
            finish_held: f.bool(4),
            mark,
            guess: match (quantity(f, 14)?, quantity(f, 15)?) {
                (Some(toe_mm), Some(high_mm)) => Some(Guess { toe_mm, high_mm }),
                _ => None,
            },
            trial: match (f.id(5), f.whole(6)) {
                // A number that only a newer version's trials have leaves the shot as it is.
                (Some(trial), Some(ball)) => {
                    BallNo::new(ball).ok().map(|ball| TrialBall { trial: RecordId(trial), ball })
                }
                _ => None,
            },
            practice: f.id(7).map(RecordId),
            start_by_eye: f.whole(20).and_then(StartByEye::from_code),
            curve_by_eye: f.whole(21).and_then(CurveByEye::from_code),
            readings: Readings {
                head_speed: get_reading(f, 30)?,
                ball_speed: get_reading(f, 31)?,
                launch: get_reading(f, 32)?,
                start: get_reading(f, 33)?,
                backspin: get_reading(f, 34)?,
                sidespin: get_reading(f, 35)?,
                carry: get_reading(f, 36)?,
                side: get_reading(f, 37)?,
                path: get_reading(f, 38)?,
                face_angle: get_reading(f, 39)?,
                attack: get_reading(f, 40)?,
                dynamic_loft: get_reading(f, 41)?,
                curve: get_reading(f, 42)?,
            },
        })
    }
}
