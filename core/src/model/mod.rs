//! The records: plain data that can't be invalid.
//!
//! Every constructor checks; there is no other way to make a value, not even
//! through serde. A record turns into numbered [`Fields`] and back
//! ([`Record`]); that is all that books and exchange files know of it.
//!
//! # Where to start
//! [`Shot`] for what is logged, [`record`] for how it is stored,
//! [`check`] for how a refusal reads, [`written`] for quantities in one word.

pub mod check;
pub mod club;
pub mod count;
pub mod drill;
pub mod fields;
pub mod guardian;
pub mod ids;
pub mod member;
pub mod person;
pub mod practice;
pub mod quantity;
pub mod record;
pub mod session;
pub mod shot;
pub mod speed;
pub mod strike_photo;
pub mod text;
pub mod time;
pub mod trial;
pub mod under_way;
pub mod units;
mod word;
pub mod written;

#[cfg(test)]
mod tests;

pub use check::Refusal;
pub use club::Club;
pub use count::Count;
pub use drill::{Drill, Effort, Goal, Purpose, StockDrill};
pub use fields::{Fields, Value};
pub use guardian::Guardian;
pub use ids::{AuthorId, Minter, PersonId, RecordId, StrandId};
pub use member::Member;
pub use person::{BirthYear, Coach, Hand, Role, Student, Target};
pub use practice::{Dose, Note, Order, Plan, PlannedDrill, Practice, SpeedLimits};
pub use record::{Kind, Record};
pub use session::{Ball, Place, Session};
pub use shot::{
    CurveByEye, Guess, MarkRead, Reading, Readings, Shot, Sigma, StartByEye, StrikeMark, TrialBall,
};
pub use speed::{Pain, SpeedSource, SpeedSwing, SwingSide};
pub use strike_photo::{MOST_MARKS, MarkBy, PhotoMark, StrikePhoto};
pub use text::{Name, Remark};
pub use time::{Day, Moment, Now};
pub use trial::{Arm, BallNo, BlockOrder, Measure, Trial, TrialKind};
pub use under_way::{LastCount, StepNo, UnderWay};
pub use units::{Unit, UnitSystem};
pub use word::{field_word, value_word};
