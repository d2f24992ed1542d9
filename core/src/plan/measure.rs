//! Each drill's own measure over time, judged so that one may look after every day.
//!
//! Strikes are judged by the comparison with the baseline, as in the brief, and only
//! where nothing else differs; feel by its own trend; shares, speeds and the two-sided
//! ratio by [`sure`](super::sure). Start at [`Measured::of`].

use serde::Serialize;

use super::speed::{day_speeds, log_ratios};
use super::sure::{DayValue, Judged, above, moved, on_scale, share_value};
use crate::dose::{Exit, Papers};
use crate::face::compare::Change;
use crate::face::{Pattern, Range, Settings, Strike, clopper_pearson, pattern};
use crate::lesson::feel::FeelTurn;
use crate::lesson::{Changed, Feel, Log, Visit};
use crate::model::{Day, Goal, MarkRead, RecordId};

/// What counts as leaning the right way, all assumed: a head faster by half a mile an
/// hour, m/s.
const WORTH_MPS: f64 = 0.22;
/// A share about five in a hundred higher, on the scale of shares.
const WORTH_ON_SCALE: f64 = 0.1;
/// The other side two in a hundred faster against the playing side.
const WORTH_LOG_RATIO: f64 = 0.02;
/// Spread, or the error of guesses, a tenth less.
const WORTH_TIMES: f64 = 0.9;

/// A day with fewer tries says too little by itself.
const FEWEST_TRIES: i64 = 5;

/// One day of a measure.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Point {
    /// The day.
    pub day: Day,
    /// The value: a share, mm, or m/s.
    pub value: f64,
    /// Ends of its 95 % interval by this day's balls alone, where there is one.
    pub range: Option<(f64, f64)>,
    /// Balls, tries or swings that it rests on.
    pub count: u32,
}

/// A drill's measure over time.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Measured {
    /// What is measured.
    pub goal: Goal,
    /// Day by day.
    pub points: Vec<Point>,
    /// The share that the exit asks for.
    pub bar: Option<f64>,
    /// Whether the exit is met, surely.
    pub exit_met: bool,
    /// What was called against the baseline, or the first days: better or not.
    pub better: Option<bool>,
    /// The best guess goes the right way by an amount worth having, sure or not.
    pub leaning: bool,
    /// The judging of the days against the exit's bar, or against the first days.
    pub judged: Option<Judged>,
}

/// What the log says of strikes and feel: computed once for all drills of a plan.
#[derive(Debug)]
pub struct Seen<'a> {
    log: &'a Log,
    papers: &'a Papers,
    changed: Option<Changed>,
    settings: Settings,
    feel: Feel,
}

impl<'a> Seen<'a> {
    /// All that measures rest on.
    pub fn of(log: &'a Log) -> Self {
        // The model lets no mark in that a comparison refuses.
        let changed = Changed::of(log, None).ok().flatten();
        let settings = changed.as_ref().map_or_else(Settings::default, |changed| changed.settings);
        Self { log, papers: &log.papers, changed, settings, feel: Feel::of(log) }
    }
}

impl Measured {
    /// A planned drill's measure, its exit judged over the days from `from` on.
    pub fn of(seen: &Seen<'_>, planned: RecordId, goal: Goal, exit: Exit, from: Day) -> Self {
        let bar = match exit {
            Exit::ShareAbove { share } => Some(share),
            Exit::CalledBetter => None,
        };
        let mut measured = Self {
            goal,
            points: Vec::new(),
            bar,
            exit_met: false,
            better: None,
            leaning: false,
            judged: None,
        };
        match goal {
            Goal::CentreRate | Goal::MiddleHeight | Goal::MiddleWidth | Goal::Scatter => {
                strikes(&mut measured, seen, from);
            }
            Goal::StartLine | Goal::FinishHeld => tries(&mut measured, seen, planned, from),
            Goal::Feel => {
                measured.better = seen.feel.trend.called.map(|turn| turn == FeelTurn::Better);
                measured.exit_met = measured.better == Some(true);
                let error = seen.feel.trend.error_ratio.map(|ratio| ratio.estimate);
                measured.leaning = error.is_some_and(|ratio| ratio < WORTH_TIMES);
            }
            Goal::SpeedRatio => ratio(&mut measured, seen, from),
            Goal::HeadSpeed => {
                let days = day_speeds(seen.papers);
                measured.points = days
                    .iter()
                    .map(|(day, of, count)| Point {
                        day: *day,
                        value: of.value,
                        range: of.range(f64::from(*count) - 1.0, |value| value),
                        count: *count,
                    })
                    .collect();
                let values: Vec<DayValue> = days.iter().map(|(_, value, _)| *value).collect();
                let judged = moved(&values);
                measured.better = judged.called_up;
                measured.leaning = judged.estimate.is_some_and(|gain| gain > WORTH_MPS);
                measured.exit_met = measured.better == Some(true);
                measured.judged = Some(judged);
            }
        }
        measured
    }
}

/// The share that is judged: an exit's bar with the days since the plan began.
fn judge(measured: &mut Measured, days: &[(Day, DayValue)], from: Day, bar: f64) {
    let since: Vec<DayValue> = days.iter().filter(|(day, _)| *day >= from).map(|(_, value)| *value).collect();
    let judged = above(&since, bar);
    measured.exit_met = judged.called_up == Some(true);
    measured.judged = Some(judged);
}

/// Whether the days moved from the first ones, and whether they lean that way by `worth`.
fn turn(measured: &mut Measured, days: &[(Day, DayValue)], worth: f64) {
    let judged = moved(&days.iter().map(|(_, value)| *value).collect::<Vec<_>>());
    measured.better = judged.called_up;
    measured.leaning = judged.estimate.is_some_and(|gain| gain > worth);
}

fn tries(measured: &mut Measured, seen: &Seen<'_>, planned: RecordId, from: Day) {
    let mut days: Vec<(Day, i64, i64)> = Vec::new();
    for done in seen.papers.done_of(planned) {
        let said = done.value.good.zip(done.value.tries).map(|(good, tries)| (good.get(), tries.get()));
        let session = done.value.session.and_then(|id| seen.log.visits.iter().find(|visit| visit.id == id));
        // Where it was counted as it was done, its balls know it; else all of the session are its.
        let of = done.value.under_way.is_some().then_some(done.id);
        let by_eye = |visit: &Visit| judged_by_eye(measured.goal, visit, of);
        let Some((good, tries)) = said.or_else(|| session.map(by_eye)) else {
            continue;
        };
        match days.last_mut().filter(|(day, ..)| *day == done.value.day) {
            Some((_, all_good, all)) => (*all_good, *all) = (*all_good + good, *all + tries),
            None => days.push((done.value.day, good, tries)),
        }
    }
    days.retain(|(_, good, tries)| *tries >= FEWEST_TRIES && good <= tries);
    measured.points = days
        .iter()
        .map(|(day, good, tries)| Point {
            day: *day,
            value: *good as f64 / *tries as f64,
            range: clopper_pearson(*good as u32, *tries as u32).map(|share| (share.low, share.high)),
            count: *tries as u32,
        })
        .collect();
    let values: Vec<(Day, DayValue)> =
        days.iter().filter_map(|(day, good, tries)| Some((*day, share_value(*good, *tries)?))).collect();
    turn(measured, &values, WORTH_ON_SCALE);
    judge(measured, &values, from, on_scale(measured.bar.unwrap_or(1.0)));
}

/// Good tries and tries among a session's balls, of one practice where that is named.
fn judged_by_eye(goal: Goal, visit: &Visit, of: Option<RecordId>) -> (i64, i64) {
    let (mut good, mut tries) = (0, 0);
    for shot in visit.shots.iter().filter(|shot| of.is_none() || shot.practice == of) {
        let is_good = match goal {
            Goal::FinishHeld => shot.finish_held,
            _ => shot.start_by_eye.map(|start| start.code() == 0),
        };
        tries += i64::from(is_good.is_some());
        good += i64::from(is_good == Some(true));
    }
    (good, tries)
}

fn ratio(measured: &mut Measured, seen: &Seen<'_>, from: Day) {
    let days = log_ratios(seen.papers);
    measured.points = days
        .iter()
        .map(|(day, of)| {
            let count = swings_on(seen.papers, *day);
            // Two means are known from these swings.
            let range = of.range(f64::from(count) - 2.0, libm::exp);
            Point { day: *day, value: libm::exp(of.value), range, count }
        })
        .collect();
    turn(measured, &days, WORTH_LOG_RATIO);
    judge(measured, &days, from, libm::log(measured.bar.unwrap_or(1.0)));
}

fn swings_on(papers: &Papers, day: Day) -> u32 {
    papers.swings.iter().filter(|swing| swing.value.day == day).count() as u32
}

fn strikes(measured: &mut Measured, seen: &Seen<'_>, from: Day) {
    let mut shares = Vec::new();
    let mut latest = None;
    for visit in &seen.log.visits {
        let marks: Vec<Strike> = visit.shots.iter().filter_map(|shot| strike_of(seen.log, shot)).collect();
        if (marks.len() as i64) < FEWEST_TRIES {
            continue;
        }
        let Ok(of_day) = pattern(&marks, &seen.settings) else { continue };
        let day = visit.session.day;
        measured.points.extend(value_of(measured.goal, &of_day).map(|(value, range)| Point {
            day,
            value,
            range,
            count: of_day.count,
        }));
        if let Some(share) = of_day.centre_rate {
            let good = (share.estimate * f64::from(of_day.count)).round() as i64;
            shares.extend(share_value(good, i64::from(of_day.count)).map(|value| (day, value)));
        }
        latest = Some(of_day);
    }
    if measured.goal == Goal::CentreRate {
        judge(measured, &shares, from, on_scale(measured.bar.unwrap_or(1.0)));
    }
    let Some(changed) = seen.changed.as_ref() else { return };
    let baseline = baseline_bias(seen);
    measured.leaning = leans(measured.goal, changed, baseline, seen.settings.tolerance_mm);
    if !changed.is_called() {
        return;
    }
    measured.better = called(measured.goal, changed, baseline);
    if measured.bar.is_none() && measured.better == Some(true) {
        // Better is not there yet: the middle has to be near the target point too.
        let near = |bias: Option<f64>| bias.is_some_and(|bias| bias.abs() <= seen.settings.tolerance_mm);
        let moved = |change: &Change, before: f64| change.estimate.map(|by| before + by);
        measured.exit_met = match measured.goal {
            Goal::MiddleHeight => near(moved(&changed.comparison.bias.high_axis, baseline.1)),
            Goal::MiddleWidth => near(moved(&changed.comparison.bias.toe, baseline.0)),
            _ => latest.is_some(),
        };
    }
}

fn strike_of(log: &Log, shot: &crate::model::Shot) -> Option<Strike> {
    let mark = shot.mark.filter(|mark| mark.read != MarkRead::Felt && log.is_as_in_play(shot))?;
    Some(Strike { toe_mm: mark.toe_mm.mm(), high_mm: mark.high_mm.mm(), sigma_mm: mark.sigma_mm.mm() })
}

/// A day's value and its interval.
fn value_of(goal: Goal, of_day: &Pattern) -> Option<(f64, Option<(f64, f64)>)> {
    let ends = |range: Option<Range>| range.map(|range| (range.low, range.high));
    let i = &of_day.intervals;
    match goal {
        Goal::MiddleHeight => Some((of_day.bias_high_mm?, ends(i.bias_high_mm))),
        Goal::MiddleWidth => Some((of_day.bias_toe_mm?, ends(i.bias_toe_mm))),
        // No interval of both axes together is known here: the comparison judges it.
        Goal::Scatter => Some(((of_day.scatter_mm2?.trace() / 2.0).sqrt(), None)),
        _ => of_day.centre_rate.map(|share| (share.estimate, Some((share.low, share.high)))),
    }
}

/// The middle of the baseline's marks from the target point, toward toe and crown.
fn baseline_bias(seen: &Seen<'_>) -> (f64, f64) {
    let first = seen.changed.as_ref().and_then(|changed| changed.looks.first()).and_then(|look| look.day);
    let marks: Vec<Strike> = seen
        .log
        .visits
        .iter()
        .filter(|visit| first.is_none_or(|first| visit.session.day < first))
        .flat_map(|visit| visit.shots.iter().filter_map(|shot| strike_of(seen.log, shot)))
        .collect();
    let found = pattern(&marks, &seen.settings).ok();
    found.map_or((0.0, 0.0), |p| (p.bias_toe_mm.unwrap_or(0.0), p.bias_high_mm.unwrap_or(0.0)))
}

/// Whether the best guess is better by something worth having.
fn leans(goal: Goal, changed: &Changed, (toe, high): (f64, f64), tolerance_mm: f64) -> bool {
    let c = &changed.comparison;
    let nearer = |by: Option<f64>, before: f64| {
        by.is_some_and(|by| (before + by).abs() < before.abs() - 0.5 * tolerance_mm)
    };
    match goal {
        Goal::MiddleHeight => nearer(c.bias.high_axis.estimate, high),
        Goal::MiddleWidth => nearer(c.bias.toe.estimate, toe),
        Goal::Scatter => c.scatter.estimate.is_some_and(|times| times < WORTH_TIMES),
        _ => c.centre_rate.estimate.is_some_and(|more| more > 0.05),
    }
}

/// Whether what was called is better: toward the target point, tighter, more centred.
fn called(goal: Goal, changed: &Changed, (toe, high): (f64, f64)) -> Option<bool> {
    let c = &changed.comparison;
    let nearer = |change: &Change, before: f64| {
        change.estimate.filter(|_| change.called).map(|by| (before + by).abs() < before.abs())
    };
    match goal {
        Goal::MiddleHeight => nearer(&c.bias.high_axis, high),
        Goal::MiddleWidth => nearer(&c.bias.toe, toe),
        Goal::Scatter => c.scatter.estimate.filter(|_| c.scatter.called).map(|times| times < 1.0),
        _ => c.centre_rate.estimate.filter(|_| c.centre_rate.called).map(|more| more > 0.0),
    }
}
