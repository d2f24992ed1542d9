//! A trial of two ways to hit the ball, in blocks of random order.
//!
//! The rule: the order is drawn once, when the trial begins, and stored with
//! it, so that every device tells the same next ball. Each block holds as many
//! balls of one arm as of the other. Start at [`Trial`] and [`BlockOrder::draw`].

use std::collections::BTreeSet;

use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

use super::check::{Range, Refusal};
use super::fields::{FieldNo, Fields};
use super::record::{Kind, Record, coded, need};
use super::text::Name;
use super::time::Day;

coded!(
    /// What the two arms of a trial differ in.
    TrialKind, "kind" {
        /// The hands lower on the grip in one of them.
        GrippedDown = 1 "gripped down",
        /// How high the ball is teed.
        TeeHeight = 2 "tee height",
        /// Which ball is hit.
        Ball = 3 "ball",
        /// Which club, or which build of one.
        Club = 4 "club",
        /// Anything else.
        Other = 5 "other",
    }
);

coded!(
    /// What a trial is judged by; chosen before the first ball.
    Measure, "measure" {
        /// Carry: more is better.
        Carry = 1 "carry",
        /// Distance of the strike from the target point: less is better.
        Miss = 2 "miss",
        /// Head speed: more is better.
        HeadSpeed = 3 "head speed",
        /// How far starts lie from the middle one: less is better.
        StartSpread = 4 "start spread",
    }
);

coded!(
    /// One of the two ways.
    Arm, "arm" {
        /// The first that was named: usually as ever.
        First = 0 "first",
        /// The second that was named: usually what is tried.
        Second = 1 "second",
    }
);

/// A ball's number in a trial's order, from 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(try_from = "i64", into = "i64")]
pub struct BallNo(u16);

impl BallNo {
    const RANGE: Range = Range {
        field: "trial ball",
        low: 1.0,
        high: (BlockOrder::MOST_BLOCKS * BlockOrder::MOST_BALLS) as f64,
        unit: "",
        reason: "a ball's number in the order of its trial",
    };

    /// A ball's number.
    ///
    /// # Errors
    /// A [`Refusal`] for a number that no trial has.
    pub fn new(number: i64) -> Result<Self, Refusal> {
        Self::RANGE.check(number as f64).map(|n| Self(n as u16))
    }

    /// The number, from 1.
    pub fn get(self) -> u16 {
        self.0
    }
}

impl TryFrom<i64> for BallNo {
    type Error = Refusal;
    fn try_from(number: i64) -> Result<Self, Refusal> {
        Self::new(number)
    }
}

impl From<BallNo> for i64 {
    fn from(number: BallNo) -> i64 {
        i64::from(number.0)
    }
}

/// The order of a trial's balls, block by block.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct BlockOrder {
    blocks: u16,
    balls: u16,
    arms: Vec<Arm>,
}

impl BlockOrder {
    /// More blocks than this are another day's trial: 240 full swings are too many for one.
    pub const MOST_BLOCKS: u16 = 24;
    /// A longer block loses what blocks are for: that its balls are alike.
    pub const MOST_BALLS: u16 = 10;
    /// Fewer ways to draw the order than this, and hardly any result could be told
    /// from chance: a call needs one of the five most extreme of 200.
    const FEWEST_WAYS: u64 = 200;

    /// Draws the order of `blocks` blocks of `balls` balls each, half of them of either arm.
    ///
    /// Each block is shuffled by itself (Fisher and Yates; R. Durstenfeld, Commun.
    /// ACM 7, 420, 1964) with whole numbers from SHA-256 of the entropy and a
    /// count, those that would favour a place thrown away.
    ///
    /// # Errors
    /// A [`Refusal`] for an odd or unlawful number of balls or blocks, or for a
    /// trial too small ever to tell anything.
    pub fn draw(blocks: i64, balls: i64, entropy: [u8; 16]) -> Result<Self, Refusal> {
        let (blocks, balls) = Self::check(blocks, balls)?;
        let mut dice = Dice { entropy, made: 0 };
        let mut arms = Vec::with_capacity(usize::from(blocks * balls));
        for _ in 0..blocks {
            let mut block: Vec<Arm> =
                (0..balls).map(|n| if n % 2 == 0 { Arm::First } else { Arm::Second }).collect();
            for last in (1..block.len()).rev() {
                block.swap(last, dice.below(last as u64 + 1) as usize);
            }
            arms.extend(block);
        }
        Ok(Self { blocks, balls, arms })
    }

    fn check(blocks: i64, balls: i64) -> Result<(u16, u16), Refusal> {
        let reason = "blocks of a few balls, half of either arm, so that each block compares alike balls";
        let range = |field, most: u16| Range { field, low: 2.0, high: most.into(), unit: "", reason };
        range("blocks", Self::MOST_BLOCKS).check(blocks as f64)?;
        range("balls a block", Self::MOST_BALLS).check(balls as f64)?;
        let (blocks, balls) = (blocks as u16, balls as u16);
        if balls % 2 != 0 {
            return Err(Refusal::new("balls a block", balls.to_string(), "an even number", reason));
        }
        let one = (1..=u64::from(balls / 2)).fold(1, |ways, n| ways * (u64::from(balls / 2) + n) / n);
        let ways = (0..blocks).fold(1_u64, |ways, _| ways.saturating_mul(one));
        if ways < Self::FEWEST_WAYS {
            return Err(Refusal::new(
                "trial",
                format!("{blocks} blocks of {balls} balls"),
                "at least 8 blocks of 2, 3 of 4 or 2 of 6",
                "in fewer, chance alone could give any result",
            ));
        }
        Ok((blocks, balls))
    }

    /// How many blocks there are.
    pub fn blocks(&self) -> u16 {
        self.blocks
    }

    /// Balls a block.
    pub fn balls_a_block(&self) -> u16 {
        self.balls
    }

    /// Balls in all.
    pub fn balls(&self) -> u16 {
        self.blocks * self.balls
    }

    /// Every ball in the order in which it is hit.
    pub fn each(&self) -> impl Iterator<Item = BallNo> + use<> {
        (1..=self.balls()).map(BallNo)
    }

    /// How a ball is to be hit; nothing for a number beyond the trial's.
    pub fn arm(&self, ball: BallNo) -> Option<Arm> {
        self.arms.get(usize::from(ball.0) - 1).copied()
    }

    /// The block of a ball, from 1.
    pub fn block(&self, ball: BallNo) -> u16 {
        (ball.0 - 1) / self.balls + 1
    }

    /// The order as text, a digit a ball: bytes of just sixteen balls would read as
    /// an identity.
    fn text(&self) -> String {
        self.arms.iter().map(|arm| if *arm == Arm::First { '1' } else { '2' }).collect()
    }

    fn from_parts(blocks: i64, balls: i64, text: &str) -> Result<Self, Refusal> {
        let (blocks, balls) = Self::check(blocks, balls)?;
        let arm = |digit| match digit {
            '1' => Some(Arm::First),
            '2' => Some(Arm::Second),
            _ => None,
        };
        let arms: Vec<Arm> = text.chars().filter_map(arm).collect();
        let whole = arms.len() == text.len() && arms.len() == usize::from(blocks * balls);
        let even = |block: &[Arm]| 2 * block.iter().filter(|arm| **arm == Arm::Second).count() == block.len();
        if whole && arms.chunks(usize::from(balls)).all(even) {
            return Ok(Self { blocks, balls, arms });
        }
        Err(Refusal::new(
            "order",
            format!("{} balls", text.len()),
            "half of either arm in each block",
            "the order was drawn so",
        ))
    }
}

/// Whole numbers from an event's entropy: the same on every device.
struct Dice {
    entropy: [u8; 16],
    made: u64,
}

impl Dice {
    /// A number below `below`, each with the same chance.
    fn below(&mut self, below: u64) -> u64 {
        // The largest multiple of `below`: numbers from there on would favour the small ones.
        let fair = u64::MAX - u64::MAX % below;
        loop {
            let digest = Sha256::new()
                .chain_update(b"order of a trial")
                .chain_update(self.entropy)
                .chain_update(self.made.to_le_bytes())
                .finalize();
            self.made += 1;
            let number = digest.iter().take(8).fold(0_u64, |number, byte| number << 8 | u64::from(*byte));
            if number < fair {
                return number % below;
            }
        }
    }
}

/// A trial of two ways to hit the ball.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Trial {
    /// The local day on which it began.
    pub day: Day,
    /// What the arms differ in.
    pub kind: TrialKind,
    /// What each arm is called, the first one first.
    pub arms: [Name; 2],
    /// What it is judged by.
    pub measure: Measure,
    /// The order of its balls.
    pub order: BlockOrder,
    /// Balls that are not hit any more; each a field of its own, so that two
    /// devices may leave out different ones.
    pub left_out: BTreeSet<BallNo>,
    /// The local day on which it was ended before its last ball.
    pub ended: Option<Day>,
}

/// A ball that is left out is field this far above its number.
const LEFT_OUT_ABOVE: FieldNo = 1000;

impl Record for Trial {
    const KIND: Kind = Kind::TRIAL;

    fn to_fields(&self) -> Fields {
        let mut f = Fields::new();
        let [first, second] = &self.arms;
        f.put(1, Some(self.day.number()));
        f.put(2, Some(self.kind.code()));
        f.put(3, Some(first.as_str()));
        f.put(4, Some(second.as_str()));
        f.put(5, Some(self.measure.code()));
        f.put(6, Some(i64::from(self.order.blocks)));
        f.put(7, Some(i64::from(self.order.balls)));
        f.put(8, Some(self.order.text().as_str()));
        f.put(9, self.ended.map(Day::number));
        for ball in &self.left_out {
            f.put(LEFT_OUT_ABOVE + ball.0, Some(true));
        }
        f
    }

    fn from_fields(f: &Fields) -> Result<Self, Refusal> {
        let name = |no, field| Name::new(need(f.text(no), field)?);
        let order = BlockOrder::from_parts(
            need(f.whole(6), "blocks")?,
            need(f.whole(7), "balls a block")?,
            need(f.text(8), "order")?,
        )?;
        Ok(Self {
            day: Day::from_number(need(f.whole(1), "day")?)?,
            kind: f.whole(2).and_then(TrialKind::from_code).unwrap_or(TrialKind::Other),
            arms: [name(3, "first arm")?, name(4, "second arm")?],
            // A measure of a newer version can't be judged here: the record stays unread.
            measure: need(f.whole(5).and_then(Measure::from_code), "measure")?,
            left_out: order.each().filter(|ball| f.bool(LEFT_OUT_ABOVE + ball.0) == Some(true)).collect(),
            order,
            ended: f.whole(9).map(Day::from_number).transpose()?,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn trial() -> Trial {
        Trial {
            day: Day::parse("2026-05-04").unwrap(),
            kind: TrialKind::GrippedDown,
            arms: [Name::new("normal").unwrap(), Name::new("gripped down 1 in").unwrap()],
            measure: Measure::Miss,
            order: BlockOrder::draw(6, 4, [7; 16]).unwrap(),
            left_out: [3, 20].into_iter().map(|n| BallNo::new(n).unwrap()).collect(),
            ended: None,
        }
    }

    #[test]
    fn a_trial_of_any_size_survives_its_bytes_and_a_spoilt_order_is_refused() {
        // Sixteen balls among them: sixteen bytes mean an identity.
        for (blocks, balls) in [(6, 4), (4, 4), (8, 2), (24, 10)] {
            let trial = Trial {
                order: BlockOrder::draw(blocks, balls, [9; 16]).unwrap(),
                left_out: [].into(),
                ..trial()
            };
            let mut bytes = Vec::new();
            trial.to_fields().encode(&mut bytes);
            assert_eq!(
                Trial::from_fields(&Fields::decode(&mut minicbor::Decoder::new(&bytes)).unwrap()).unwrap(),
                trial
            );
        }
        let trial = trial();
        let mut fields = trial.to_fields();
        assert_eq!(Trial::from_fields(&fields).unwrap(), trial);
        for spoilt in [trial.order.text().replacen('1', "2", 1), trial.order.text() + "12", "1221".into()] {
            fields.put(8, Some(spoilt.as_str()));
            assert!(Trial::from_fields(&fields).is_err());
        }
    }

    #[test]
    fn every_block_has_half_of_either_arm_and_the_same_event_draws_the_same() {
        let order = trial().order;
        for block in order.arms.chunks(4) {
            assert_eq!(block.iter().filter(|arm| **arm == Arm::Second).count(), 2);
        }
        assert_eq!(order, BlockOrder::draw(6, 4, [7; 16]).unwrap());
        assert_ne!(order, BlockOrder::draw(6, 4, [8; 16]).unwrap());
        let fifth = BallNo::new(5).unwrap();
        assert_eq!((order.block(fifth), order.balls()), (2, 24));
        assert!(order.arm(BallNo::new(25).unwrap()).is_none());
    }

    #[test]
    fn all_six_orders_of_a_block_of_four_are_drawn_alike() {
        let mut counts = std::collections::BTreeMap::new();
        for n in 0..500_u32 {
            let mut entropy = [0; 16];
            entropy[..4].copy_from_slice(&n.to_le_bytes());
            let order = BlockOrder::draw(24, 4, entropy).unwrap();
            for block in order.text().as_bytes().chunks(4) {
                *counts.entry(block.to_vec()).or_insert(0_u32) += 1;
            }
        }
        // Chi-square with 5 degrees of freedom; 20.515 is its 99.9 % point
        // (scipy.stats.chi2.ppf(0.999, 5)).
        let expected = 500.0 * 24.0 / 6.0;
        let chi: f64 = counts.values().map(|n| (f64::from(*n) - expected).powi(2) / expected).sum();
        assert!(counts.len() == 6 && chi < 20.515, "{chi} {counts:?}");
    }

    #[test]
    fn a_trial_too_small_to_tell_anything_is_refused() {
        for (blocks, balls) in [(7, 2), (2, 4), (1, 10), (6, 3), (25, 4), (6, 12), (0, 0), (-1, 4)] {
            assert!(BlockOrder::draw(blocks, balls, [1; 16]).is_err(), "{blocks} of {balls}");
        }
        for (blocks, balls) in [(8, 2), (3, 4), (2, 6), (24, 10)] {
            assert!(BlockOrder::draw(blocks, balls, [1; 16]).is_ok(), "{blocks} of {balls}");
        }
    }
}
