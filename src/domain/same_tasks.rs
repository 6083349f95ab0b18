//! Which tasks of a new plan are those that people know from the plan before, so that they keep their numbers.
//!
//! A task on a day of the old plan is the task of that day. Then work that was done otherwise than planned is the task
//! whose plants it took; what is still to be done on a new day is one of the tasks still to come that are gone, rather
//! one of the same plants and then the nearest. Whatever is left over is new.

use super::calendar::days_between;
use super::ids::{BatchId, TankId};
use super::plan::{Batch, Plan};
use super::task_numbers::{TaskKind, TaskNumbers};
use super::tasks::{TaskPart, days, numbers};
use chrono::NaiveDate;
use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet};

/// A task of a batch: at most one of a kind falls on a day.
type Key = (TaskKind, NaiveDate);

/// Which tasks of `new`, a batch of a new plan, are which of `old`, the same batch in the plan before: the key is that of
/// the new task. What lies before `today` is past.
pub fn same_tasks(old: &Batch, new: &Batch, today: Option<NaiveDate>) -> BTreeMap<Key, Key> {
    let (before, after) = (days(old), days(new));
    let mut same: BTreeMap<Key, Key> =
        after.keys().filter(|key| before.contains_key(key)).map(|key| (*key, *key)).collect();
    let mut gone: BTreeSet<Key> = before.keys().filter(|key| !same.contains_key(key)).copied().collect();
    let is_past = |key: &Key| today.is_some_and(|today| key.1 < today);
    let mut pair = |fits: &dyn Fn(&Key, &Key, usize) -> bool| {
        let mut likely = Vec::new();
        for (now, parts) in after.iter().filter(|(now, _)| !same.contains_key(now)) {
            for then in gone.iter().filter(|then| then.0 == now.0) {
                let shared = shared(now.0, &before[then], parts);
                if fits(then, now, shared) {
                    likely.push((Reverse(shared), days_between(then.1, now.1).abs(), *then, *now));
                }
            }
        }
        likely.sort_unstable();
        for (_, _, then, now) in likely {
            if gone.contains(&then) && !same.contains_key(&now) {
                gone.remove(&then);
                same.insert(now, then);
            }
        }
    };
    pair(&|_, now, shared| is_past(now) && shared > 0);
    // As many as there are, so that the search can count them without knowing holes (`schedule/search/habit.rs`).
    pair(&|then, now, _| !is_past(then) && !is_past(now));
    pair(&|_, _, shared| shared > 0);
    same
}

/// Plants that two tasks of a batch have in common; seedlings cannot be told apart.
fn shared(kind: TaskKind, old: &[TaskPart], new: &[TaskPart]) -> usize {
    if kind == TaskKind::Harvest {
        return holes(old).intersection(&holes(new)).count();
    }
    let plants = |parts: &[TaskPart]| parts.iter().map(|task| task.part.plants as usize).sum::<usize>();
    plants(old).min(plants(new))
}

fn holes<'a>(parts: &[TaskPart<'a>]) -> BTreeSet<(&'a TankId, u32)> {
    let holes = |task: &TaskPart<'a>| {
        let part = task.part;
        part.holes.iter().map(|hole| (&part.tank, *hole))
    };
    parts.iter().flat_map(holes).collect()
}

impl Plan {
    /// Gives every task the number it had in the plan before, and new tasks numbers that no task of their batch ever
    /// had. What lies before `today` is past.
    pub fn number_tasks(&mut self, before: Option<&Self>, today: Option<NaiveDate>) {
        for batch in &mut self.batches {
            batch.task_numbers = numbered(batch, before, today);
        }
        if let Some(before) = before {
            self.keep_last_task_numbers(before);
        }
    }

    /// Remembers the numbers that another plan of the term has given to tasks, so that they do not come back.
    pub fn keep_last_task_numbers(&mut self, other: &Self) {
        let batches =
            other.batches.iter().flat_map(|batch| TaskKind::ALL.map(|kind| (batch.id.clone(), kind)));
        let given = [&*self, other].into_iter().flat_map(|plan| plan.last_task_numbers.keys().cloned());
        let all: BTreeSet<(BatchId, TaskKind)> = batches.chain(given).collect();
        for (id, kind) in all {
            let own =
                self.batches.iter().find(|batch| batch.id == id).map_or(0, |batch| highest(batch, kind));
            let last = self.last_task_number(&id, kind).max(other.last_task_number(&id, kind));
            if last > own {
                self.last_task_numbers.insert((id, kind), last);
            } else {
                self.last_task_numbers.remove(&(id, kind));
            }
        }
    }

    /// The highest number that a task of the batch had in this plan or one before it; 0 if there was none.
    pub fn last_task_number(&self, id: &BatchId, kind: TaskKind) -> u32 {
        let batch = self.batches.iter().find(|batch| batch.id == *id);
        let remembered = self.last_task_numbers.get(&(id.clone(), kind)).copied();
        batch.map_or(0, |batch| highest(batch, kind)).max(remembered.unwrap_or(0))
    }
}

fn highest(batch: &Batch, kind: TaskKind) -> u32 {
    let numbers = numbers(batch).into_iter().chain(batch.task_numbers.clone());
    numbers.filter(|((other, _), _)| *other == kind).map(|(_, number)| number).max().unwrap_or(0)
}

fn numbered(batch: &Batch, plan_before: Option<&Plan>, today: Option<NaiveDate>) -> TaskNumbers {
    let days = days(batch);
    let mut found = TaskNumbers::new();
    if let Some(before) = plan_before.and_then(|plan| plan.batches.iter().find(|other| other.id == batch.id))
    {
        let known = numbers(before);
        if days.keys().eq(known.keys()) {
            return before.task_numbers.clone();
        }
        found.extend(same_tasks(before, batch, today).into_iter().map(|(now, then)| (now, known[&then])));
    }
    let mut last: BTreeMap<TaskKind, u32> = BTreeMap::new();
    for key in days.keys() {
        found.entry(*key).or_insert_with(|| {
            let given = || plan_before.map_or(0, |plan| plan.last_task_number(&batch.id, key.0));
            let last = last.entry(key.0).or_insert_with(given);
            *last = last.saturating_add(1);
            *last
        });
    }
    found
}

#[cfg(test)]
mod tests;
