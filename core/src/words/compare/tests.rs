//! What is said of a change, and of a baseline that is short or far back.

use super::*;
use crate::face::compare::Aim;
use crate::face::{Settings, Strike};
use crate::lesson::changed::Lot;
use crate::lesson::mix::Mix;

/// Sessions of twelve balls on a ring of 8 mm, with middles 1 mm apart.
fn lots(count: u32, toe_mm: f64, ball: Ball) -> Vec<Lot> {
    (0..count)
        .map(|session| Lot {
            label: format!("s{session}"),
            day: None,
            strikes: (0..12)
                .map(|i| {
                    let turn = core::f64::consts::TAU * f64::from(i) / 12.0;
                    Strike {
                        toe_mm: toe_mm + f64::from(session % 3) - 1.0 + 8.0 * libm::cos(turn),
                        high_mm: 6.0 + 8.0 * libm::sin(turn),
                        sigma_mm: 0.0,
                    }
                })
                .collect(),
            mixes: vec![Mix { ball: Some(ball), ..Mix::default() }; 12],
        })
        .collect()
}

fn changed(before: &[Lot], now: &[Lot]) -> Changed {
    let settings = Settings::default();
    Changed::between(before, now, &settings, &Aim::of(&settings)).unwrap()
}

#[test]
fn a_real_change_says_which_way_how_far_and_since_when() {
    let c = changed(&lots(6, 0.0, Ball::Course), &lots(8, -14.0, Ball::Course));
    let said = headline(&c);
    assert!(
        said.starts_with("A real change: the middle of the strikes is 14 mm toward the heel (likely "),
        "{said}"
    );
    assert!(said.contains("first sure after session "), "{said}");
    assert!(moved_cell(&c.comparison.bias.toe, "toe", "heel").starts_with("14.1 mm heel ("));
}

#[test]
fn another_ball_is_asked_about_first_and_the_figures_are_still_said() {
    let c = changed(&lots(6, 0.0, Ball::Course), &lots(8, -14.0, Ball::Range));
    let said = sentences(&c);
    assert_eq!(
        said[0],
        "Ask first: the kind of ball is not that of the baseline; the strikes differ from the baseline's, and \
         that may be why."
    );
    assert!(said[1].starts_with("Seen, whatever the reason: the middle"), "{said:?}");
    let asked = ask(&c.asks[0]);
    assert!(asked.contains("course balls at the baseline, range balls since session 1 (s0)"), "{asked}");
}

#[test]
fn nothing_shown_is_not_said_to_be_nothing_and_too_early_says_what_it_takes() {
    let still = headline(&changed(&lots(5, 0.0, Ball::Course), &lots(5, 0.0, Ball::Course)));
    assert_eq!(
        still,
        "No change shown after 5 sessions. That doesn't prove there is none: with a baseline of 5 sessions a \
         shift of 3 mm is seen in 4 of 5 seasons, and one that comes slowly is seen late."
    );
    let early = headline(&changed(&lots(2, 0.0, Ball::Course), &lots(1, 9.0, Ball::Course)));
    assert!(early.starts_with("Too early to call: it takes 5 sessions in all"), "{early}");
    let none = headline(&changed(&lots(2, 0.0, Ball::Course), &[]));
    assert!(none.starts_with("Nothing to compare yet"), "{none}");
    let nowhere = headline(&changed(&[], &lots(2, 0.0, Ball::Course)));
    assert!(nowhere.starts_with("Nothing to compare with yet"), "{nowhere}");
}

#[test]
fn after_more_sessions_than_may_be_looked_at_only_what_was_called_in_time_stands() {
    let before = lots(5, 0.0, Ball::Course);
    let still = headline(&changed(&before, &lots(LAST_LOOK + 1, 0.0, Ball::Course)));
    assert!(still.starts_with("Nothing more is called: 121 sessions came since the baseline"), "{still}");
    let in_time = headline(&changed(&before, &lots(LAST_LOOK, 0.0, Ball::Course)));
    assert!(in_time.starts_with("No change shown after 120 sessions"), "{in_time}");
    let moved = headline(&changed(&before, &lots(LAST_LOOK + 1, 9.0, Ball::Course)));
    assert!(moved.starts_with("A real change"), "{moved}");
}

#[test]
fn a_short_baseline_says_what_more_would_buy_or_would_have_bought() {
    let before = advice(&changed(&lots(2, 0.0, Ball::Course), &[]).comparison);
    assert!(before.starts_with("The baseline is too short to show a shift of 8 mm"), "{before}");
    assert!(before.contains("one more session before the change brings that to"), "{before}");
    let none = advice(&changed(&[], &[]).comparison);
    assert!(none.starts_with("Hit a baseline before changing anything: "), "{none}");
    let enough = advice(&changed(&lots(6, 0.0, Ball::Course), &lots(8, 0.0, Ball::Course)).comparison);
    assert!(enough.contains("long enough") && enough.contains("would have brought"), "{enough}");
}

#[test]
fn cells_keep_their_side_and_wide_ranges_say_nothing() {
    let change = |estimate, low, high| Change {
        estimate: Some(estimate),
        low: Some(low),
        high: Some(high),
        ..Change::default()
    };
    assert_eq!(moved_cell(&change(5.0, -70.0, 80.0), "toe", "heel"), "5.0 mm toe (no useful range yet)");
    assert_eq!(ratio_cell(&change(0.72, 0.55, 40.0)), "x 0.72 (0.55 to over 10)");
    assert_eq!(points_cell(&change(0.12, -0.04, 0.28)), "+12 in 100 (−4 to +28)");
    assert_eq!(called_cell(&Change::default()), "not shown");
}
