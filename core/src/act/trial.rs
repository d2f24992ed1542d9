//! A trial's course in the book: begin it, leave a ball out, end it early.
//!
//! The rule: the order is drawn when it begins, and never changed. Start at
//! [`begin_trial`]; a trial's balls are logged by [`log_rows`](super::log_rows).

use crate::book::{Book, BookError, Draft, Entry};
use crate::model::{
    BallNo, BlockOrder, Day, Kind, Measure, Minter, Name, Now, RecordId, Refusal, StrandId, Trial, TrialBall,
    TrialKind,
};
use crate::table::Row;

/// What is told of a new trial.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewTrial {
    /// What the arms differ in.
    pub kind: TrialKind,
    /// What each arm is called.
    pub arms: [Name; 2],
    /// What it is judged by.
    pub measure: Measure,
    /// How many blocks.
    pub blocks: i64,
    /// Balls a block.
    pub balls: i64,
}

/// Begins a trial on the day of `now`, with an order drawn from its entropy.
///
/// # Errors
/// A refusal for arms that are called alike or a trial too small or too large,
/// or what the storage reports.
pub fn begin_trial(
    book: &mut Book,
    strand: StrandId,
    now: Now,
    new: NewTrial,
) -> Result<Entry<Trial>, BookError> {
    let [first, second] = &new.arms;
    if first.as_str().to_lowercase() == second.as_str().to_lowercase() {
        let allowed = "two names that differ";
        return Err(Refusal::new("arms", second.as_str(), allowed, "nobody could tell which is next").into());
    }
    let trial = Trial {
        day: now.at.local_day(),
        kind: new.kind,
        arms: new.arms,
        measure: new.measure,
        order: BlockOrder::draw(new.blocks, new.balls, now.entropy)?,
        left_out: [].into(),
        ended: None,
    };
    let id = Minter::new(now).record();
    book.write(strand, now, [Draft::put(id, &trial)])?;
    book.record(strand, id)?
        .ok_or_else(|| BookError::Damaged { what: "a trial that was just written is not there".into() })
}

/// Leaves a ball of a trial out: it is not asked for any more.
///
/// # Errors
/// A refusal where there is no such trial or ball, or what the storage reports.
pub fn leave_out_ball(
    book: &mut Book,
    strand: StrandId,
    now: Now,
    id: RecordId,
    ball: BallNo,
) -> Result<(), BookError> {
    let mut trial = trial_of(book, strand, id)?;
    of_this(&trial, ball)?;
    trial.left_out.insert(ball);
    book.write(strand, now, [Draft::put(id, &trial)])?;
    Ok(())
}

/// Ends a trial before its last ball.
///
/// # Errors
/// A refusal where there is no such trial, or what the storage reports.
pub fn end_trial(book: &mut Book, strand: StrandId, now: Now, id: RecordId) -> Result<(), BookError> {
    let mut trial = trial_of(book, strand, id)?;
    trial.ended = trial.ended.or(Some(now.at.local_day()));
    book.write(strand, now, [Draft::put(id, &trial)])?;
    Ok(())
}

fn trial_of(book: &Book, strand: StrandId, id: RecordId) -> Result<Trial, BookError> {
    let found = book.record::<Trial>(strand, id)?;
    found.map(|entry| entry.value).ok_or_else(|| {
        Refusal::new(
            Kind::TRIAL.word(),
            id.to_string(),
            "one of this student's trials",
            "it has to begin first",
        )
        .into()
    })
}

fn of_this(trial: &Trial, ball: BallNo) -> Result<(), Refusal> {
    trial.order.arm(ball).map(|_| ()).ok_or_else(|| {
        Refusal::new(
            "trial ball",
            ball.get().to_string(),
            format!("1 to {}", trial.order.balls()),
            "a ball's number in the order of its trial",
        )
    })
}

/// A student's trials, read only where rows name balls of one.
pub(super) struct Trials(Vec<Entry<Trial>>);

impl Trials {
    pub(super) fn of(book: &Book, strand: StrandId, rows: &[Row]) -> Result<Self, BookError> {
        let named = rows.iter().any(|row| row.trial_ball.is_some());
        let mut trials = if named { book.records::<Trial>(strand)? } else { Vec::new() };
        trials.sort_by_key(|entry| (entry.value.day, entry.id));
        Ok(Self(trials))
    }

    /// The place in a trial that a row means: in the trial that it names, else in
    /// the latest one that had begun by that day.
    pub(super) fn ball_of(&self, row: &Row, day: Day) -> Result<Option<TrialBall>, Refusal> {
        let Some(ball) = row.trial_ball else { return Ok(None) };
        let named = |entry: &&Entry<Trial>| row.trial.map_or(entry.value.day <= day, |id| entry.id == id);
        let Some(trial) = self.0.iter().rev().find(named) else {
            return Err(Refusal::new(
                "trial ball",
                ball.get().to_string(),
                format!("nothing, as no trial had begun by {day}"),
                "begin a trial first, so that its order is drawn",
            ));
        };
        of_this(&trial.value, ball)?;
        Ok(Some(TrialBall { trial: trial.id, ball }))
    }

    /// The same ball of the trials before that one, where the row names none.
    pub(super) fn earlier(&self, row: &Row, day: Day) -> impl Iterator<Item = TrialBall> {
        let ball = row.trial_ball.filter(|_| row.trial.is_none());
        let begun = self.0.iter().rev().filter(move |entry| entry.value.day <= day).skip(1);
        begun.filter_map(move |entry| Some(TrialBall { trial: entry.id, ball: ball? }))
    }
}
