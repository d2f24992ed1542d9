//! The hybrid logical clock: near the wall clock, yet always after everything
//! the device has seen.
//!
//! Kulkarni, Demirbas, Madappa, Avva and Leone, *Logical Physical Clocks*
//! (OPODIS 2014), with both parts packed into one number as in their
//! section 6: 48 bits of milliseconds, 16 bits of count. A wall clock that is
//! wrong is never refused: order stays causal, as with any Lamport clock.

use serde::{Deserialize, Serialize};

/// An instant of the hybrid clock.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Hlc(u64);

impl Hlc {
    /// The latest instant that is accepted: the year 4199. Later ones can only
    /// be damage, and would leave no room for anything after them.
    pub const LATEST: Self = Self((1 << 62) - 1);

    /// The instant for a new change: after `last`, and not before the wall clock.
    pub fn after(last: Option<Self>, wall_ms: i64) -> Self {
        let wall = Self((wall_ms.clamp(0, (1 << 46) - 1) as u64) << 16);
        match last {
            Some(last) if last >= wall => Self(last.0 + 1),
            _ => wall,
        }
    }

    /// The instant packed as a number, if it is an accepted one.
    pub fn from_packed(packed: u64) -> Option<Self> {
        Some(Self(packed)).filter(|hlc| *hlc <= Self::LATEST)
    }

    /// The number it is packed as.
    pub fn packed(self) -> u64 {
        self.0
    }

    /// Its milliseconds since 1970-01-01 UTC.
    pub fn ms(self) -> u64 {
        self.0 >> 16
    }

    /// Its count within the millisecond.
    pub fn count(self) -> u16 {
        (self.0 & 0xffff) as u16
    }

    /// The instant from its two parts.
    pub fn from_parts(ms: u64, count: u16) -> Option<Self> {
        (ms < 1 << 46).then(|| Self(ms << 16 | u64::from(count)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_clock_set_back_never_goes_back() {
        let first = Hlc::after(None, 5_000);
        let second = Hlc::after(Some(first), 1_000);
        assert!(second > first);
        assert_eq!(second.ms(), 5_000);
    }

    #[test]
    fn a_full_count_carries_into_the_milliseconds() {
        let full = Hlc::from_parts(7, u16::MAX).unwrap();
        let next = Hlc::after(Some(full), 0);
        assert_eq!((next.ms(), next.count()), (8, 0));
    }

    proptest! {
        #[test]
        fn the_next_instant_is_after_the_last_and_not_before_the_wall(last in 0_u64..1 << 61, wall in -1_000_i64..1 << 45) {
            let last = Hlc::from_packed(last).unwrap();
            let next = Hlc::after(Some(last), wall);
            prop_assert!(next > last && next.ms() >= wall.max(0) as u64);
            prop_assert_eq!(Hlc::from_parts(next.ms(), next.count()), Some(next));
        }
    }
}
