//! The harvest sheet: what is cut or pulled on a day, what to expect of it, what it really was, and how it is kept.

use super::lid_map::{self, Mark, Scale, Use};
use super::page::{Sheet, Turn};
use super::parts::{glued, mass};
use super::{Kind, Setting, parts};
use crate::domain::calendar::plus_days;
use crate::domain::crop::{Crop, Source};
use crate::domain::growth::Way;
use crate::domain::ids::TankId;
use crate::domain::plan::Part;
use crate::domain::units::Units;
use crate::report::cautions::{HARVEST_POINTS, HARVEST_SOURCE};
use crate::report::words::{counted, crop_name, day as short, left, taken};
use crate::report::work::{Task, TaskKind, TaskPart};
use chrono::NaiveDate;
use maud::{Markup, html};

/// Plants of a batch that are measured.
const SAMPLES: usize = 3;

/// The sheet of a day, if anything is harvested on it.
pub(super) fn sheet(setting: &Setting<'_>, tasks: &[Task<'_>], day: NaiveDate) -> Option<Sheet> {
    let tasks: Vec<&Task<'_>> = tasks.iter().filter(|task| task.kind == TaskKind::Harvest).collect();
    if tasks.is_empty() {
        return None;
    }
    let crops = tasks.iter().filter_map(|task| crop(setting, task));
    let mut lines: Vec<String> = HARVEST_POINTS.iter().map(ToString::to_string).collect();
    lines.extend(parts::allergies(crops));
    let body = html! {
        (parts::intro(setting, Kind::Harvest, day, &people(), &lines))
        (lid_map::legend(&[Use::Today, Use::Stands, Use::KeptEmpty, Use::Free], "harvest today"))
        @for task in &tasks { (card(setting, task)) }
        (keeping(setting, &tasks, day))
        (parts::sources(&figures(setting, &tasks), &[HARVEST_SOURCE]))
    };
    Some(Sheet::new(format!("Harvest, {}", setting.site.name), parts::on(day), body))
}

fn crop<'a>(setting: &Setting<'a>, task: &Task<'_>) -> Option<&'a Crop> {
    setting.term.crop(&task.batch.crop).map(|wanted| &wanted.crop)
}

fn people() -> Markup {
    html! {
        h3 { "One cuts and measures" }
        (parts::write(&["Name"]))
        p { "Look, guess and say why. Then cut or pull, measure, and read the number out." }
        h3 { "One checks and writes" }
        (parts::write(&["Name"]))
        p { "Write the guess down before anything is cut. Repeat every number aloud." }
    }
}

fn card(setting: &Setting<'_>, task: &Task<'_>) -> Markup {
    let units = setting.wish.units;
    let regrowth = crop(setting, task).and_then(|crop| crop.regrowth.as_ref()).filter(|_| cuts(task));
    let regrowth = regrowth.map(|regrowth| regrowth.interval.value.usual);
    html! {
        section.card.long {
            h2 { (task.batch.id) ", " (crop_name(setting.term, &task.batch.crop)) }
            div.tanks {
                @for tank in tanks(task) {
                    div.whole {
                        h3 { "Tank " (tank) }
                        @for part in in_tank(task, tank) { p { (instruction(setting, part)) } }
                        (map(setting, task, tank))
                    }
                }
            }
            @if let Some(regrowth) = regrowth {
                p { "What was cut grows back in about " (counted(regrowth, "day")) "." }
            }
            div.whole {
            (samples(task, units))
            (parts::write(&[
                &format!("Plants harvested, of {}", task.plants()),
                "Plants dead or missing",
            ]))
            (parts::write(&[
                &format!("On the scales (about {})", mass(on_the_scales(task), units)),
                &format!("Ready to eat (about {})", mass(task.grams(), units)),
            ]))
            (parts::write(&["Roots, stalks and trimmings for compost", "Waste"]))
            }
        }
    }
}

/// Grams before trimming.
fn on_the_scales(task: &Task<'_>) -> f64 {
    task.harvests().map(|harvest| harvest.grams / harvest.arithmetic.ready_to_eat).sum()
}

fn tanks<'a>(task: &Task<'a>) -> Vec<&'a TankId> {
    let mut tanks: Vec<&TankId> = task.parts.iter().map(|task| &task.part.tank).collect();
    tanks.sort();
    tanks.dedup();
    tanks
}

fn in_tank<'a>(task: &'a Task<'a>, id: &'a TankId) -> impl Iterator<Item = &'a TaskPart<'a>> {
    task.parts.iter().filter(move |part| part.part.tank == *id)
}

fn pulls(part: &TaskPart<'_>) -> bool {
    part.harvest.is_none_or(|harvest| harvest.way == Way::WholeHead)
}

/// Whether any of its plants are cut and stay.
fn cuts(task: &Task<'_>) -> bool {
    !task.parts.iter().all(pulls)
}

fn instruction(setting: &Setting<'_>, part: &TaskPart<'_>) -> Markup {
    let plants = counted(part.part.plants, "plant");
    let share = part.harvest.map_or(1.0, |harvest| harvest.arithmetic.taken);
    let grams = part.harvest.map_or(0.0, |harvest| harvest.grams);
    html! {
        b {
            @if pulls(part) { "Pull " } @else { "Cut " }
            (plants) ", " (parts::hole_runs(&part.part.holes))
        }
        " (" (part.way()) "): "
        @if pulls(part) {
            "lift the whole plant out, roots off. "
        } @else {
            "take " (taken(share)) " of the leaves, leave " (left(share)) " with the heart. "
        }
        "Expect about " (mass(grams, setting.wish.units)) " ready to eat."
    }
}

/// The lid before the harvest.
fn map(setting: &Setting<'_>, task: &Task<'_>, id: &TankId) -> Markup {
    let Some(lid) = setting.site.tank(id).map(|tank| &tank.lid) else {
        return html! {};
    };
    let mut marks = vec![Mark::FREE; lid.holes() as usize];
    let there = |part: &Part| {
        part.tank == *id && part.transplant < task.date && part.leaves().is_none_or(|day| task.date <= day)
    };
    let here = setting.plan.batches.iter().filter(|batch| batch.site == setting.site.id);
    for part in here.flat_map(|batch| &batch.parts).filter(|part| there(part)) {
        parts::set(&mut marks, &part.holes, Mark { purpose: Use::Stands, batch: None, word: "" });
        parts::set(&mut marks, &part.kept_empty, Mark { word: "", ..Mark::KEPT_EMPTY });
    }
    for part in in_tank(task, id) {
        let word = if pulls(part) { "pull" } else { "cut" };
        parts::set(&mut marks, &part.part.holes, Mark { purpose: Use::Today, batch: None, word });
    }
    let (width, _) = setting.wish.paper.room(Turn::Portrait);
    // Half of the card, its frame left out, unless the lid is wider.
    let room = if lid.columns <= 8 { width / 2.0 - 7.0 } else { width - 8.0 };
    lid_map::draw(lid, &marks, Scale::Small, room)
}

/// Holes of the plants to measure, spread over all that are harvested.
fn sampled(task: &Task<'_>) -> Vec<(String, u32)> {
    let all: Vec<(&TankId, u32)> = task
        .parts
        .iter()
        .flat_map(|part| part.part.holes.iter().map(|hole| (&part.part.tank, *hole)))
        .collect();
    let count = SAMPLES.min(all.len());
    let place = |n: usize| if count < 2 { 0 } else { n * (all.len() - 1) / (count - 1) };
    (0..count).map(|n| all[place(n)]).map(|(tank, hole)| (tank.to_string(), hole)).collect()
}

fn samples(task: &Task<'_>, units: Units) -> Markup {
    let (length, weight) = match units {
        Units::Metric => ("cm", "g"),
        Units::Us => ("in", "oz"),
    };
    let what = [
        ("Height", length),
        ("Width", length),
        ("Leaves", "count"),
        ("Longest root", length),
        ("Mass", weight),
    ];
    let one_tank = tanks(task).len() == 1;
    html! {
        table.samples {
            thead {
                tr {
                    th.plant rowspan="2" { "Plant in" }
                    @for (name, unit) in what { th colspan="2" { (name) br; "(" (unit) ")" } }
                }
                tr { @for _ in what { th.half { "estimate" } th.half { "measured" } } }
            }
            @for (tank, hole) in sampled(task) {
                tbody {
                    tr.blank {
                        td rowspan="2" { b { @if !one_tank { (tank) br; } "hole" br; (hole) } }
                        @for _ in what { td.guess {} td {} }
                    }
                    tr { td.why colspan="10" { "Why I think so:" } }
                }
            }
        }
    }
}

/// Washing, cooling and using up.
fn keeping(setting: &Setting<'_>, tasks: &[&Task<'_>], day: NaiveDate) -> Markup {
    let units = setting.wish.units;
    html! {
        section.card {
            h2 { "Wash, dry, chill" }
            p {
                "Wash the greens in cold drinking water, let them drip or spin them dry, and put them into clean \
                 closed tubs with batch and date on them. They must be in the cold 4\u{a0}hours after the first cut at the latest."
            }
            (parts::write(&["First cut at", "Must be cold by", "Was cold at"]))
            (parts::write(&["Fridge shows", "Put there by"]))
            table {
                thead { tr { th { "Batch" } th { "Store at" } th { "Use by" } th { "Meant for" } } }
                tbody {
                    @for task in tasks {
                        @let crop = crop(setting, task);
                        tr {
                            td { b { (task.batch.id) } " " (crop_name(setting.term, &task.batch.crop)) }
                            td { (crop.map_or_else(String::new, |crop| glued(&crop.storage.value.show(units).to_string()))) }
                            td {
                                b {
                                    (crop.map_or_else(String::new, |crop| {
                                        short(plus_days(day, crop.shelf_life.value))
                                    }))
                                }
                            }
                            td {
                                @for (date, grams) in task.serves() {
                                    div { (short(date)) ": " (mass(grams, units)) }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// What the sheet says of the crops, with where it comes from.
fn figures<'a>(setting: &Setting<'a>, tasks: &[&Task<'_>]) -> Vec<(String, &'a Source)> {
    let mut figures = Vec::new();
    for task in tasks {
        let Some(crop) = crop(setting, task) else { continue };
        figures.push((format!("{}, days to use by", crop.name), &crop.shelf_life.source));
        figures.push((format!("{}, storage", crop.name), &crop.storage.source));
        if let Some(regrowth) = crop.regrowth.as_ref().filter(|_| cuts(task)) {
            figures.push((format!("{}, share to cut", crop.name), &regrowth.taken.source));
            figures.push((format!("{}, days to grow back", crop.name), &regrowth.interval.source));
        }
    }
    figures
}
