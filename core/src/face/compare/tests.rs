//! What the comparison says of small, plain and broken input.
//!
//! Where to start: [`cluster`] makes a session with a known middle and spread.

use super::*;

/// `n` balls around a point, evenly spread on a circle whose radius varies a
/// little, so that its middle and its spread are known.
fn cluster(n: u32, toe_mm: f64, high_mm: f64, radius_mm: f64) -> Vec<Strike> {
    (0..n)
        .map(|i| {
            let angle = 2.0 * core::f64::consts::PI * f64::from(i) / f64::from(n);
            Strike {
                toe_mm: toe_mm + radius_mm * libm::cos(angle),
                high_mm: high_mm + radius_mm * libm::sin(angle),
                sigma_mm: 0.5,
            }
        })
        .collect()
}

/// Sessions with middles that wander by 1 mm.
fn sessions(count: u32, balls: u32, toe_mm: f64, radius_mm: f64) -> Vec<Vec<Strike>> {
    (0..count)
        .map(|i| {
            let off = f64::from(i % 3) - 1.0;
            cluster(balls, toe_mm + off, 6.0 - off, radius_mm * (1.0 + 0.02 * off))
        })
        .collect()
}

fn judged(baseline: &[Vec<Strike>], later: &[Vec<Strike>]) -> Comparison {
    let settings = Settings::default();
    compare(baseline, later, &settings, &Aim::of(&settings)).unwrap()
}

#[test]
fn any_number_of_sessions_from_none_up_gives_an_answer_without_nan() {
    for m in 0..=5 {
        for k in [0, 1, 2, 3, 25, 130] {
            let c = judged(&sessions(m, 12, 0.0, 10.0), &sessions(k, 12, 0.5, 10.0));
            let text = format!("{c:?}");
            assert!(!text.contains("NaN") && !text.contains("inf"), "{m} {k} {text}");
            assert_eq!(c.bias.toe.estimate.is_some(), m > 0 && k > 0);
            assert_eq!(c.bias.toe.low.is_some(), m > 0 && k > 0 && m + k >= 5 && k <= 120);
            assert!(!c.any_called && c.first_called_at.is_none());
            assert_eq!(c.advice.outlook().baseline_sessions, m);
            assert_eq!(c.advice.outlook().sees_mm.is_some(), m > 0);
        }
    }
}

#[test]
fn a_plain_shift_is_called_by_its_axis_with_an_interval_that_leaves_zero_out() {
    let c = judged(&sessions(5, 12, 0.0, 9.0), &sessions(6, 12, 14.0, 9.0));
    assert!(c.bias.toe.called && !c.bias.high_axis.called && !c.scatter.called);
    assert_eq!(c.bias.joint.first_called_at, c.bias.toe.first_called_at);
    assert_eq!(c.first_called_at, c.bias.toe.first_called_at);
    let (toe, joint) = (c.bias.toe, c.bias.joint);
    // The middles wander by -1, 0, 1, -1, 0 in the baseline: -0.2 on average.
    assert!((toe.estimate.unwrap() - 14.2).abs() < 1e-9);
    assert!(toe.low.unwrap() > 0.0 && toe.high.unwrap() > 14.2);
    assert!(joint.low.unwrap() > 0.0 && joint.low <= joint.estimate && joint.estimate <= joint.high);
}

#[test]
fn a_tighter_pattern_is_called_as_scatter_and_not_as_bias() {
    let c = judged(&sessions(6, 20, 0.0, 14.0), &sessions(12, 20, 0.0, 7.0));
    assert!(c.scatter.called && !c.bias.joint.called);
    // The readings' error is the same on both sides, and is taken out.
    assert!((c.scatter.estimate.unwrap() - 0.5).abs() < 0.01, "{:?}", c.scatter);
    assert!(c.scatter.high.unwrap() < 1.0);
    // Radius 14 misses the centre radius of 12 wholly, radius 7 never does.
    assert!(c.centre_rate.called && (c.centre_rate.estimate.unwrap() - 1.0).abs() < 1e-9);
    assert!(c.centre_rate.high.unwrap() <= 1.0);
}

#[test]
fn a_call_stays_though_later_sessions_take_the_pattern_back() {
    let mut later = sessions(6, 12, 14.0, 9.0);
    later.extend(sessions(14, 12, -6.0, 9.0));
    let early = judged(&sessions(5, 12, 0.0, 9.0), &later[..6]);
    let late = judged(&sessions(5, 12, 0.0, 9.0), &later);
    assert!(early.bias.toe.called && late.bias.toe.called);
    assert_eq!(early.bias.toe.first_called_at, late.bias.toe.first_called_at);
    assert!(late.bias.toe.estimate.unwrap() < 1.0);
}

#[test]
fn looks_give_the_same_first_call_whether_asked_one_by_one_or_at_the_end() {
    let (base, later) = (sessions(4, 12, 0.0, 9.0), sessions(15, 12, 7.0, 9.0));
    let whole = judged(&base, &later);
    let one_by_one = (1..=later.len()).find(|k| judged(&base, &later[..*k]).any_called);
    assert!(whole.any_called);
    assert_eq!(whole.first_called_at.map(|k| k as usize), one_by_one);
}

#[test]
fn sessions_of_one_or_two_balls_are_listed_and_are_no_look() {
    let mut later = sessions(6, 12, 14.0, 9.0);
    later.insert(0, cluster(2, 100.0, 100.0, 1.0));
    later.insert(0, Vec::new());
    let base = sessions(5, 12, 0.0, 9.0);
    let (with, without) = (judged(&base, &later), judged(&base, &later[2..]));
    assert_eq!(with.bias.toe.estimate, without.bias.toe.estimate);
    assert_eq!(with.first_called_at, without.first_called_at.map(|k| k + 2));
    let left: Vec<_> = with.left_out.iter().map(|l| (l.side, l.session, l.more_balls)).collect();
    assert_eq!(left, [(Side::Later, 1, 3), (Side::Later, 2, 1)]);
    assert_eq!((with.later_sessions, with.later_balls), (6, 72));
}

#[test]
fn marks_all_on_one_spot_call_nothing_they_should_not_and_stay_finite() {
    let spot = |x: f64| vec![vec![Strike { toe_mm: x, high_mm: 6.0, sigma_mm: 0.0 }; 12]; 6];
    let c = judged(&spot(0.0), &spot(0.0));
    assert!(!c.any_called && !format!("{c:?}").contains("NaN"));
    assert!(judged(&spot(0.0), &spot(5.0)).bias.toe.called);
}

#[test]
fn more_baseline_shows_more_and_the_advice_counts_the_sessions() {
    let aim = Aim { shift_mm: 6.0, others: Some(shifts(3.05)) };
    let ask = |m: u32| {
        let none: [Vec<Strike>; 0] = [];
        // Balls of 10 mm, as is assumed where there are none.
        compare(&sessions(m, 12, 0.0, 13.54), &none, &Settings::default(), &aim).unwrap().advice
    };
    let Advice::HitABaseline { more_sessions: Some(needed), outlook, .. } = ask(0) else {
        panic!("no baseline is no baseline")
    };
    assert_eq!(outlook.basis, Basis::OtherStudents);
    let Advice::Lengthen { more_sessions: Some(more), outlook, .. } = ask(2) else {
        panic!("two sessions don't show 6 mm")
    };
    assert_eq!(needed, more + 2);
    assert!(outlook.one_more_sees_mm < outlook.sees_mm.unwrap());
    // From four sessions on the student's own spread counts.
    assert_eq!(ask(4).outlook().basis, Basis::ThisStudent);
    assert!(ask(20).enough());
}

#[test]
fn more_balls_are_advised_only_where_days_are_alike() {
    let aim = Aim { shift_mm: 6.0, others: None };
    let base: Vec<_> = (0..4).map(|_| cluster(5, 0.0, 6.0, 12.0)).collect();
    let none: [Vec<Strike>; 0] = [];
    let settings = Settings::default();
    let advice = compare(&base, &none, &settings, &aim).unwrap().advice;
    let Advice::Lengthen { more_balls_a_session: Some(more), .. } = advice else { panic!("{advice:?}") };
    assert!((1..=55).contains(&more));
    let apart: Vec<_> = [-8.0, 9.0, -9.0, 8.0].map(|x| cluster(12, x, 6.0, 9.0)).to_vec();
    let advice = compare(&apart, &none, &settings, &aim).unwrap().advice;
    assert!(matches!(advice, Advice::Lengthen { more_balls_a_session: None, .. }), "{advice:?}");
}

#[test]
fn what_is_no_mark_is_refused_with_its_side_and_session() {
    let mut later = sessions(2, 12, 0.0, 9.0);
    later[1][3].toe_mm = f64::NAN;
    let (settings, base) = (Settings::default(), sessions(2, 12, 0.0, 9.0));
    let error = compare(&base, &later, &settings, &Aim::of(&settings)).unwrap_err();
    assert!(error.to_string().starts_with("later session 2: mark 4: toe_mm is NaN"), "{error}");
    let aim = Aim { shift_mm: f64::NAN, others: None };
    assert!(matches!(compare(&base, &base, &settings, &aim), Err(CompareError::Aim(_))));
    let settings = Settings { centre_radius_mm: -1.0, ..settings };
    assert!(matches!(
        compare(&base, &base, &settings, &Aim { shift_mm: 8.0, ..aim }),
        Err(CompareError::Settings(_))
    ));
}

#[test]
fn the_json_has_the_keys_that_others_read() {
    let value =
        serde_json::to_value(judged(&sessions(5, 12, 0.0, 9.0), &sessions(6, 12, 14.0, 9.0))).unwrap();
    for key in ["bias", "scatter", "centre_rate"] {
        for field in ["estimate", "low", "high", "called", "first_called_at"] {
            assert!(value[key].get(field).is_some(), "{key} {field}");
        }
    }
    assert_eq!(value["bias"]["toe"]["called"], true);
    assert_eq!(value["any_called"], true);
    assert_eq!(value["advice"]["kind"], "enough");
    assert!(value["bias"]["high"].is_number() && value["bias"]["high_axis"]["estimate"].is_number());
}

#[test]
fn a_shift_in_both_axes_is_measured_along_its_direction() {
    let move_by = |x: f64, y: f64| {
        let mut later = sessions(8, 12, 0.0, 9.0);
        for strike in later.iter_mut().flatten() {
            strike.toe_mm += x;
            strike.high_mm += y;
        }
        judged(&sessions(5, 12, 0.0, 9.0), &later)
    };
    let (still, moved) = (move_by(0.0, 0.0), move_by(9.0, -12.0));
    let by = |c: &Comparison| (c.bias.toe.estimate.unwrap(), c.bias.high_axis.estimate.unwrap());
    assert!((by(&moved).0 - by(&still).0 - 9.0).abs() < 1e-9);
    assert!((by(&moved).1 - by(&still).1 + 12.0).abs() < 1e-9);
    let length = libm::hypot(by(&moved).0, by(&moved).1);
    assert!((moved.bias.joint.estimate.unwrap() - length).abs() < 1e-9);
    assert!(moved.bias.toe.called && moved.bias.high_axis.called);
    assert_eq!(still.bias.joint.low, Some(0.0));
}

/// Days that differ by so much, mm, as seen in many sessions of other students.
fn shifts(days_mm: f64) -> KnownShifts {
    KnownShifts { toe_mm2: days_mm * days_mm, high_mm2: days_mm * days_mm, dof: 40, students: 12 }
}

#[test]
fn other_students_days_are_named_lend_the_bias_and_nothing_else() {
    let (base, later) = (sessions(3, 12, 0.0, 9.0), sessions(2, 12, 5.0, 9.0));
    let ask = |others| {
        let aim = Aim { shift_mm: 8.0, others };
        compare(&base, &later, &Settings::default(), &aim).unwrap()
    };
    let (alone, known) = (ask(None), ask(Some(shifts(2.0))));
    assert_eq!(alone.known_shifts, None);
    let used = known.known_shifts.unwrap();
    assert_eq!((used.known.students, used.known.dof), (12, 40));
    assert!(used.counted_toe > 0.0 && used.counted_toe <= 6.0);
    assert_eq!((known.scatter, known.centre_rate), (alone.scatter, alone.centre_rate));
    let width = |c: &Comparison| c.bias.toe.high.unwrap() - c.bias.toe.low.unwrap();
    assert!(width(&known) < width(&alone), "{} {}", width(&known), width(&alone));
    // Far larger days of this student leave little of it.
    let mut apart = sessions(4, 12, 0.0, 9.0);
    for (session, by) in apart.iter_mut().zip([-14.0, 15.0, 13.0, -16.0]) {
        for strike in session {
            strike.toe_mm += by;
        }
    }
    let aim = Aim { shift_mm: 8.0, others: Some(shifts(2.0)) };
    let used = compare(&apart, &later, &Settings::default(), &aim).unwrap().known_shifts.unwrap();
    assert!(used.counted_toe < 0.1, "{used:?}");
    // What can't be a variance is not used.
    let broken = KnownShifts { toe_mm2: f64::NAN, ..shifts(2.0) };
    assert_eq!(ask(Some(broken)), alone);
    let two = (sessions(2, 12, 0.0, 9.0), sessions(1, 12, 14.0, 9.0));
    let outlook = |others| {
        let aim = Aim { shift_mm: 8.0, others };
        *compare(&two.0, &two.1, &Settings::default(), &aim).unwrap().advice.outlook()
    };
    assert_eq!(outlook(None).basis, Basis::Assumed);
    assert_eq!(outlook(Some(shifts(0.5))).basis, Basis::OtherStudents);
    assert!(outlook(Some(shifts(0.5))).sees_mm < outlook(None).sees_mm);
}

#[test]
fn known_shifts_are_the_days_of_students_with_two_sessions_less_what_balls_explain() {
    let settings = Settings::default();
    // Middles at 0 and 8 mm: a variance of 32 mm2 over one degree of freedom; balls
    // on a circle of 9 mm have a variance of 9^2/2 * 12/11 a ball, a twelfth a session.
    let one = vec![cluster(12, 0.0, 6.0, 9.0), cluster(12, 8.0, 6.0, 9.0)];
    let balls = 81.0 / 2.0 * 12.0 / 11.0 / 12.0;
    let known =
        KnownShifts::of(&[one.clone(), vec![cluster(12, 3.0, 6.0, 9.0)]], &settings).unwrap().unwrap();
    assert_eq!((known.students, known.dof), (1, 1));
    assert!((known.toe_mm2 - (32.0 - balls)).abs() < 1e-9, "{known:?}");
    assert!(known.high_mm2.abs() < 1e-12);
    let nobody: [Vec<Vec<Strike>>; 1] = [vec![cluster(12, 3.0, 6.0, 9.0)]];
    assert_eq!(KnownShifts::of(&nobody, &settings).unwrap(), None);
    let mut broken = one;
    broken[0][0].toe_mm = f64::NAN;
    assert!(KnownShifts::of(&[broken], &settings).is_err());
}

#[test]
fn a_followed_season_ends_where_the_comparison_does_and_calls_outside_the_edge() {
    let (base, later) = (sessions(4, 12, 0.0, 9.0), sessions(12, 12, 9.0, 9.0));
    let settings = Settings::default();
    let (c, looks) = follow(&base, &later, &settings, &Aim::of(&settings)).unwrap();
    assert_eq!(c, judged(&base, &later));
    assert_eq!(looks.len(), 12);
    let last = looks[11];
    assert_eq!(
        (last.toe.estimate, last.toe.low, last.toe.high),
        (c.bias.toe.estimate, c.bias.toe.low, c.bias.toe.high)
    );
    assert_eq!(last.scatter.low, c.scatter.low);
    assert!(last.scatter.edge_low.unwrap() < 1.0 && last.scatter.edge_high.unwrap() > 1.0);
    let called: Vec<&Look> = looks.iter().filter(|l| l.toe.called).collect();
    assert_eq!(called.len(), 1);
    assert_eq!(Some(called[0].session), c.bias.toe.first_called_at);
    for look in &looks {
        let (Some(e), Some(edge), Some(low)) = (look.toe.estimate, look.toe.edge_high, look.toe.low) else {
            continue;
        };
        assert_eq!(e > edge, low > 0.0);
        if Some(look.session) < c.bias.toe.first_called_at {
            assert!(e <= edge);
        }
    }
}
