//! All that a book holds of one student's plans, with who wrote what, and with what
//! was removed: what one side took away the other may have done.
//!
//! Start at [`Papers::read`].

use std::collections::{BTreeMap, BTreeSet};

use crate::book::{Book, BookError, Entry, OrRemoved, StudentEntry};
use crate::model::fields::FieldNo;
use crate::model::{
    Day, Drill, Effort, Pain, Plan, PlannedDrill, Practice, Purpose, RecordId, SpeedSwing, StockDrill, Value,
};

use super::catalogue::stock;

/// The field of a student's record that holds the year of birth.
const BIRTH_YEAR: FieldNo = 4;

/// A planned drill, removed or not.
pub type Assigned = OrRemoved<PlannedDrill>;

/// One student's plans and what was done.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Papers {
    /// Years of birth that somebody wrote: two where two differ, none where not told.
    pub birth_years: Vec<i64>,
    /// Plans, the latest first day last.
    pub plans: Vec<Entry<Plan>>,
    /// Drills of all plans, removed ones too.
    pub planned: Vec<Assigned>,
    /// Drills by record, removed ones too.
    pub drills: BTreeMap<RecordId, Entry<Drill>>,
    /// What was done.
    pub practice: Vec<Entry<Practice>>,
    /// Swings for speed.
    pub swings: Vec<Entry<SpeedSwing>>,
    /// Reports of pain.
    pub pains: Vec<Entry<Pain>>,
}

impl Papers {
    /// Reads a student's papers from the book.
    ///
    /// # Errors
    /// What the storage reports.
    pub fn read(book: &Book, student: &StudentEntry) -> Result<Self, BookError> {
        let strand = student.strand;
        let mut plans = book.records::<Plan>(strand)?;
        plans.sort_by_key(|plan| (plan.value.from, plan.id));
        let mut practice = book.records::<Practice>(strand)?;
        practice.sort_by_key(|done| (done.value.day, done.id));
        let drills = book.records_and_removed::<Drill>(strand)?;
        Ok(Self {
            birth_years: birth_years(student),
            plans,
            planned: book.records_and_removed(strand)?,
            drills: drills.into_iter().map(|kept| (kept.entry.id, kept.entry)).collect(),
            practice,
            swings: book.records(strand)?,
            pains: book.records(strand)?,
        })
    }

    /// The plan that is in force on a day: the latest one that has begun, else the
    /// first one to come.
    pub fn plan_on(&self, day: Day) -> Option<&Entry<Plan>> {
        let begun = self.plans.iter().rev().find(|plan| plan.value.from <= day);
        begun.or_else(|| self.plans.first())
    }

    /// The drills of a plan in their order, ties by identity; removed ones too.
    pub fn drills_of(&self, plan: RecordId) -> Vec<&Assigned> {
        let mut of: Vec<&Assigned> =
            self.planned.iter().filter(|assigned| assigned.entry.value.plan == plan).collect();
        of.sort_by(|a, b| {
            let place = |assigned: &Assigned| assigned.entry.value.order.get();
            place(a).total_cmp(&place(b)).then(a.entry.id.cmp(&b.entry.id))
        });
        of
    }

    /// Whether anything was logged of a planned drill: repetitions, or swings for speed.
    pub fn was_done(&self, planned: RecordId) -> bool {
        self.done_of(planned).any(|done| done.value.was_done())
            || self.swings.iter().any(|swing| swing.value.planned == Some(planned))
    }

    /// What was done of a planned drill, by day.
    pub fn done_of(&self, planned: RecordId) -> impl Iterator<Item = &Entry<Practice>> {
        self.practice.iter().filter(move |done| done.value.planned == planned)
    }

    /// The drill that a planned drill means.
    pub fn drill_of(&self, planned: &PlannedDrill) -> Option<&Entry<Drill>> {
        self.drills.get(&planned.drill)
    }

    /// Full-speed efforts that were made on a day, by anybody's log and of any plan.
    ///
    /// Recorded swings of a drill are among the repetitions logged of it, or the other
    /// way round, whichever is more; swings of no drill count by themselves.
    pub fn efforts_on(&self, day: Day) -> i64 {
        let mut of_drill: BTreeMap<RecordId, (i64, i64)> = BTreeMap::new();
        let mut alone = 0;
        for done in self.practice.iter().filter(|done| done.value.day == day) {
            if self.is_speed_work(done.value.planned) {
                of_drill.entry(done.value.planned).or_default().0 += most_repetitions(done);
            }
        }
        for swing in self.swings.iter().filter(|swing| swing.value.day == day) {
            match swing.value.planned {
                Some(planned) => of_drill.entry(planned).or_default().1 += 1,
                None => alone += 1,
            }
        }
        of_drill.values().map(|(logged, recorded)| *logged.max(recorded)).sum::<i64>() + alone
    }

    /// Days with full-speed efforts.
    pub fn speed_days(&self) -> impl Iterator<Item = Day> {
        let practice = self
            .practice
            .iter()
            .filter(|done| most_repetitions(done) > 0 && self.is_speed_work(done.value.planned));
        practice.map(|done| done.value.day).chain(self.swings.iter().map(|swing| swing.value.day))
    }

    /// Practices of drills whose balls are not hit as in play.
    pub fn off_on_purpose(&self) -> BTreeSet<RecordId> {
        let off = |done: &&Entry<Practice>| {
            let assigned = self.planned.iter().find(|assigned| assigned.entry.id == done.value.planned);
            let drill = assigned.and_then(|assigned| self.drill_of(&assigned.entry.value));
            drill.and_then(|drill| drill.value.stock).is_some_and(|drill| !stock(drill).as_in_play)
        };
        self.practice.iter().filter(off).map(|done| done.id).collect()
    }

    /// Whether a planned drill is full-speed work. One that nobody knows counts as it.
    pub fn is_speed_work(&self, planned: RecordId) -> bool {
        let assigned = self.planned.iter().find(|assigned| assigned.entry.id == planned);
        let drill = assigned.and_then(|assigned| self.drill_of(&assigned.entry.value));
        drill.is_none_or(is_full_speed)
    }
}

/// Repetitions of a practice: the most that anybody wrote, where two devices did.
fn most_repetitions(done: &Entry<Practice>) -> i64 {
    let of = done.conflicts.iter().filter(|conflict| conflict.field == Practice::REPETITIONS);
    let others = of.flat_map(|conflict| &conflict.values).filter_map(|(_, value)| match value {
        Value::Number(n) => Some(*n as i64),
        _ => None,
    });
    others.fold(done.value.repetitions.get(), i64::max)
}

/// Whether a drill's swings count as full-speed efforts: if anything that anybody
/// wrote of it says so.
pub fn is_full_speed(drill: &Entry<Drill>) -> bool {
    let of_stock = |drill: StockDrill| stock(drill).effort == Effort::FullSpeed;
    let said = &drill.value;
    let now = said.effort == Some(Effort::FullSpeed)
        || said.purpose == Some(Purpose::Speed)
        || said.stock.is_some_and(of_stock);
    let written = |field: FieldNo, is_so: &dyn Fn(i64) -> bool| {
        let of = drill.conflicts.iter().filter(move |conflict| conflict.field == field);
        of.flat_map(|conflict| &conflict.values).any(|(_, value)| match value {
            Value::Number(n) => is_so(*n as i64),
            _ => false,
        })
    };
    now || written(Drill::EFFORT, &|code| code == Effort::FullSpeed.code())
        || written(Drill::PURPOSE, &|code| code == Purpose::Speed.code())
        || written(Drill::STOCK, &|code| StockDrill::from_code(code).is_some_and(of_stock))
}

/// Whether a drill has swings from both sides.
pub fn is_two_sided(drill: &Drill) -> bool {
    drill.two_sided || drill.stock.is_some_and(|drill| stock(drill).two_sided)
}

fn birth_years(student: &StudentEntry) -> Vec<i64> {
    let entry = &student.student;
    let disputed = entry.conflicts.iter().filter(|conflict| conflict.field == BIRTH_YEAR);
    let others = disputed.flat_map(|conflict| &conflict.values).filter_map(|(_, value)| match value {
        Value::Number(n) => Some(*n as i64),
        _ => None,
    });
    let mut years: Vec<i64> =
        entry.value.birth_year.map(crate::model::BirthYear::get).into_iter().chain(others).collect();
    years.sort_unstable();
    years.dedup();
    years
}
