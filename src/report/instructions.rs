//! A task in sentences a class can act on.

use super::cautions;
use super::look::Look;
use super::words::{counted, crop_name, holes, left, long_day, numbers, taken};
use crate::domain::crop::Crop;
use crate::domain::growth::Way;
use crate::domain::tasks::{Task, TaskKind, TaskPart};
use crate::domain::term::Term;

/// The task in a few words: `Sow Oakleaf (b-0007): 14 plugs x 3 seeds`.
pub fn title(term: &Term, task: &Task) -> String {
    let crop = crop_name(term, &task.batch.crop);
    let id = &task.batch.id;
    let plants = counted(task.plants(), "plant");
    match task.kind {
        TaskKind::Sow => format!("Sow {crop} ({id}): {}", plugs(task)),
        TaskKind::Transplant => format!("Transplant {crop} ({id}): {plants}"),
        TaskKind::Harvest => {
            let mut ways: Vec<String> = task.parts.iter().map(TaskPart::way).collect();
            ways.dedup();
            format!("Harvest {crop} ({id}): {plants}, {}", ways.join("; "))
        }
    }
}

/// What to do, what to expect and what to mind, one sentence or two a line.
pub fn body(term: &Term, task: &Task, look: &Look) -> String {
    let crop = term.crop(&task.batch.crop).map(|wanted| &wanted.crop);
    let mut lines = match task.kind {
        TaskKind::Sow => sow(term, task, crop),
        TaskKind::Transplant => transplant(term, task),
        TaskKind::Harvest => harvest(term, task, crop, look),
    };
    if let Some(allergy) = crop.and_then(|crop| crop.allergy.as_ref()) {
        lines.push(format!("Allergies: {}", allergy.value));
    }
    lines.push(cautions::LOCAL_RULES.to_owned());
    lines.join("\n")
}

fn plugs(task: &Task) -> String {
    format!("{} x {}", counted(task.batch.plugs, "plug"), counted(task.batch.seeds_per_plug, "seed"))
}

fn sow(term: &Term, task: &Task, crop: Option<&Crop>) -> Vec<String> {
    let batch = task.batch;
    let mut lines = vec![
        format!("Crop: {}. Batch: {}.", crop_name(term, &batch.crop), batch.id),
        format!("Sow {} = {}.", plugs(task), counted(batch.seeds(), "seed")),
        format!("Label the tray with {} and today's date.", batch.id),
    ];
    if let Some(crop) = crop {
        lines.push(format!(
            "Keep the plugs moist. Seedlings usually show after {}.",
            counted(crop.emergence.value.usual, "day")
        ));
    }
    let moves: Vec<String> = batch.move_days().into_iter().map(long_day).collect();
    lines.push(format!(
        "They move to the tank on {} ({}).",
        super::words::and(&moves),
        counted(batch.plants(), "plant")
    ));
    lines.push(cautions::SOWING.to_owned());
    lines
}

fn transplant(term: &Term, task: &Task) -> Vec<String> {
    let mut lines = vec![
        format!("Crop: {}. Batch: {}.", crop_name(term, &task.batch.crop), task.batch.id),
        format!("Move {} from the nursery, the strongest first.", counted(task.plants(), "plant")),
    ];
    for TaskPart { part, .. } in &task.parts {
        let mut line = format!("Tank {}, {}", part.tank, holes(&part.holes));
        if !part.kept_empty.is_empty() {
            line = format!("{line}; leave {} empty beside them", numbers(&part.kept_empty));
        }
        lines.push(format!("{line}."));
    }
    lines.push(cautions::TANK.to_owned());
    lines
}

fn harvest(term: &Term, task: &Task, crop: Option<&Crop>, look: &Look) -> Vec<String> {
    let mut lines = vec![format!("Crop: {}. Batch: {}.", crop_name(term, &task.batch.crop), task.batch.id)];
    lines.extend(task.parts.iter().map(|part| harvest_part(part, crop)));
    lines.push(format!("Expect about {} ready to eat.", look.grams(task.grams())));
    for (date, grams) in task.serves() {
        lines.push(format!("For {}: {}.", long_day(date), look.grams(grams)));
    }
    if let Some(crop) = crop {
        lines.push(format!(
            "Store at about {}; serve within {}.",
            crop.storage.value.show(look.units),
            counted(crop.shelf_life.value, "day")
        ));
    }
    lines.push("Weigh what you harvest and write it down.".to_owned());
    lines.push(cautions::HARVEST.to_owned());
    lines
}

fn harvest_part(task: &TaskPart, crop: Option<&Crop>) -> String {
    let part = task.part;
    let place = format!("Tank {}, {}, {}", part.tank, holes(&part.holes), task.way());
    let plants = counted(part.plants, "plant");
    let pulls = task.harvest.is_none_or(|harvest| harvest.way == Way::WholeHead);
    if pulls {
        return format!("{place}: pull {plants}, roots off. The holes are free afterwards.");
    }
    let share =
        crop.and_then(|crop| crop.regrowth.as_ref()).map_or(2.0 / 3.0, |regrowth| regrowth.taken.value);
    format!(
        "{place}: cut {plants}. Take {} of the leaves, leave {} with the heart so that the plants grow \
         again.",
        taken(share),
        left(share)
    )
}
