//! What people read of the drills of our catalogue.
//!
//! The rules: short plain sentences, right for players of both hands (lead and trail
//! hand, never left or right), in our own words. Whatever a drill is said to do is
//! common practice; claims rest on published work only where the sentence says so.
//!
//! Start at [`text`], [`record`] and [`WARM_UP`].

use crate::model::{Drill, Effort, Goal, Name, Refusal, Remark, StockDrill};
use crate::plan::{Exit, stock};

/// What people read of one drill.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct DrillText {
    /// Its name.
    pub name: &'static str,
    /// What it is for.
    pub what: &'static str,
    /// How to do it, step by step.
    pub steps: &'static [&'static str],
    /// What it takes.
    pub equipment: &'static str,
    /// What to write down.
    pub log: &'static str,
    /// What to be careful about, beside the general cautions.
    pub care: &'static [&'static str],
}

/// Before any full swing.
pub const WARM_UP: [&str; 5] = [
    "Walk briskly for two minutes.",
    "Ten slow turns of the chest to each side, arms crossed.",
    "Ten leg swings and ten arm circles on each side.",
    "Ten half swings, then five at three quarters, without a ball.",
    "Five easy balls before the first full one.",
];

/// Why the warm-up moves. Ehlert and Wilson 2019; Gergley 2009.
pub const WARM_UP_WHY: &str = "Keep moving: in a review of 23 studies moving warm-ups helped. Twenty minutes of still \
     stretching first cost distance and contact in a study of 15 men.";

/// What holds for every full-speed swing.
pub const SPEED_CARE: [&str; 4] = [
    "Warm up first. Rest between sets, and a day or more between days of speed work.",
    "Stop at any pain, and see a licensed professional before you go on.",
    "No study of a safe amount was found, so the amounts are kept low.",
    "The rules of your range and the advice of your own doctor come first.",
];

/// What holds for swings from the other side.
pub const BOTH_SIDES_CARE: &str =
    "Clear space on both sides: nobody in front, behind or beside you, for swings from either side.";

/// What holds for every ball.
pub const BALL_CARE: &str = "Nobody in front of or beside the swing. The rules of your range come first.";

/// What holds for powder. Rules of Golf 4.1a(3).
pub const POWDER_CARE: &str =
    "Powder outdoors, away from faces, and wipe it off. In practice only, as the rules forbid it in a round.";

/// What is known of how well our drills work.
pub const COMMON_PRACTICE: &str = "Common practice: no study of this drill was found.";

const POWDER: &str = "Your driver, balls, tees, and powder spray for the face.";

/// What people read of a drill.
#[allow(clippy::too_many_lines, reason = "twelve drills' texts, one after the other")]
pub fn text(drill: StockDrill) -> DrillText {
    match drill {
        StockDrill::TargetDot => DrillText {
            name: "Target dot",
            what: "Meant to move the middle of your strikes to the target point.",
            steps: &[
                "Powder the face.",
                "Press one finger dot into the powder at the target point.",
                "Look at the dot, then hit one ball with your usual swing.",
                "Look at the mark. How far is it from the dot, and on which side?",
                "After three balls wipe the face, powder it, and set the dot again.",
            ],
            equipment: POWDER,
            log: "Where each mark lies, or a photo of the face.",
            care: &[POWDER_CARE, BALL_CARE],
        },
        StockDrill::TeeLadder => DrillText {
            name: "Tee-height ladder",
            what: "Meant to find the tee height at which the marks sit at the target point.",
            steps: &[
                "Powder the face.",
                "Tee the ball so that half of it shows above the crown. Hit two balls.",
                "Tee it one finger higher and hit two more.",
                "Then one finger lower than at first, and two more.",
                "Keep your swing the same at every height.",
                "Stay with the height whose marks lie nearest to the target point.",
            ],
            equipment: "Your driver, balls, tees of several lengths, and powder spray.",
            log: "The marks, and the tee height you kept.",
            care: &[POWDER_CARE, BALL_CARE],
        },
        StockDrill::DistanceLadder => DrillText {
            name: "Distance ladder",
            what: "Meant to find how far from the ball to stand, so that marks sit in the middle.",
            steps: &[
                "Powder the face. Lay a club on the ground along your toes.",
                "Hit two balls from your usual place.",
                "Heel marks: step back by one finger's width. Toe marks: step in by as much.",
                "Hit two balls from there.",
                "Go on in such steps until the marks lie in the middle.",
                "Mark the place of your feet, and hit the last set from there.",
            ],
            equipment: "Your driver, balls, tees, powder spray, and a club to lay down.",
            log: "The marks, and how far you moved.",
            care: &[POWDER_CARE, BALL_CARE],
        },
        StockDrill::HeldFinish => DrillText {
            name: "Held finish",
            what: "Meant to bring the strikes closer together through better balance.",
            steps: &[
                "Hit a ball with your usual swing.",
                "Hold the finish, with the weight on the lead foot. Count to three.",
                "If you have to step or sway, the ball does not count.",
                "Slow down until you can hold it, then find your pace again.",
            ],
            equipment: "Your driver, balls and tees.",
            log: "How many finishes you held, of how many balls.",
            care: &[BALL_CARE],
        },
        StockDrill::GrippedDown => DrillText {
            name: "Gripped-down block",
            what: "Meant to bring the strikes closer together with a shorter grip.",
            steps: &[
                "Powder the face.",
                "Grip down by two fingers' width.",
                "Hit one set with your usual tempo.",
                "Hit the next set at full length, with the same tempo.",
                "Compare the two sets of marks.",
            ],
            equipment: POWDER,
            log: "The marks of both sets, and which was gripped down.",
            care: &[
                "Try this before any club is cut. Cutting is a club fitter's work.",
                POWDER_CARE,
                BALL_CARE,
            ],
        },
        StockDrill::FeetTogether => DrillText {
            name: "Feet together",
            what: "Meant to bring the strikes closer together through balance, with little effort.",
            steps: &[
                "Stand with the feet a hand's width apart.",
                "Swing from hip to hip at half speed and clip the ball off a tee.",
                "Stay on both feet until the ball has landed.",
                "When five in a row are balanced, swing from chest to chest.",
            ],
            equipment: "Your driver or a short iron, balls and tees.",
            log: "How many were balanced, and the marks if the face is powdered.",
            care: &[BALL_CARE],
        },
        StockDrill::TwoSided => DrillText {
            name: "Two-sided speed sets",
            what: "Meant to raise head speed, with full swings from your own side and from the other.",
            steps: &[
                "Do the warm-up.",
                "Look round: is the space clear on both sides?",
                "Make three full swings without a ball from the side you play from.",
                "Turn round and make three full swings from the other side.",
                "That is one set. Rest for two minutes.",
                "Stop when the swings get slower.",
            ],
            equipment: "Your driver or a speed stick, without a ball. A radar if you have one.",
            log: "The speed of each swing and its side.",
            care: &[BOTH_SIDES_CARE],
        },
        StockDrill::LateSwish => DrillText {
            name: "Late swish",
            what: "Meant to teach the swing to be fastest past the ball, not before it.",
            steps: &[
                "Do the warm-up.",
                "Turn the club round and hold it just above the head.",
                "Swing fast without a ball, and listen to the swish.",
                "Move the loudest part of it past the place of the ball.",
                "Rest after each set.",
            ],
            equipment: "Your driver, held upside down, without a ball.",
            log: "Swings whose swish came late. The speed of full swings, if you read it.",
            care: &[
                "Clear space all round: nobody near the swing.",
                "Hold on well, on dry ground: the heavy end is near your hands.",
            ],
        },
        StockDrill::SlowHand => DrillText {
            name: "Slow hand to the target",
            what: "Meant to teach where the face points, by the back of the lead hand.",
            steps: &[
                "Swing back slowly, then down as if through honey.",
                "Stop at the place of impact.",
                "The back of the lead hand looks at the target. Is the face square to it?",
                "Arm and shaft make one line, without a lean toward the target.",
                "After five of these hit one ball with the same feel.",
            ],
            equipment: "Your driver. A few balls and tees.",
            log: "Balls that started on line, of how many.",
            care: &[BALL_CARE],
        },
        StockDrill::FlatPaddle => DrillText {
            name: "Flat paddle",
            what: "Meant to let the lead hand feel where a flat face points.",
            steps: &[
                "Hold a flat paddle or a thin book in the lead hand.",
                "Swing it slowly to impact. Its flat side looks at the target.",
                "Turn it a little open and a little closed, and feel the difference.",
                "Then close your eyes, swing to impact, and guess before you look.",
                "After ten of these hit five balls.",
            ],
            equipment: "A flat paddle, such as one for table tennis. A few balls and tees.",
            log: "Balls that started on line, of how many.",
            care: &[BALL_CARE],
        },
        StockDrill::StartGate => DrillText {
            name: "Start-line gate",
            what: "Meant to teach balls to start on line.",
            steps: &[
                "Stand two paces behind the ball and choose a line.",
                "Push two sticks into the ground three paces ahead, a club's length apart.",
                "The line runs through their middle.",
                "Hit balls through the gate. The curve after it does not count.",
            ],
            equipment: "Your driver, balls, tees and two soft sticks.",
            log: "Balls that went through the gate, of how many.",
            care: &[
                "Use soft sticks, and stand well away from them: a ball that hits one comes back.",
                BALL_CARE,
            ],
        },
        StockDrill::CallStrike => DrillText {
            name: "Call your strike",
            what: "Meant to teach you to feel where on the face the ball was struck.",
            steps: &[
                "Powder the face.",
                "Hit a ball, and don't look at the face.",
                "Say where you felt it: toe or heel, high or low, and how far.",
                "Write that down. Then look at the mark and write it beside.",
                "Wipe the face after each ball.",
            ],
            equipment: POWDER,
            log: "The guess and the mark of each ball.",
            care: &[POWDER_CARE, BALL_CARE],
        },
    }
}

/// `You need: your driver.`: a text of ours behind its label.
pub fn labelled(label: &str, text: &str) -> String {
    let mut letters = text.chars();
    let first: String = letters.next().into_iter().flat_map(char::to_lowercase).collect();
    format!("{label}: {first}{}", letters.as_str())
}

/// What to be careful about with a drill: its own and the general cautions.
pub fn cautions(drill: StockDrill) -> Vec<&'static str> {
    let stock = stock(drill);
    care(Some(drill), stock.effort, stock.two_sided)
}

/// What to be careful about with a drill, ours or not, by how hard it is and from which
/// sides it is swung; what somebody wrote of a drill of their own comes beside it.
pub fn care(ours: Option<StockDrill>, effort: Effort, two_sided: bool) -> Vec<&'static str> {
    let mut all = ours.map_or_else(Vec::new, |drill| text(drill).care.to_vec());
    if ours.is_none() && !two_sided {
        all.push(BALL_CARE);
    }
    if two_sided && !all.contains(&BOTH_SIDES_CARE) {
        all.push(BOTH_SIDES_CARE);
    }
    if effort == Effort::FullSpeed {
        all.extend(SPEED_CARE);
    }
    all
}

/// When a drill of ours has done its work.
pub fn exit(drill: StockDrill) -> String {
    let stock = stock(drill);
    exit_of(stock.goal, stock.exit)
}

/// When a drill has done its work, by what it is judged by.
pub fn exit_of(goal: Goal, exit: Exit) -> String {
    let share = match exit {
        Exit::ShareAbove { share } => super::number::percent(share),
        Exit::CalledBetter => String::new(),
    };
    match goal {
        Goal::CentreRate => format!("Done when more than {share} of strikes are centred, surely."),
        Goal::FinishHeld => format!("Done when more than {share} of finishes are held, surely."),
        Goal::StartLine => format!("Done when more than {share} of balls start on line, surely."),
        Goal::SpeedRatio => {
            format!("Done when the other side has more than {share} of your own side's speed, surely.")
        }
        Goal::MiddleHeight | Goal::MiddleWidth => {
            "Done when the middle of the strikes has surely moved, and lies near the target point.".into()
        }
        Goal::Scatter => "Done when the strikes are surely closer together than at first.".into(),
        Goal::Feel => "Done when the guesses are surely closer than at first.".into(),
        Goal::HeadSpeed => "Done when the head is surely faster than at first.".into(),
    }
}

/// A drill of the catalogue as a record for a plan, with its texts, so that every
/// device can show it.
///
/// # Errors
/// None in practice: the texts fit, which a test holds.
pub fn record(drill: StockDrill) -> Result<Drill, Refusal> {
    let (text, stock) = (text(drill), stock(drill));
    let steps: Vec<String> =
        text.steps.iter().enumerate().map(|(n, step)| format!("{}. {step}", n + 1)).collect();
    Ok(Drill {
        name: Name::new(text.name)?,
        purpose: Some(stock.purpose),
        how: Some(Remark::new(&steps.join("\n"))?),
        stock: Some(drill),
        effort: Some(stock.effort),
        two_sided: stock.two_sided,
        equipment: Some(Remark::new(text.equipment)?),
        log: Some(Remark::new(text.log)?),
        care: Some(Remark::new(&cautions(drill).join("\n"))?),
        goal: Some(stock.goal),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::Fault;

    /// Every sentence that a person reads of the catalogue.
    fn sentences() -> Vec<String> {
        let mut all: Vec<String> = WARM_UP.iter().chain(&SPEED_CARE).map(ToString::to_string).collect();
        all.extend(
            [WARM_UP_WHY, BOTH_SIDES_CARE, BALL_CARE, POWDER_CARE, COMMON_PRACTICE].map(str::to_owned),
        );
        for (_, drill) in StockDrill::ALL {
            let text = text(*drill);
            all.extend([text.what, text.equipment, text.log].map(str::to_owned));
            all.extend(text.steps.iter().chain(text.care).map(ToString::to_string));
            all.push(exit(*drill));
        }
        for (fault, drills) in crate::plan::PROPOSE_RULES {
            all.extend(drills.iter().map(|drill| super::super::plan::why(fault, *drill).to_owned()));
        }
        let ends = |c: char| matches!(c, '.' | '?' | '!');
        all.iter()
            .flat_map(|text| text.split_inclusive(ends).map(|s| s.trim().to_owned()))
            .filter(|s| !s.is_empty())
            .collect()
    }

    #[test]
    fn every_sentence_is_short_and_ends() {
        let sentences = sentences();
        assert!(sentences.len() > 150, "{}", sentences.len());
        for sentence in sentences {
            let words = sentence.split_whitespace().count();
            assert!(words <= 20, "{words} words: {sentence}");
            assert!(sentence.ends_with(['.', '?', '!']) || sentence.ends_with(')'), "no end: {sentence}");
        }
    }

    #[test]
    fn every_text_is_right_in_both_hands() {
        for sentence in sentences() {
            let words: Vec<String> =
                sentence.split(|c: char| !c.is_alphabetic()).map(str::to_lowercase).collect();
            for hand in ["left", "right", "righty", "lefty"] {
                assert!(!words.iter().any(|word| word == hand), "says {hand}: {sentence}");
            }
        }
    }

    #[test]
    fn words_are_plain() {
        let long = |word: &str| word.chars().filter(|c| c.is_alphabetic()).count() > 12;
        for sentence in sentences() {
            assert!(!sentence.split_whitespace().any(long), "a long word: {sentence}");
            assert!(!sentence.contains(['<', '>', '*', '_', '`', '[']), "markup: {sentence}");
        }
    }

    #[test]
    fn every_drill_becomes_a_record_with_all_its_texts() {
        for (_, drill) in StockDrill::ALL {
            let record = record(*drill).unwrap();
            assert_eq!(record.name.as_str().to_lowercase(), drill.word());
            assert!(record.how.is_some() && record.care.is_some());
            // No claim that it works: what it is meant to do.
            assert!(text(*drill).what.starts_with("Meant to "), "{drill:?}");
            if stock(*drill).two_sided {
                assert!(cautions(*drill).contains(&BOTH_SIDES_CARE));
            }
            if stock(*drill).effort == Effort::FullSpeed {
                assert!(text(*drill).steps.contains(&"Do the warm-up."));
                assert!(cautions(*drill).iter().any(|c| c.contains("licensed professional")));
            }
            let powder = text(*drill).steps.iter().any(|step| step.contains("owder the face"));
            assert_eq!(powder, text(*drill).care.contains(&POWDER_CARE), "{drill:?}");
        }
        assert_eq!(Fault::ALL.len(), crate::plan::PROPOSE_RULES.len());
    }
}
