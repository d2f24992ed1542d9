//! Our drills as data: what each is for, how hard, how much, and when it is done with.
//!
//! Sizes of doses, times and exits are common practice without a source unless said
//! otherwise; none of them is a claim of how well a drill works. What people read of
//! a drill is in `words::drill`.

use serde::Serialize;

use crate::model::{Drill, Effort, Goal, Purpose, StockDrill};

/// When a drill has done its work, by its [`Goal`].
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(tag = "exit", rename_all = "snake_case")]
pub enum Exit {
    /// The goal's share is above this, surely: the chance that a season of looks
    /// says so of a student who isn't there is at most 5 %.
    ShareAbove {
        /// The share, 0 to 1.
        share: f64,
    },
    /// The honest comparison with the baseline calls the goal better.
    CalledBetter,
}

/// At which steps of its text a drill's repetitions are counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(tag = "counted", content = "steps", rename_all = "snake_case")]
pub enum CountedAt {
    /// The repetitions of each set at these steps, in as many equal parts.
    InSet(&'static [u8]),
    /// Those of one set at the first, of the next set at the second, and so on.
    SetBySet(&'static [u8]),
}

/// Which balls a drill has.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Balls {
    /// Every repetition is a ball.
    EachRepetition,
    /// Some are hit between the repetitions.
    Between,
    /// None.
    None,
}

/// One drill of the catalogue.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Stock {
    /// Which.
    pub drill: StockDrill,
    /// What it is for.
    pub purpose: Purpose,
    /// How hard its swings are.
    pub effort: Effort,
    /// Whether swings are made from both sides; a set's repetitions count them all.
    pub two_sided: bool,
    /// Sets a time: fewest, usual, most.
    pub sets: [i64; 3],
    /// Repetitions a set: fewest, usual, most.
    pub repetitions: [i64; 3],
    /// Times a week: fewest, usual, most.
    pub times: [i64; 3],
    /// About how long one repetition takes with all that belongs to it, s.
    pub repetition_s: i64,
    /// Rest after a set, s.
    pub rest_s: i64,
    /// At which steps of its text repetitions are counted.
    pub counted_at: CountedAt,
    /// Which balls it has.
    pub balls: Balls,
    /// Whether they are hit as in play. Others are off on purpose (another tee or
    /// distance, a shorter grip, half a swing) and say nothing of the student's own strike.
    pub as_in_play: bool,
    /// What it is judged by.
    pub goal: Goal,
    /// When it is done with.
    pub exit: Exit,
}

impl Stock {
    /// About how long a dose takes at one time, whole minutes rounded up.
    pub fn minutes(&self, sets: i64, repetitions: i64) -> i64 {
        (sets * (repetitions * self.repetition_s + self.rest_s) + 59) / 60
    }
}

const fn easy(drill: StockDrill, purpose: Purpose, goal: Goal, exit: Exit) -> Stock {
    Stock {
        drill,
        purpose,
        effort: Effort::Normal,
        two_sided: false,
        sets: [1, 3, 5],
        repetitions: [5, 8, 12],
        times: [1, 2, 4],
        repetition_s: 30,
        rest_s: 60,
        counted_at: CountedAt::InSet(&[2]),
        balls: Balls::EachRepetition,
        as_in_play: true,
        goal,
        exit,
    }
}

/// All drills, in the order in which they are listed.
pub const ALL: [Stock; 12] = [
    Stock {
        counted_at: CountedAt::InSet(&[3]),
        ..easy(
            StockDrill::TargetDot,
            Purpose::ContactBias,
            Goal::CentreRate,
            // Of three drives two within the centre radius: common practice, no source.
            Exit::ShareAbove { share: 0.6 },
        )
    },
    Stock {
        sets: [1, 2, 3],
        repetitions: [6, 6, 9],
        times: [1, 1, 3],
        // Two balls at each of three heights.
        counted_at: CountedAt::InSet(&[2, 3, 4]),
        as_in_play: false,
        ..easy(StockDrill::TeeLadder, Purpose::ContactBias, Goal::MiddleHeight, Exit::CalledBetter)
    },
    Stock {
        sets: [1, 2, 3],
        repetitions: [6, 6, 9],
        times: [1, 2, 3],
        counted_at: CountedAt::InSet(&[2, 4, 5]),
        as_in_play: false,
        ..easy(StockDrill::DistanceLadder, Purpose::ContactBias, Goal::MiddleWidth, Exit::CalledBetter)
    },
    Stock {
        repetitions: [5, 10, 12],
        times: [1, 3, 5],
        ..easy(
            StockDrill::HeldFinish,
            Purpose::ContactScatter,
            Goal::FinishHeld,
            Exit::ShareAbove { share: 0.8 },
        )
    },
    Stock {
        sets: [1, 2, 3],
        repetitions: [6, 10, 12],
        counted_at: CountedAt::SetBySet(&[3, 4]),
        as_in_play: false,
        ..easy(StockDrill::GrippedDown, Purpose::ContactScatter, Goal::Scatter, Exit::CalledBetter)
    },
    Stock {
        effort: Effort::Easy,
        sets: [1, 2, 4],
        repetition_s: 20,
        as_in_play: false,
        ..easy(StockDrill::FeetTogether, Purpose::ContactScatter, Goal::Scatter, Exit::CalledBetter)
    },
    Stock {
        effort: Effort::FullSpeed,
        two_sided: true,
        sets: [1, 3, 4],
        // Three from the playing side, three from the other: common practice, no
        // source; no dose of overspeed swinging has been published that we found.
        repetitions: [4, 6, 6],
        times: [1, 2, 3],
        repetition_s: 25,
        rest_s: 120,
        counted_at: CountedAt::InSet(&[3, 4]),
        balls: Balls::None,
        ..easy(StockDrill::TwoSided, Purpose::Speed, Goal::SpeedRatio, Exit::ShareAbove { share: 0.9 })
    },
    Stock {
        effort: Effort::FullSpeed,
        sets: [1, 2, 3],
        repetitions: [3, 5, 6],
        times: [1, 2, 3],
        repetition_s: 20,
        rest_s: 90,
        counted_at: CountedAt::InSet(&[3]),
        balls: Balls::None,
        ..easy(StockDrill::LateSwish, Purpose::Speed, Goal::HeadSpeed, Exit::CalledBetter)
    },
    Stock {
        effort: Effort::Easy,
        sets: [1, 2, 4],
        repetitions: [5, 10, 15],
        times: [2, 4, 7],
        repetition_s: 15,
        rest_s: 30,
        counted_at: CountedAt::InSet(&[1]),
        balls: Balls::Between,
        ..easy(StockDrill::SlowHand, Purpose::Face, Goal::StartLine, Exit::ShareAbove { share: 0.6 })
    },
    Stock {
        effort: Effort::Easy,
        sets: [1, 2, 4],
        repetitions: [5, 10, 15],
        times: [2, 4, 7],
        repetition_s: 10,
        rest_s: 30,
        balls: Balls::Between,
        ..easy(StockDrill::FlatPaddle, Purpose::Face, Goal::StartLine, Exit::ShareAbove { share: 0.6 })
    },
    Stock {
        repetitions: [5, 10, 12],
        counted_at: CountedAt::InSet(&[4]),
        ..easy(StockDrill::StartGate, Purpose::Face, Goal::StartLine, Exit::ShareAbove { share: 0.7 })
    },
    Stock {
        repetitions: [5, 10, 12],
        ..easy(StockDrill::CallStrike, Purpose::Feel, Goal::Feel, Exit::CalledBetter)
    },
];

/// The catalogue's entry of a drill.
pub fn stock(drill: StockDrill) -> &'static Stock {
    // Every drill is listed, which a test holds; the first stands in for the compiler.
    const FIRST: &Stock = &ALL[0];
    ALL.iter().find(|stock| stock.drill == drill).unwrap_or(FIRST)
}

/// What a drill is judged by, where that is known.
pub fn goal_of(drill: &Drill) -> Option<(Goal, Exit)> {
    if let Some(stock) = drill.stock.map(stock) {
        return Some((stock.goal, stock.exit));
    }
    let goal = drill.goal?;
    let exit = match goal {
        Goal::CentreRate | Goal::StartLine => Exit::ShareAbove { share: 0.6 },
        Goal::FinishHeld => Exit::ShareAbove { share: 0.8 },
        Goal::SpeedRatio => Exit::ShareAbove { share: 0.9 },
        Goal::MiddleHeight | Goal::MiddleWidth | Goal::Scatter | Goal::Feel | Goal::HeadSpeed => {
            Exit::CalledBetter
        }
    };
    Some((goal, exit))
}
