//! The harvest sheet: what is cut or pulled on a day, what to expect of it, what it really was, and how it is kept.

use super::lid_map::{self, Mark, Scale, Use};
use super::page::{Sheet, Turn};
use super::parts::{glued, mass};
use super::{Kind, Setting, parts};
use crate::domain::calendar::plus_days;
use crate::domain::crop::{Crop, Source};
use crate::domain::growth::Way;
use crate::domain::ids::TankId;
use crate::domain::lid::Lid;
use crate::domain::plan::Part;
use crate::domain::tasks::Handful;
use crate::domain::units::Units;
use crate::report::cautions::{HARVEST_POINTS, HARVEST_SOURCE, warmer};
use crate::report::words::{counted, crop_name, day as short, left, taken};
use crate::report::work::{Task, TaskKind};
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
    let lines = HARVEST_POINTS.map(ToString::to_string);
    let mut notes = parts::allergies(crops.clone());
    notes.extend(crops.filter_map(|crop| warmer(crop, setting.wish.units)));
    notes.dedup();
    let body = html! {
        (parts::intro(setting, Kind::Harvest, day, &people(), &lines))
        (parts::crop_notes(&notes))
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
    let name = format!("{}, {}", task.batch.id, crop_name(setting.term, &task.batch.crop));
    html! {
        section.card.long {
            h2 { (name) }
            div.tanks { @for tank in tanks(task) { (tank_block(setting, task, tank)) } }
            @if let Some(regrowth) = regrowth {
                p { "What was cut grows back in about " (counted(regrowth, "day")) "." }
            }
            (samples(task, &name, units))
            div.whole.with-above {
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

/// What is done in a tank, and where.
fn tank_block(setting: &Setting<'_>, task: &Task<'_>, id: &TankId) -> Markup {
    let lid = setting.site.tank(id).map(|tank| &tank.lid);
    html! {
        div.whole.wide[lid.is_some_and(is_wide)] {
            h3 { "Tank " (id) }
            @for handful in task.handfuls().iter().filter(|handful| handful.tank == id) {
                p { (instruction(setting, task, handful)) }
            }
            @if let Some(lid) = lid { (map(setting, task, id, lid)) }
        }
    }
}

/// Whether a lid's map needs more than half of the card.
fn is_wide(lid: &Lid) -> bool {
    lid.columns > 9
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

/// Whether any of its plants are cut and stay.
fn cuts(task: &Task<'_>) -> bool {
    task.harvests().any(|harvest| harvest.way == Way::Cut)
}

fn instruction(setting: &Setting<'_>, task: &Task<'_>, handful: &Handful<'_>) -> Markup {
    let share =
        crop(setting, task).and_then(|crop| crop.regrowth.as_ref()).map(|regrowth| regrowth.taken.value);
    html! {
        b {
            @if handful.cut { "Cut " } @else { "Pull " }
            (counted(handful.plants, "plant")) ", " (parts::hole_runs(&handful.holes))
        }
        ", " (handful.way) ": "
        @if let (true, Some(share)) = (handful.cut, share) {
            "take " (taken(share)) " of the leaves, leave " (left(share)) " with the heart. "
        } @else {
            "lift the whole plant out, roots off. "
        }
        "Expect about " (mass(handful.grams, setting.wish.units)) " ready to eat."
    }
}

/// The lid before the harvest.
fn map(setting: &Setting<'_>, task: &Task<'_>, id: &TankId, lid: &Lid) -> Markup {
    let mut marks = vec![Mark::FREE; lid.holes() as usize];
    let there = |part: &Part| {
        part.tank == *id && part.transplant < task.date && part.leaves().is_none_or(|day| task.date <= day)
    };
    let here = setting.plan.batches.iter().filter(|batch| batch.site == setting.site.id);
    for part in here.flat_map(|batch| &batch.parts).filter(|part| there(part)) {
        parts::set(&mut marks, &part.holes, Mark { purpose: Use::Stands, batch: None, word: "" });
        parts::set(&mut marks, &part.kept_empty, Mark { word: "", ..Mark::KEPT_EMPTY });
    }
    for handful in task.handfuls().iter().filter(|handful| handful.tank == id) {
        let word = if handful.cut { "cut" } else { "pull" };
        parts::set(&mut marks, &handful.holes, Mark { purpose: Use::Today, batch: None, word });
    }
    let (width, _) = setting.wish.paper.room(Turn::Portrait);
    // Half of the card, its frame left out, unless the lid is wider.
    let room = if is_wide(lid) { width - 8.0 } else { width / 2.0 - 7.0 };
    lid_map::draw(lid, &marks, Scale::Small, room)
}

/// Holes of the plants to measure, spread over all that are harvested.
fn sampled(task: &Task<'_>) -> Vec<(String, u32)> {
    let mut all: Vec<(&TankId, u32)> = task
        .parts
        .iter()
        .flat_map(|part| part.part.holes.iter().map(|hole| (&part.part.tank, *hole)))
        .collect();
    all.sort_unstable();
    let count = SAMPLES.min(all.len());
    let place = |n: usize| if count < 2 { 0 } else { n * (all.len() - 1) / (count - 1) };
    (0..count).map(|n| all[place(n)]).map(|(tank, hole)| (tank.to_string(), hole)).collect()
}

/// The plants to measure. Its head names the batch, because it is repeated where the table goes on on another page.
fn samples(task: &Task<'_>, name: &str, units: Units) -> Markup {
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
    let plants = sampled(task);
    html! {
        table.samples {
            thead {
                tr { th.plants colspan="10" { (name) ": measure " (counted(plants.len() as u32, "plant")) } }
                tr {
                    @for (name, unit) in what { th colspan="2" { (name) br; "(" (unit) ")" } }
                }
                tr { @for _ in what { th.half { "estimate" } th.half { "measured" } } }
            }
            @for (tank, hole) in plants {
                tbody {
                    tr {
                        td.why colspan="10" {
                            b { @if !one_tank { "Tank " (tank) ", hole " (hole) } @else { "Hole " (hole) } }
                            ". Why I think so:"
                        }
                    }
                    tr.blank { @for _ in what { td.guess {} td {} } }
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
                    @for (task, crop) in tasks.iter().filter_map(|task| Some((task, crop(setting, task)?))) {
                        @for (keeps, serves) in task.tubs(crop) {
                            tr {
                                td { b { (task.batch.id) } " " (crop_name(setting.term, &task.batch.crop)) }
                                td { (glued(&crop.storage.value.show(units).to_string())) }
                                td { b { (short(plus_days(day, keeps))) } }
                                td {
                                    @for (date, grams) in serves {
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
}

/// What the sheet says of the crops, with where it comes from.
fn figures<'a>(setting: &Setting<'a>, tasks: &[&Task<'_>]) -> Vec<(String, &'a Source)> {
    let mut figures = Vec::new();
    for task in tasks {
        let Some(crop) = crop(setting, task) else { continue };
        let keeps = task.keeps(crop).map(|keeps| (format!("{}, days to use by", crop.name), &keeps.source));
        figures.extend(keeps);
        figures.push((format!("{}, storage", crop.name), &crop.storage.source));
        if let Some(handling) = crop.handling.as_ref().filter(|_| warmer(crop, setting.wish.units).is_some())
        {
            figures.push((format!("{}, handling", crop.name), &handling.source));
        }
        if let Some(regrowth) = crop.regrowth.as_ref().filter(|_| cuts(task)) {
            figures.push((format!("{}, share to cut", crop.name), &regrowth.taken.source));
            figures.push((format!("{}, days to grow back", crop.name), &regrowth.interval.source));
        }
    }
    figures
}
