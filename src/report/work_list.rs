//! Planned work as it is after what really happened.

use super::begin;
use super::cautions;
use super::grid::Grid;
use super::look::{Look, Mood};
use super::words::{self, counted, crop_name, numbers, short_day};
use crate::domain::growth::Way;
use crate::domain::plan::{Batch, Part, Plan};
use crate::domain::state::{Progress, Stand, State, Step};
use crate::domain::task_numbers::TaskKind;
use crate::domain::term::Term;
use chrono::NaiveDate;
use std::collections::BTreeSet;

/// A table of steps.
pub(super) fn table(term: &Term, plan: &Plan, state: &State, steps: &[&Step], look: &Look) -> String {
    let mut grid = Grid::new(look, &["When", "Task", "Batch", "Crop", "What to do", "Expect"]).right(&[5]);
    for step in steps {
        let crop = batch(plan, step).map_or("", |batch| crop_name(term, &batch.crop));
        let expect = if step.work == TaskKind::Harvest { look.grams(step.grams) } else { String::new() };
        grid.row([
            when(step, look),
            batch(plan, step)
                .map_or_else(|| step.work.to_string(), |batch| begin::kind(step.work, batch.origin)),
            step.batch.to_string(),
            crop.to_owned(),
            what_to_do(plan, state, step),
            expect,
        ]);
    }
    grid.draw(look)
}

fn when(step: &Step, look: &Look) -> String {
    match step.progress {
        Progress::Overdue => look.paint(Mood::Warn, &format!("since {}", short_day(step.day))),
        Progress::Due => "today".to_owned(),
        _ => short_day(step.day),
    }
}

/// What is to be done: `10 plugs x 2 seeds`, `9 plants to tank blue, holes 1-9`, `cut 6 plants in tank blue ...`.
fn what_to_do(plan: &Plan, state: &State, step: &Step) -> String {
    let plants = counted(step.number, "plant");
    let tank = step.tank.as_ref().map(ToString::to_string).unwrap_or_default();
    match step.work {
        TaskKind::Sow => {
            batch(plan, step).map_or_else(String::new, |batch| begin::work_line(batch, step.number))
        }
        TaskKind::Transplant => {
            let parts = || batch(plan, step).into_iter().flat_map(|batch| &batch.parts);
            let here = |part: &&Part| part.transplant == step.day && Some(&part.tank) == step.tank.as_ref();
            let mut holes: Vec<u32> =
                parts().filter(here).flat_map(|part| part.holes.iter().copied()).collect();
            let mut empty: Vec<u32> =
                parts().filter(here).flat_map(|part| part.kept_empty.iter().copied()).collect();
            holes.truncate(step.number as usize);
            holes.sort_unstable();
            empty.sort_unstable();
            let empty =
                if empty.is_empty() { String::new() } else { format!("; keep {} empty", numbers(&empty)) };
            format!("{plants} to tank {tank}, {}{empty}", words::holes(&holes))
        }
        TaskKind::Harvest => {
            let way = if step.way == Some(Way::Cut) { "cut" } else { "pull" };
            let holes = standing_holes(plan, state, step);
            let holes = if holes.is_empty() { String::new() } else { format!(", {}", words::holes(&holes)) };
            // What was put off serves what a plan made again will say.
            let meant = serves(plan, step);
            let meant = meant.map_or_else(String::new, |days| format!("; {}", words::meant_for(days)));
            format!("{way} {plants} in tank {tank}{holes}{meant}")
        }
    }
}

/// The work in a few words: `sow 10 plugs x 2 seeds`, `move 9 plants to tank blue ...`.
pub(super) fn in_words(plan: &Plan, state: &State, step: &Step) -> String {
    let lead = match step.work {
        TaskKind::Sow if batch(plan, step).is_some_and(|batch| batch.origin.is_bought()) => "take in ",
        TaskKind::Sow => "sow ",
        TaskKind::Transplant => "move ",
        TaskKind::Harvest => "",
    };
    format!("{lead}{}", what_to_do(plan, state, step))
}

/// The serving days that the plan means a harvest for; `None` if it has no such harvest.
fn serves(plan: &Plan, step: &Step) -> Option<BTreeSet<NaiveDate>> {
    let parts = batch(plan, step).into_iter().flat_map(|batch| &batch.parts);
    let here = parts.filter(|part| Some(&part.tank) == step.tank.as_ref());
    let same = here.flat_map(|part| &part.harvests);
    let mut same =
        same.filter(|harvest| harvest.date == step.day && Some(harvest.way) == step.way).peekable();
    same.peek()?;
    Some(same.flat_map(|harvest| &harvest.serves).map(|served| served.date).collect())
}

/// Holes of the plants a harvest is about.
fn standing_holes(plan: &Plan, state: &State, step: &Step) -> Vec<u32> {
    let Some((planned, stands)) = batch(plan, step).zip(state.batch(&step.batch)) else {
        return Vec::new();
    };
    let concerned = |stand: &&Stand, part: &Part| {
        let mut harvests = part.harvests.iter().skip(stand.harvests_done);
        harvests.any(|harvest| harvest.date == step.day && Some(harvest.way) == step.way)
    };
    let mut holes: Vec<u32> = stands
        .stands
        .iter()
        .filter(|stand| Some(&stand.tank) == step.tank.as_ref())
        .filter(|stand| {
            stand.part.and_then(|part| planned.parts.get(part)).is_some_and(|part| concerned(stand, part))
        })
        .flat_map(|stand| stand.holes.iter().copied())
        .collect();
    holes.sort_unstable();
    holes
}

/// The planned batch of a step.
fn batch<'a>(plan: &'a Plan, step: &Step) -> Option<&'a Batch> {
    plan.batches.iter().find(|batch| batch.id == step.batch)
}

/// How to cut, and the cautions, as far as these steps need them.
pub(super) fn notes(plan: &Plan, steps: &[&Step], look: &Look) -> String {
    let mut text = String::new();
    for (work, caution) in [
        (TaskKind::Sow, cautions::SOWING),
        (TaskKind::Transplant, cautions::TANK),
        (TaskKind::Harvest, cautions::HARVEST),
    ] {
        let bought = |step: &Step| batch(plan, step).is_some_and(|batch| batch.origin.is_bought());
        if steps.iter().any(|step| step.work == work && !(work == TaskKind::Sow && bought(step))) {
            text.push_str(&look.wrap(caution));
        }
        if steps.iter().any(|step| work == TaskKind::Sow && step.work == work && bought(step)) {
            text.push_str(&look.wrap(begin::BOUGHT));
        }
    }
    text.push_str(&look.wrap(cautions::LOCAL_RULES));
    text
}
