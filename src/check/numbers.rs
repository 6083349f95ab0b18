//! Every task of a batch has a number of its own, by which calendars know it.

use super::subject::{Known, Subject};
use super::violation::{Findings, Rule, Violation, say};
use crate::domain::task_numbers::TaskKind;
use chrono::NaiveDate;
use std::collections::{BTreeMap, BTreeSet};

pub(super) fn check(subject: &Subject<'_>, found: &mut Findings) {
    // Plans from before numbers were kept have none: their tasks are counted.
    for known in subject.batches.iter().filter(|known| !known.batch.task_numbers.is_empty()) {
        missing(known, found);
        twice(known, found);
    }
}

fn complain(known: &Known<'_>, day: NaiveDate, message: String) -> Violation {
    Violation::new(Rule::TaskNumbers, message).on(day).at(&known.site.id).of(&known.batch.id)
}

fn missing(known: &Known<'_>, found: &mut Findings) {
    for (kind, day) in tasks(known) {
        if !known.batch.task_numbers.contains_key(&(kind, day)) {
            let message = format!(
                "this {} has no number under task-numbers, but other tasks of the batch have; give it the number of the \
                 task it is in people's calendars, or one that was never given",
                word(kind)
            );
            found.push(complain(known, day, message));
        }
    }
}

fn twice(known: &Known<'_>, found: &mut Findings) {
    let mut days: BTreeMap<(TaskKind, u32), NaiveDate> = BTreeMap::new();
    for ((kind, day), number) in &known.batch.task_numbers {
        if let Some(other) = days.insert((*kind, *number), *day) {
            let message = format!(
                "this {} has the number {number} under task-numbers, as the one on {} has; every task needs one of \
                 its own",
                word(*kind),
                say(other)
            );
            found.push(complain(known, *day, message));
        }
    }
}

fn word(kind: TaskKind) -> &'static str {
    match kind {
        TaskKind::Sow => "sowing",
        TaskKind::Transplant => "transplanting",
        TaskKind::Harvest => "harvest",
    }
}

fn tasks(known: &Known<'_>) -> BTreeSet<(TaskKind, NaiveDate)> {
    let mut tasks = BTreeSet::new();
    for part in &known.parts {
        if !known.batch.is_standing() {
            tasks.insert((TaskKind::Sow, known.batch.sown));
        }
        if part.is_transplanted() {
            tasks.insert((TaskKind::Transplant, part.part.transplant));
        }
        tasks.extend(part.part.harvests.iter().map(|harvest| (TaskKind::Harvest, harvest.date)));
    }
    tasks
}
