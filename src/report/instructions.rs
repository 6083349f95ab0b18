//! A task in sentences a class can act on.

use super::begin;
use super::cautions;
use super::look::Look;
use super::tank_work;
use super::words::{and, counted, crop_name, holes, left, long_day, numbers, taken};
use crate::domain::crop::Crop;
use crate::domain::plan::{Batch, Origin, Plan};
use crate::domain::tasks::{Handful, Task, TaskKind};
use crate::domain::term::Term;
use chrono::NaiveDate;

/// The task in a few words: `Sow Oakleaf (b-0007): 14 plugs x 3 seeds`.
pub fn title(term: &Term, task: &Task) -> String {
    let crop = crop_name(term, &task.batch.crop);
    let id = &task.batch.id;
    let plants = counted(task.plants(), "plant");
    match task.kind {
        TaskKind::Sow => {
            let does = if task.batch.origin.is_bought() { "Take in" } else { "Sow" };
            format!("{does} {crop} ({id}): {}", begin::amount(task.batch, task.batch.plugs))
        }
        TaskKind::Transplant => format!("Transplant {crop} ({id}): {plants}"),
        TaskKind::Harvest => {
            let mut ways: Vec<String> = task.handfuls().into_iter().map(|handful| handful.way).collect();
            ways.sort();
            ways.dedup();
            format!("Harvest {crop} ({id}): {plants}, {}", ways.join("; "))
        }
    }
}

/// What to do, what to expect and what to mind, one sentence or two a line; also what is done with the site's tanks that day.
pub fn body(term: &Term, plan: &Plan, task: &Task, look: &Look) -> String {
    let crop = term.crop(&task.batch.crop).map(|wanted| &wanted.crop);
    let mut lines = match task.kind {
        TaskKind::Sow => sow(term, task, crop),
        TaskKind::Transplant => transplant(term, task),
        TaskKind::Harvest => harvest(term, task, crop, look),
    };
    if let Some(allergy) = crop.and_then(|crop| crop.allergy.as_ref()) {
        lines.push(format!("Allergies: {}", allergy.value));
    }
    let site = term.site(&task.batch.site);
    lines.extend(site.and_then(|site| tank_work::sentence(term, plan, site, task.date)));
    lines.push(cautions::LOCAL_RULES.to_owned());
    lines.join("\n")
}

fn sow(term: &Term, task: &Task, crop: Option<&Crop>) -> Vec<String> {
    let batch = task.batch;
    let amount = begin::amount(batch, batch.plugs);
    let mut lines = vec![format!("Crop: {}. Batch: {}.", crop_name(term, &batch.crop), batch.id)];
    match batch.origin {
        Origin::Bought { .. } => {
            lines.push(format!("Take in {amount}, and set them into the nursery."));
            lines.push(format!("Label them with {} and today's date.", batch.id));
            lines.push(moves(batch, long_day));
            lines.push(begin::BOUGHT.to_owned());
            return lines;
        }
        Origin::InCups => {
            lines.push(format!(
                "Sow {amount} = {}, straight into {}.",
                counted(batch.seeds(), "seed"),
                begin::places(task.batch)
            ));
            lines.extend(crop.and_then(|crop| crop.in_cups.as_ref()).map(|how| how.value.clone()));
            lines.push(format!("Label the tank with {} and today's date.", batch.id));
            lines.push(cautions::SOWING.to_owned());
            lines.push(cautions::TANK.to_owned());
            return lines;
        }
        Origin::Sown | Origin::Standing => {
            lines.push(format!("Sow {amount} = {}.", counted(batch.seeds(), "seed")));
            lines.push(format!("Label the tray with {} and today's date.", batch.id));
        }
    }
    if let Some(crop) = crop {
        lines.push(format!(
            "Keep the plugs moist. Seedlings usually show after {}.",
            counted(crop.emergence.value.usual, "day")
        ));
    }
    lines.push(moves(batch, long_day));
    lines.push(cautions::SOWING.to_owned());
    lines
}

/// When the seedlings move to the tanks.
pub fn moves(batch: &Batch, day: fn(NaiveDate) -> String) -> String {
    let days: Vec<String> = batch.move_days().into_iter().map(day).collect();
    if days.is_empty() {
        return "They were lost in the nursery: none moves to a tank.".to_owned();
    }
    let moved = batch.parts.iter().filter(|part| !part.lost_in_nursery());
    let plants = counted(moved.map(|part| part.plants).sum(), "plant");
    format!("They move to the tank on {} ({plants}).", and(&days))
}

fn transplant(term: &Term, task: &Task) -> Vec<String> {
    let mut lines = vec![
        format!("Crop: {}. Batch: {}.", crop_name(term, &task.batch.crop), task.batch.id),
        format!("Move {} from the nursery, the strongest first.", counted(task.plants(), "plant")),
    ];
    for handful in task.handfuls() {
        let mut line = format!("Tank {}, {}", handful.tank, holes(&handful.holes));
        if !handful.kept_empty.is_empty() {
            line = format!("{line}; leave {} empty beside them", numbers(&handful.kept_empty));
        }
        lines.push(format!("{line}."));
    }
    lines.push(cautions::TANK.to_owned());
    lines
}

fn harvest(term: &Term, task: &Task, crop: Option<&Crop>, look: &Look) -> Vec<String> {
    let mut lines = vec![format!("Crop: {}. Batch: {}.", crop_name(term, &task.batch.crop), task.batch.id)];
    lines.extend(task.handfuls().iter().map(|handful| harvest_handful(handful, crop)));
    lines.push(format!("Expect about {} ready to eat.", look.grams(task.grams())));
    // Heads and leaves that keep for different times go into tubs of their own.
    for (crop, (keeps, serves)) in
        crop.iter().flat_map(|crop| task.tubs(crop).into_iter().map(move |tub| (crop, tub)))
    {
        for (date, grams) in serves {
            lines.push(format!("For {}: {}.", long_day(date), look.grams(grams)));
        }
        lines.push(format!(
            "Store at about {}; serve within {}.",
            crop.storage.value.show(look.units),
            counted(keeps, "day")
        ));
    }
    lines.push("Weigh what you harvest and write it down.".to_owned());
    lines.push(cautions::HARVEST.to_owned());
    lines.extend(crop.and_then(|crop| cautions::warmer(crop, look.units)));
    lines
}

fn harvest_handful(handful: &Handful, crop: Option<&Crop>) -> String {
    let place = format!("Tank {}, {}, {}", handful.tank, holes(&handful.holes), handful.way);
    let plants = counted(handful.plants, "plant");
    if !handful.cut {
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
