//! Identities: UUID version 7 (RFC 9562), made from the caller's clock and
//! entropy, so that the core stays deterministic.

use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use uuid::{Builder, Uuid};

use super::check::Refusal;
use super::time::Now;

macro_rules! id {
    ($(#[$doc:meta])* $name:ident) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[serde(transparent)]
        pub struct $name(pub Uuid);

        impl $name {
            /// The sixteen bytes.
            pub fn bytes(&self) -> &[u8; 16] {
                self.0.as_bytes()
            }

            /// The identity as people and programs write it.
            ///
            /// # Errors
            /// A [`Refusal`] for what is none.
            pub fn parse(text: &str) -> Result<Self, Refusal> {
                Uuid::try_parse(text.trim()).map(Self).map_err(|_| {
                    Refusal::new("identity", text, "32 hexadecimal digits", "it is a UUID (RFC 9562)")
                })
            }

            /// The identity with these sixteen bytes.
            pub fn from_bytes(bytes: [u8; 16]) -> Self {
                Self(Uuid::from_bytes(bytes))
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                self.0.fmt(f)
            }
        }
    };
}

id!(
    /// All that belongs to one student: the unit of sharing.
    StrandId
);
id!(
    /// One device that writes changes.
    AuthorId
);
id!(
    /// One person, whatever their devices.
    PersonId
);
id!(
    /// One record: a shot, a session, a club …
    RecordId
);

impl RecordId {
    /// None yet: of a record that is still to be named by who writes it.
    pub const UNNAMED: Self = Self(Uuid::nil());

    /// An identity that sorts before all that were made up to so many milliseconds before
    /// this one.
    #[must_use]
    pub fn earlier(self, ms: u64) -> Self {
        let [a, b, c, d, e, f, ..] = *self.bytes();
        let made = u64::from_be_bytes([0, 0, a, b, c, d, e, f]).saturating_sub(ms);
        let [_, _, a, b, c, d, e, f] = made.to_be_bytes();
        Self::from_bytes([a, b, c, d, e, f, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0])
    }
}

/// Makes the new identities of one event.
///
/// They sort in the order in which they were made: twelve bits after the
/// time count up (RFC 9562 section 6.2, method 1), the other 62 come from
/// SHA-256 of the event's entropy and the count.
#[derive(Debug, Clone)]
pub struct Minter {
    now: Now,
    made: u64,
}

impl Minter {
    /// A minter for one event.
    pub fn new(now: Now) -> Self {
        Self { now, made: 0 }
    }

    /// The next identity.
    pub fn mint(&mut self) -> Uuid {
        let count = self.made;
        self.made += 1;
        let digest =
            Sha256::new().chain_update(self.now.entropy).chain_update(count.to_le_bytes()).finalize();
        let mut random = [0_u8; 10];
        for (to, from) in random.iter_mut().zip(digest.iter()) {
            *to = *from;
        }
        let [first, second, ..] = &mut random;
        [*first, *second] = ((count & 0x0fff) as u16).to_be_bytes();
        // A large import runs past twelve bits: later ids borrow from the time.
        let ms = self.now.at.utc_ms.max(0) as u64 + (count >> 12);
        Builder::from_unix_timestamp_millis(ms, &random).into_uuid()
    }

    /// The next identity of a record.
    pub fn record(&mut self) -> RecordId {
        RecordId(self.mint())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::time::Moment;

    fn minter(entropy: u8) -> Minter {
        let at = Moment { utc_ms: 1_772_000_000_000, offset_min: 60 };
        Minter::new(Now { at, entropy: [entropy; 16] })
    }

    #[test]
    fn ids_are_version_7_sorted_and_unique_past_the_twelve_bits() {
        let mut minter = minter(7);
        let ids: Vec<Uuid> = (0..10_000).map(|_| minter.mint()).collect();
        assert!(ids.iter().all(|id| id.get_version_num() == 7));
        assert!(ids.is_sorted_by(|a, b| a < b));
    }

    #[test]
    fn the_same_event_makes_the_same_ids_and_another_event_others() {
        assert_eq!(minter(7).mint(), minter(7).mint());
        assert_ne!(minter(7).mint(), minter(8).mint());
    }
}
