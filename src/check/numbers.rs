//! Every task of a batch has a number of its own, by which calendars know it, and no number comes back: the highest ever
//! given are kept.

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
        last_of_tasks(subject, known, found);
    }
    last_of_batches(subject, found);
}

/// The highest number given to a batch is no lower than those in use.
fn last_of_batches(subject: &Subject<'_>, found: &mut Findings) {
    let last = subject.plan.last_number;
    let numbered = subject.plan.batches.iter().filter_map(|batch| Some((batch.number()?, batch)));
    if let Some((number, batch)) =
        numbered.max_by_key(|(number, _)| *number).filter(|(number, _)| *number > last)
    {
        let message = format!(
            "the plan has this batch, but {last} as the highest number that a batch ever had; make it \
             \"last-number: {number}\", so that no id comes back for other plants"
        );
        found.push(Violation::new(Rule::LastNumbers, message).on(batch.sown).at(&batch.site).of(&batch.id));
    }
}

/// The highest number given to a batch's tasks is no lower than those in use.
fn last_of_tasks(subject: &Subject<'_>, known: &Known<'_>, found: &mut Findings) {
    for kind in TaskKind::ALL {
        let of_kind = known.batch.task_numbers.iter().filter(|((other, _), _)| *other == kind);
        let highest = of_kind.max_by_key(|(_, number)| **number);
        let last = subject.plan.last_task_numbers.get(&(known.batch.id.clone(), kind));
        let (Some(((_, day), number)), Some(last)) = (highest, last) else { continue };
        if number > last {
            let message = format!(
                "this {} has the number {number}, but under last-task-numbers {last} is the highest ever given to one of \
                 this batch; take that out there, or make it {number}",
                word(kind)
            );
            found.push(Violation { rule: Rule::LastNumbers, ..complain(known, *day, message) });
        }
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
