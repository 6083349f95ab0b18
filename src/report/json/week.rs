//! The tasks of a week.

use super::plan::way;
use super::{FORMAT, tenths, write};
use crate::domain::calendar::Week;
use crate::domain::plan::{Origin, Plan};
use crate::domain::room::{cells, holes};
use crate::domain::tasks::{Task, TaskKind, TaskPart, tasks};
use crate::domain::term::Term;
use crate::report::ical::task_uid;
use chrono::NaiveDate;
use serde::Serialize;

#[derive(Serialize)]
struct WeekJson<'a> {
    format: u32,
    week: String,
    monday: NaiveDate,
    sites: Vec<SiteJson<'a>>,
}

#[derive(Serialize)]
struct SiteJson<'a> {
    site: &'a str,
    site_name: &'a str,
    nursery_cells: u32,
    nursery_cells_used: u32,
    tanks: Vec<TankJson<'a>>,
    tasks: Vec<TaskJson<'a>>,
}

#[derive(Serialize)]
struct TankJson<'a> {
    tank: &'a str,
    holes: u32,
    holes_used: u32,
    plants: u32,
}

#[derive(Serialize)]
struct TaskJson<'a> {
    uid: String,
    date: NaiveDate,
    task: String,
    batch: &'a str,
    crop: &'a str,
    plants: u32,
    plugs: Option<u32>,
    seeds_per_plug: Option<u32>,
    expected_g: Option<f64>,
    parts: Vec<PartJson<'a>>,
}

#[derive(Serialize)]
struct PartJson<'a> {
    plants: u32,
    tank: &'a str,
    holes: &'a [u32],
    kept_empty: &'a [u32],
    way: Option<&'static str>,
    number: Option<u32>,
    of: Option<u32>,
    expected_g: Option<f64>,
}

/// What to do in a week. Keys:
///
/// - `format`, `week`, `monday`
/// - `sites`: `site`, `site_name`, `nursery_cells`, `nursery_cells_used` (at most in that week),
///   `tanks`: `tank`, `holes`, `holes_used` (at most in that week), `plants`
/// - in each site `tasks`: `uid` (as in the calendar), `date`, `task` (`sow`, `transplant`, `harvest`),
///   `batch`, `crop`, `plants`, `plugs` and `seeds_per_plug` (sowing only), `expected_g` (harvest
///   only), `parts` (not for sowing): `plants`, `tank`, `holes`, `kept_empty`, and for harvests `way`,
///   `number` and `of` (number of harvests in all), `expected_g`
pub fn week(term: &Term, plan: &Plan, week: Week) -> String {
    let all: Vec<Task> = tasks(term, plan).into_iter().filter(|task| Week::of(task.date) == week).collect();
    let days = || week.monday().iter_days().take(7);
    let sites = term
        .sites
        .iter()
        .map(|site| SiteJson {
            site: site.id.as_str(),
            site_name: &site.name,
            nursery_cells: site.nursery.cells,
            nursery_cells_used: days().map(|day| cells(term, plan, &site.id, day)).max().unwrap_or(0),
            tanks: site
                .tanks
                .iter()
                .map(|tank| {
                    let most =
                        days().map(|day| holes(plan, &site.id, &tank.id, day)).max().unwrap_or_default();
                    TankJson {
                        tank: tank.id.as_str(),
                        holes: tank.lid.holes(),
                        holes_used: most.holes,
                        plants: most.planted,
                    }
                })
                .collect(),
            tasks: all.iter().filter(|task| task.batch.site == site.id).map(|one| task(plan, one)).collect(),
        })
        .collect();
    write(&WeekJson { format: FORMAT, week: week.to_string(), monday: week.monday(), sites })
}

fn task<'a>(plan: &Plan, task: &Task<'a>) -> TaskJson<'a> {
    let sow = task.kind == TaskKind::Sow;
    TaskJson {
        uid: task_uid(plan, task),
        date: task.date,
        task: task.kind.to_string(),
        batch: task.batch.id.as_str(),
        crop: task.batch.crop.as_str(),
        plants: task.plants(),
        plugs: sow.then_some(task.batch.plugs),
        seeds_per_plug: (sow && task.batch.origin.is_sown()).then_some(task.batch.seeds_per_plug),
        expected_g: (task.kind == TaskKind::Harvest).then(|| tenths(task.grams())),
        parts: if sow && task.batch.origin != Origin::InCups {
            Vec::new()
        } else {
            task.parts.iter().map(part).collect()
        },
    }
}

fn part<'a>(task: &TaskPart<'a>) -> PartJson<'a> {
    PartJson {
        plants: task.part.plants,
        tank: task.part.tank.as_str(),
        holes: &task.part.holes,
        kept_empty: &task.part.kept_empty,
        way: task.harvest.map(|harvest| way(harvest.way)),
        number: task.harvest.map(|harvest| harvest.number),
        of: task.harvest.map(|_| task.harvests_in_all()),
        expected_g: task.harvest.map(|harvest| tenths(harvest.grams)),
    }
}
