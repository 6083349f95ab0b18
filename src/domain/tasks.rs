//! The tasks in a plan: what has to be done where, on which day.
//!
//! Parts of a batch with the same kind of task on the same day make one task, because a class does
//! them in one go. Calendars, the week's list, JSON and the comparison of plans all use these tasks.

use super::crop::{Crop, Figure};
use super::growth::Way;
use super::ids::TankId;
use super::plan::{Batch, Harvest, Origin, Part, Plan};
use super::task_numbers::TaskNumbers;
use super::term::{Stage, Term};
use chrono::NaiveDate;
use std::collections::BTreeMap;

pub use super::task_numbers::TaskKind;

/// One piece of work for a class: a batch, a day, a kind.
#[derive(Debug, Clone)]
pub struct Task<'a> {
    /// The day.
    pub date: NaiveDate,
    /// Its kind.
    pub kind: TaskKind,
    /// Tells it from the batch's other tasks of this kind in every plan of the term. Says nothing of their order.
    pub number: u32,
    /// The batch.
    pub batch: &'a Batch,
    /// The parts concerned; all of them for sowing.
    pub parts: Vec<TaskPart<'a>>,
}

/// A part of a batch in a task.
#[derive(Debug, Clone, Copy)]
pub struct TaskPart<'a> {
    /// The part.
    pub part: &'a Part,
    /// What is harvested, if the task is a harvest.
    pub harvest: Option<&'a Harvest>,
}

/// Plants of a task with which the same is done in one tank, from however many parts they come.
#[derive(Debug, Clone)]
pub struct Handful<'a> {
    /// The tank.
    pub tank: &'a TankId,
    /// What [`TaskPart::way`] says.
    pub way: String,
    /// Whether the plants are only cut, so that they stay.
    pub cut: bool,
    /// How many.
    pub plants: u32,
    /// Where they stand or come to stand, sorted.
    pub holes: Vec<u32>,
    /// Holes kept empty beside them, sorted.
    pub kept_empty: Vec<u32>,
    /// Ready-to-eat grams expected.
    pub grams: f64,
}

impl<'a> Task<'a> {
    /// Its plants by tank and way. How a batch is divided into parts is the planner's affair: a class must not read
    /// it, and calendars must not change by it.
    pub fn handfuls(&self) -> Vec<Handful<'a>> {
        let mut handfuls: BTreeMap<(&TankId, String), Handful<'a>> = BTreeMap::new();
        for task in &self.parts {
            let TaskPart { part, harvest } = *task;
            let handful = handfuls.entry((&part.tank, task.way())).or_insert_with(|| Handful {
                tank: &part.tank,
                way: task.way(),
                cut: harvest.is_some_and(|harvest| harvest.way == Way::Cut),
                plants: 0,
                holes: Vec::new(),
                kept_empty: Vec::new(),
                grams: 0.0,
            });
            handful.plants += part.plants;
            handful.holes.extend(&part.holes);
            handful.kept_empty.extend(&part.kept_empty);
            handful.grams += harvest.map_or(0.0, |harvest| harvest.grams);
        }
        let mut handfuls: Vec<Handful<'a>> = handfuls.into_values().collect();
        for handful in &mut handfuls {
            handful.holes.sort_unstable();
            handful.kept_empty.sort_unstable();
        }
        handfuls
    }

    /// Plants handled.
    pub fn plants(&self) -> u32 {
        self.parts.iter().map(|task| task.part.plants).sum()
    }

    /// Ready-to-eat grams expected.
    pub fn grams(&self) -> f64 {
        self.harvests().map(|harvest| harvest.grams).sum()
    }

    /// Days after it during which all its greens may be served, if it is a harvest of that crop.
    pub fn keeps<'c>(&self, crop: &'c Crop) -> Option<&'c Figure<u32>> {
        let all = self.harvests().map(|harvest| crop.keeps(harvest.way, harvest.number));
        all.min_by_key(|figure| figure.value)
    }

    /// Ready-to-eat grams by serving day, apart for what keeps for different times (heads and leaves), by the days it keeps:
    /// they go into tubs of their own.
    pub fn tubs(&self, crop: &Crop) -> BTreeMap<u32, BTreeMap<NaiveDate, f64>> {
        let mut tubs: BTreeMap<u32, BTreeMap<NaiveDate, f64>> = BTreeMap::new();
        for harvest in self.harvests() {
            let tub = tubs.entry(crop.keeps(harvest.way, harvest.number).value).or_default();
            for served in &harvest.serves {
                *tub.entry(served.date).or_default() += served.grams;
            }
        }
        tubs
    }

    /// Its harvests; none unless the task is a harvest.
    pub fn harvests(&self) -> impl Iterator<Item = &Harvest> {
        self.parts.iter().filter_map(|task| task.harvest)
    }

    /// Ready-to-eat grams by serving day.
    pub fn serves(&self) -> BTreeMap<NaiveDate, f64> {
        let mut days = BTreeMap::new();
        for served in self.harvests().flat_map(|harvest| &harvest.serves) {
            *days.entry(served.date).or_insert(0.0) += served.grams;
        }
        days
    }
}

impl TaskPart<'_> {
    /// Harvests these plants give, those before the term included.
    pub fn harvests_in_all(&self) -> u32 {
        self.part.cuts_before + self.part.harvests.len() as u32
    }

    /// `whole heads`, `cut 1 of 3` or `last cut (3 of 3)`; empty unless this is a harvest.
    pub fn way(&self) -> String {
        let Some(harvest) = self.harvest else {
            return String::new();
        };
        let all = self.harvests_in_all();
        match (harvest.way, harvest.number) {
            (Way::Cut, number) => format!("cut {number} of {all}"),
            (Way::WholeHead, 1) => "whole heads".to_owned(),
            (Way::WholeHead, number) => format!("last cut ({number} of {all})"),
        }
    }
}

/// Every task of the plan by date, then site, kind and batch; of a term that goes on into the next one, until its last day.
pub fn tasks<'a>(term: &Term, plan: &'a Plan) -> Vec<Task<'a>> {
    let mut all: Vec<Task<'a>> = plan.batches.iter().flat_map(|batch| batch_tasks(term, batch)).collect();
    // Of seedlings that stand on into the next term, the rest is not this term's work.
    all.retain(|task| term.ahead.is_none() || task.date <= term.end);
    all.sort_by_key(|task| (task.date, &task.batch.site, task.kind.turn(), &task.batch.id));
    all
}

/// What is done with a batch, by kind and day. Plants that stood in a tank before the term count as moved there then.
pub(super) type TaskDays<'a> = BTreeMap<(TaskKind, NaiveDate), Vec<TaskPart<'a>>>;

pub(super) fn days(batch: &Batch) -> TaskDays<'_> {
    let mut days = TaskDays::new();
    for part in &batch.parts {
        let whole = TaskPart { part, harvest: None };
        if !batch.is_standing() {
            days.entry((TaskKind::Sow, batch.sown)).or_default().push(whole);
        }
        if !part.lost_in_nursery() && batch.origin != Origin::InCups {
            days.entry((TaskKind::Transplant, part.transplant)).or_default().push(whole);
        }
        for harvest in &part.harvests {
            days.entry((TaskKind::Harvest, harvest.date))
                .or_default()
                .push(TaskPart { part, harvest: Some(harvest) });
        }
    }
    days
}

/// The number of every task of a batch. Tasks without one follow on the last one in the order of their days, so that
/// the tasks of plans in which no numbers were kept count up from 1.
pub fn numbers(batch: &Batch) -> TaskNumbers {
    numbers_of(batch, &days(batch))
}

fn numbers_of(batch: &Batch, days: &TaskDays) -> TaskNumbers {
    let mut last: BTreeMap<TaskKind, u32> = BTreeMap::new();
    for ((kind, _), number) in &batch.task_numbers {
        let last = last.entry(*kind).or_insert(0);
        *last = (*last).max(*number);
    }
    let number = |key: &(TaskKind, NaiveDate)| {
        batch.task_numbers.get(key).copied().unwrap_or_else(|| {
            let last = last.entry(key.0).or_insert(0);
            *last = last.saturating_add(1);
            *last
        })
    };
    days.keys().copied().zip(days.keys().map(number)).collect()
}

fn batch_tasks<'a>(term: &Term, batch: &'a Batch) -> Vec<Task<'a>> {
    let in_tank_already = term
        .standing
        .iter()
        .any(|standing| standing.batch == batch.id && matches!(standing.stage, Stage::Tank { .. }));
    let days = days(batch);
    let numbers = numbers_of(batch, &days);
    days.into_iter()
        .zip(numbers.into_values())
        .map(|(((kind, date), parts), number)| Task { date, kind, number, batch, parts })
        .filter(|task| task.kind != TaskKind::Transplant || !in_tank_already)
        .collect()
}
