//! Impact, flight and delivery: the physics that everything else rests on.
//!
//! Data in, data out: no clock, no randomness, no files. The sources of all
//! formulas and constants, with a status code each, are in `sources.md` beside
//! this file (ids such as I6 or F2 in the docs here); where a figure there is
//! fragile, the result here carries a band or a flag. Two rules hold throughout: SI inside with the
//! unit in each name, and the same bits on every device, whether shots are
//! computed one at a time or side by side.
//!
//! Where to start, from a swing to the landing: [`club`] a club's build,
//! [`delivery`] what the club did, [`mod@impact`] the collision, [`ball`] the
//! launch, [`law`] and [`air`] what the ball meets, [`trajectory`] one flight,
//! [`batch`] many ([`each`] where some may be impossible), [`mod@scatter`] where they come
//! down, [`face_map`] the same swing all over the face, [`figures`] what is told of one,
//! [`rollout`] a guess at the run. Back from what was [`seen`] to
//! the delivery goes [`inverse`], and [`mod@split`] says what the strike had to
//! do with it. Under them: [`integrate`] and [`landing`] solve the equations of
//! motion over [`real`] numbers, with the functions of [`math`] and vectors of
//! [`vec3`].
#![allow(clippy::inline_always, reason = "four lanes only become vector instructions in one body")]

pub mod air;
pub mod ball;
pub mod batch;
pub mod club;
pub mod delivery;
pub mod each;
pub(crate) mod error;
pub mod face_map;
pub mod figures;
pub mod impact;
pub mod integrate;
pub mod inverse;
pub mod landing;
pub mod law;
pub mod math;
pub mod real;
pub mod rollout;
pub mod scatter;
pub mod seen;
pub mod slopes;
pub(crate) mod solve;
pub mod split;
pub mod trajectory;
pub mod vec3;

#[cfg(test)]
mod tests;

pub use air::{Air, Conditions, Told, Weather};
pub use ball::{Launch, Motion};
pub use batch::{Shot, fly_many, hit, hit_many};
pub use club::{Club, Face, Head};
pub use delivery::{Delivery, Hand};
pub use each::{fly_each, hit_each};
pub use error::{Breach, FlightError};
pub use face_map::{Cell, Grid, carry_map};
pub use figures::Figures;
pub use impact::{Impact, impact};
pub use inverse::{Estimate, Fit, Prior, Setting, fit};
pub use law::{AirLaw, ConstantLaw, FiveConstantLaw};
pub use rollout::{RollOut, roll_out};
pub use scatter::{Oval, Scatter, scatter};
pub use seen::{Quantity, Reading, Seen};
pub use slopes::{Slopes, slopes};
pub use split::{Band, Part, Split, off_centre_band, split};
pub use trajectory::{Ending, Flier, Flight, OutOfFit, PathPoint};
