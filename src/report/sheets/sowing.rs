//! The sowing sheet: what a class sows on a day, and where in the nursery it goes.

use super::page::Sheet;
use super::{Kind, Setting, cell_stays, parts};
use crate::domain::calendar::plus_days;
use crate::domain::crop::Crop;
use crate::domain::plan::{Batch, Origin};
use crate::report::begin::{self, BOUGHT};
use crate::report::cautions::{SOWING, TANK};
use crate::report::instructions::moves;
use crate::report::words::{counted, crop_name, day as short, numbers, percent};
use crate::report::work::{Task, TaskKind};
use chrono::NaiveDate;
use maud::{Markup, html};

/// The sheet of a day, if anything is sown on it.
pub(super) fn sheet(setting: &Setting<'_>, tasks: &[Task<'_>], day: NaiveDate) -> Option<Sheet> {
    let begun: Vec<&Task<'_>> = tasks.iter().filter(|task| task.kind == TaskKind::Sow).collect();
    if begun.is_empty() {
        return None;
    }
    let (sown, bought): (Vec<&Task<'_>>, Vec<&Task<'_>>) =
        begun.into_iter().partition(|task| !task.batch.origin.is_bought());
    let batches = || sown.iter().chain(&bought).map(|task| task.batch);
    let crops: Vec<&Crop> =
        batches().filter_map(|batch| setting.term.crop(&batch.crop).map(|wanted| &wanted.crop)).collect();
    let figures: Vec<_> = crops
        .iter()
        .flat_map(|crop| {
            [
                (format!("{}, days until seedlings show", crop.name), &crop.emergence.source),
                (format!("{}, seeds in a plug", crop.name), &crop.seeds_per_plug.source),
            ]
        })
        .collect();
    let cups = sown.iter().any(|task| task.batch.origin == Origin::InCups);
    let plugs = sown.iter().any(|task| task.batch.origin != Origin::InCups);
    let cautions =
        [(!sown.is_empty()).then_some(SOWING), (!bought.is_empty()).then_some(BOUGHT), cups.then_some(TANK)];
    let cautions: Vec<String> = cautions.into_iter().flatten().map(str::to_owned).collect();
    let body = html! {
        (parts::intro(setting, Kind::Sowing, day, &steps(plugs, cups), &cautions))
        (parts::crop_notes(&parts::allergies(crops.iter().copied())))
        @for task in &sown { (card(setting, task)) }
        @for task in &bought { (taken_in(setting, task.batch)) }
        (parts::sources(&figures, &[]))
    };
    Some(Sheet::new(format!("Sowing, {}", setting.site.name), parts::on(day), body))
}

fn steps(plugs: bool, cups: bool) -> Markup {
    html! {
        ol {
            @if plugs {
                li { "Wet the plugs and set them into their cells of the nursery." }
                li { "Lay the seeds, so many in each plug. Count aloud." }
            }
            @if cups {
                li { "Sown straight into cups: wet their plugs or pads, lay the seeds, and set the cups into their holes." }
                li { "Cover each of these cups with foil or a cap until seedlings show." }
            }
            @if !plugs && !cups {
                li { "Count the seedlings and look each of them over." }
                li { "Set them into their cells of the nursery." }
            }
            li { "Put a label with the batch and today's date beside them." }
            li { "Write your names. Wash your hands." }
        }
    }
}

/// Seedlings that come.
fn taken_in(setting: &Setting<'_>, batch: &Batch) -> Markup {
    let facts = [("seedlings", batch.plugs.to_string()), ("nursery cells", cells(setting, batch))];
    html! {
        section.card {
            h2 { (batch.id) ", " (crop_name(setting.term, &batch.crop)) }
            (parts::facts(&facts))
            p { "Take in " (begin::amount(batch, batch.plugs)) ". " (moves(batch, short)) }
            (parts::write(&["Taken in by", "Seedlings"]))
        }
    }
}

/// What is sown straight into the cups of its tanks.
fn in_cups(setting: &Setting<'_>, task: &Task<'_>) -> Markup {
    let batch = task.batch;
    let crop = setting.term.crop(&batch.crop).map(|wanted| &wanted.crop);
    let facts = [
        ("cups", batch.plugs.to_string()),
        ("seeds in each cup", batch.seeds_per_plug.to_string()),
        ("seeds in all", batch.seeds().to_string()),
    ];
    html! {
        section.card {
            h2 { (batch.id) ", " (crop_name(setting.term, &batch.crop)) }
            (parts::facts(&facts))
            p { b { "Straight into cups, not into the nursery: " } (begin::places(batch)) "." }
            @if let Some(how) = crop.and_then(|crop| crop.in_cups.as_ref()) { p { (how.value) } }
            @if let Some(crop) = crop {
                p {
                    "Seedlings usually show after " (counted(crop.emergence.value.usual, "day"))
                    "; the plan counts on " (percent(crop.plants_per_plug())) " of the cups."
                }
            }
            (parts::write(&["Sown by", "Cups sown"]))
        }
    }
}

fn card(setting: &Setting<'_>, task: &Task<'_>) -> Markup {
    let batch = task.batch;
    if batch.origin == Origin::InCups {
        return in_cups(setting, task);
    }
    let crop = setting.term.crop(&batch.crop).map(|wanted| &wanted.crop);
    let mut facts = vec![
        ("plugs", batch.plugs.to_string()),
        ("seeds in each plug", batch.seeds_per_plug.to_string()),
        ("seeds in all", batch.seeds().to_string()),
        ("nursery cells", cells(setting, batch)),
    ];
    if let Some(crop) = crop {
        facts.push(("count what came up", count_on(setting, batch, crop)));
    }
    html! {
        section.card {
            h2 { (batch.id) ", " (crop_name(setting.term, &batch.crop)) }
            (parts::facts(&facts))
            @if let Some(crop) = crop {
                p {
                    "Seedlings usually show after " (counted(crop.emergence.value.usual, "day")) ". "
                    (moves(batch, short))
                }
            }
            (parts::write(&["Sown by", "Plugs sown"]))
            (parts::write(&["Counted by", "on", &format!("Came up, of {}", batch.plugs)]))
        }
    }
}

fn cells(setting: &Setting<'_>, batch: &Batch) -> String {
    let stays = cell_stays(setting.term, setting.plan, setting.site);
    let cells = stays.get(&batch.id).map_or(&[][..], |stay| &stay.cells);
    let missing = batch.plugs.saturating_sub(cells.len() as u32);
    match (cells.is_empty(), missing) {
        (true, _) => "no cell is free".to_owned(),
        (false, 0) => numbers(cells),
        (false, missing) => format!("{}; {missing} more are not free", numbers(cells)),
    }
}

/// The first class day on which all that will come up should have: later ones would be counted as lost.
fn count_on(setting: &Setting<'_>, batch: &Batch, crop: &Crop) -> String {
    let from = plus_days(batch.sown, crop.emergence.value.max);
    let class_day = setting.site.class_days.iter().find(|day| **day >= from);
    let moved = batch.move_days().first().copied();
    match (class_day, moved) {
        (Some(class_day), Some(moved)) => short(moved.min(*class_day)),
        (Some(day), None) => short(*day),
        (None, Some(moved)) => short(moved),
        (None, None) => "before the term ends".to_owned(),
    }
}
