//! What to do in one week, site by site.

use super::begin;
use super::cautions;
use super::grid::Grid;
use super::look::{Look, Mood};
use super::tank_work;
use super::words::{self, counted, crop_name, day, numbers};
use crate::domain::calendar::{DateSpan, Week};
use crate::domain::growth::Way;
use crate::domain::plan::Plan;
use crate::domain::room::{HolesInUse, cells, holes};
use crate::domain::site::Site;
use crate::domain::tasks::{Handful, Task, TaskKind, tasks};
use crate::domain::term::Term;
use std::collections::BTreeSet;

/// The list of `week`: for each site its tasks, and how full nursery and tanks get.
pub fn list(term: &Term, plan: &Plan, week: Week, look: &Look) -> String {
    let heading =
        format!("Week {week}, {} to {}", words::long_day(week.monday()), words::long_day(week.sunday()));
    let mut text = format!("{}\n", look.paint(Mood::Heading, &heading));
    let in_week: Vec<Task> =
        tasks(term, plan).into_iter().filter(|task| Week::of(task.date) == week).collect();
    for site in &term.sites {
        text.push('\n');
        text.push_str(&look.paint(Mood::Heading, &site.name));
        text.push('\n');
        let here: Vec<&Task> = in_week.iter().filter(|task| task.batch.site == site.id).collect();
        text.push_str(&site_tasks(term, site, week, &here, look));
        let span = DateSpan { first: week.monday(), last: week.sunday() };
        text.push_str(&tank_work::lines(term, plan, site, span, look));
        text.push_str(&use_lines(term, plan, site, week, look));
    }
    text.push('\n');
    text.push_str(&notes(term, &in_week, look));
    text
}

/// How to cut, and the cautions, as far as this week needs them.
fn notes(term: &Term, tasks: &[Task], look: &Look) -> String {
    let mut text = String::new();
    if tasks.iter().flat_map(Task::harvests).any(|harvest| harvest.way == Way::Cut) {
        text.push_str(&look.wrap(
            "Cut: take about two thirds of the leaves and leave the rest with the heart, so that the plants \
             grow again. Last cut and whole heads: pull the plants, roots off.",
        ));
    }
    for (kind, caution) in [
        (TaskKind::Sow, cautions::SOWING),
        (TaskKind::Transplant, cautions::TANK),
        (TaskKind::Harvest, cautions::HARVEST),
    ] {
        let bought = |task: &Task| kind == TaskKind::Sow && task.batch.origin.is_bought();
        if tasks.iter().any(|task| task.kind == kind && !bought(task)) {
            text.push_str(&look.wrap(caution));
        }
        if tasks.iter().any(|task| task.kind == kind && bought(task)) {
            text.push_str(&look.wrap(begin::BOUGHT));
        }
    }
    let harvests = tasks.iter().filter(|task| task.kind == TaskKind::Harvest);
    let crops = harvests.filter_map(|task| term.crop(&task.batch.crop)).map(|wanted| &wanted.crop);
    let warmer: BTreeSet<String> = crops.filter_map(|crop| cautions::warmer(crop, look.units)).collect();
    for caution in warmer {
        text.push_str(&look.wrap(&caution));
    }
    text.push_str(&look.wrap(cautions::LOCAL_RULES));
    text
}

fn site_tasks(term: &Term, site: &Site, week: Week, here: &[&Task], look: &Look) -> String {
    if here.is_empty() {
        let meets = site.class_days.iter().any(|class_day| Week::of(*class_day) == week);
        return if meets {
            "Nothing to sow, move or harvest.\n".to_owned()
        } else {
            "No class day in this week.\n".to_owned()
        };
    }
    let mut grid = Grid::new(look, &["Day", "Task", "Batch", "Crop", "What to do", "Expect"]).right(&[5]);
    for task in here {
        for (index, (what, expect)) in lines(term, task, look).into_iter().enumerate() {
            let mut row = if index == 0 {
                vec![
                    day(task.date),
                    begin::kind(task.kind, task.batch.origin),
                    task.batch.id.to_string(),
                    crop_name(term, &task.batch.crop).to_owned(),
                ]
            } else {
                vec![String::new(); 4]
            };
            row.extend([what, expect]);
            grid.row(row);
        }
    }
    grid.draw(look)
}

/// What to do and what to expect, one line for all plants of a tank with which the same is done.
fn lines(term: &Term, task: &Task, look: &Look) -> Vec<(String, String)> {
    if task.kind == TaskKind::Sow {
        return vec![(
            begin::work_line(task.batch, task.batch.plugs),
            counted(expected(term, task), "plant"),
        )];
    }
    let handfuls = task.handfuls();
    let mut lines: Vec<(String, String)> =
        handfuls.iter().map(|handful| handful_line(task.kind, handful, look)).collect();
    if task.kind == TaskKind::Harvest {
        lines.push((words::meant_for(task.serves().into_keys()), String::new()));
    }
    lines
}

/// Plants that will grow; of cups, in some nothing will.
fn expected(term: &Term, task: &Task) -> u32 {
    let share = term.crop(&task.batch.crop).map_or(1.0, |wanted| task.batch.origin.growing(&wanted.crop));
    (f64::from(task.plants()) * share + 1e-9).floor() as u32
}

fn handful_line(kind: TaskKind, handful: &Handful, look: &Look) -> (String, String) {
    let Handful { tank, way, kept_empty, .. } = handful;
    let place = format!("tank {tank}, {}", words::holes(&handful.holes));
    let plants = counted(handful.plants, "plant");
    match kind {
        TaskKind::Harvest => (format!("{way}: {plants}, {place}"), look.grams(handful.grams)),
        _ if kept_empty.is_empty() => (format!("{plants} to {place}"), String::new()),
        _ => (format!("{plants} to {place}; keep {} empty", numbers(kept_empty)), String::new()),
    }
}

/// The fullest moment of the week in the nursery and in every tank.
fn use_lines(term: &Term, plan: &Plan, site: &Site, week: Week, look: &Look) -> String {
    let days = || week.monday().iter_days().take(7);
    let most_cells = days().map(|day| cells(term, plan, &site.id, day)).max().unwrap_or(0);
    let nursery = format!("up to {most_cells} of {} cells in use", site.nursery.cells);
    let mut text = look.wrap_after("Nursery: ", &nursery);
    let tanks: Vec<String> = site
        .tanks
        .iter()
        .map(|tank| {
            let most: HolesInUse =
                days().map(|day| holes(plan, &site.id, &tank.id, day)).max().unwrap_or_default();
            let empty = most.holes - most.planted;
            let spaced = if empty > 0 { format!(" ({empty} kept empty)") } else { String::new() };
            format!("{} up to {} of {} holes{spaced}", tank.id, most.holes, tank.lid.holes())
        })
        .collect();
    text.push_str(&look.wrap_after("Tanks:   ", &tanks.join("; ")));
    text
}
