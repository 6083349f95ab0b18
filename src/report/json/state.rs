//! How things stand on a day.

use super::plan::way;
use super::{FORMAT, tenths, write};
use crate::domain::ids::TankId;
use crate::domain::plan::Plan;
use crate::domain::site::Site;
use crate::domain::state::{BatchState, Progress, Stand, State, Step};
use crate::domain::term::Term;
use crate::domain::weighed::Weighed;
use crate::report::stands::{cells, outage, plants_and_holes};
use chrono::NaiveDate;
use serde::Serialize;

#[derive(Serialize)]
struct StateJson<'a> {
    format: u32,
    day: NaiveDate,
    sites: Vec<SiteJson<'a>>,
    servings: Vec<ServingJson>,
    weighed: Vec<WeighedJson<'a>>,
}

#[derive(Serialize)]
struct SiteJson<'a> {
    site: &'a str,
    site_name: &'a str,
    nursery_cells: u32,
    nursery_cells_used: u32,
    tanks: Vec<TankJson<'a>>,
    batches: Vec<BatchJson<'a>>,
    tasks: Vec<TaskJson<'a>>,
}

#[derive(Serialize)]
struct TankJson<'a> {
    tank: &'a str,
    holes: u32,
    holes_used: u32,
    plants: u32,
    out_since: Option<NaiveDate>,
    out_until: Option<NaiveDate>,
}

#[derive(Serialize)]
struct BatchJson<'a> {
    batch: &'a str,
    crop: &'a str,
    sown: Option<NaiveDate>,
    plugs_sown: u32,
    in_nursery: u32,
    came_up: Option<u32>,
    stands: Vec<StandJson<'a>>,
    moved: u32,
    lost: u32,
    pulled: u32,
    harvested_g: f64,
}

#[derive(Serialize)]
struct StandJson<'a> {
    tank: &'a str,
    plants: u32,
    holes: &'a [u32],
    transplanted: NaiveDate,
    cuts: u32,
    last_cut: Option<NaiveDate>,
}

#[derive(Serialize)]
struct TaskJson<'a> {
    date: NaiveDate,
    task: String,
    batch: &'a str,
    tank: Option<&'a str>,
    way: Option<&'static str>,
    number: u32,
    expected_g: Option<f64>,
    progress: &'static str,
    done_on: Option<NaiveDate>,
}

#[derive(Serialize)]
struct ServingJson {
    date: NaiveDate,
    target_g: f64,
    planned_g: f64,
    expected_g: f64,
}

#[derive(Serialize)]
struct WeighedJson<'a> {
    site: &'a str,
    crop: &'a str,
    plants: u32,
    weighed_g: f64,
    by_figures_g: f64,
    factor: f64,
}

/// How things stand. Keys:
///
/// - `format`, `day`
/// - `sites`: `site`, `site_name`, `nursery_cells`, `nursery_cells_used`,
///   `tanks`: `tank`, `holes`, `holes_used`, `plants`, `out_since` and `out_until` (out of use)
/// - in each site `batches`: `batch`, `crop`, `sown` (`null`: not yet), `plugs_sown`, `in_nursery` (plugs), `came_up`
///   (`null`: not counted), `stands` (plants treated alike: `tank`, `plants`, `holes` (empty: not known),
///   `transplanted`, `cuts`, `last_cut`), `moved`, `lost`, `pulled` (plants), `harvested_g` (recorded)
/// - in each site `tasks`: `date`, `task` (`sow`, `transplant`, `harvest`), `batch`, `tank`, `way`, `number` (plugs or
///   plants), `expected_g` (harvests), `progress` (`overdue`, `due`, `coming`, `done`, `done_early`, `taken_as_done`,
///   `dropped`), `done_on`
/// - `servings` from that day on: `date`, `target_g`, `planned_g`, `expected_g` (with what was weighed since)
/// - `weighed`, where harvests were: `site`, `crop`, `plants`, `weighed_g`, `by_figures_g` (what they should have weighed),
///   `factor` (on the mass of what is still to come)
///
/// With `only_now`, tasks are those due and overdue.
pub fn state(term: &Term, plan: &Plan, state: &State, day: NaiveDate, only_now: bool) -> String {
    let servings = plan.servings.iter().filter(|serving| serving.date >= day).map(|serving| ServingJson {
        date: serving.date,
        target_g: tenths(term.wanted_on(serving.date)),
        planned_g: tenths(serving.planned),
        expected_g: tenths(state.outlook.servings.get(&serving.date).copied().unwrap_or(serving.planned)),
    });
    write(&StateJson {
        format: FORMAT,
        day,
        sites: term.sites.iter().map(|one| site(term, state, one, only_now)).collect(),
        servings: servings.collect(),
        weighed: state.outlook.weighed().map(weighed).collect(),
    })
}

fn weighed(own: &Weighed) -> WeighedJson<'_> {
    WeighedJson {
        site: own.site.as_str(),
        crop: own.crop.as_str(),
        plants: own.plants,
        weighed_g: tenths(own.grams),
        by_figures_g: tenths(own.expected),
        factor: (own.factor * 1000.0).round() / 1000.0,
    }
}

fn site<'a>(term: &Term, state: &'a State, site: &'a Site, only_now: bool) -> SiteJson<'a> {
    let now = |step: &&Step| !only_now || matches!(step.progress, Progress::Due | Progress::Overdue);
    let tanks = site.tanks.iter().map(|tank| {
        let (plants, holes_used) = plants_and_holes(term, state, &site.id, tank);
        let out = outage(state, &site.id, tank);
        TankJson {
            tank: tank.id.as_str(),
            holes: tank.lid.holes(),
            holes_used,
            plants,
            out_since: out.map(|out| out.from),
            out_until: out.and_then(|out| out.until),
        }
    });
    SiteJson {
        site: site.id.as_str(),
        site_name: &site.name,
        nursery_cells: site.nursery.cells,
        nursery_cells_used: cells(state, &site.id),
        tanks: tanks.collect(),
        batches: state.batches.iter().filter(|batch| batch.site == site.id).map(batch).collect(),
        tasks: state.steps.iter().filter(|step| step.site == site.id).filter(now).map(task).collect(),
    }
}

fn batch(batch: &BatchState) -> BatchJson<'_> {
    BatchJson {
        batch: batch.batch.as_str(),
        crop: batch.crop.as_str(),
        sown: batch.sown,
        plugs_sown: batch.plugs,
        in_nursery: batch.tray.plugs,
        came_up: batch.tray.came_up,
        stands: batch.stands.iter().map(stand).collect(),
        moved: batch.moved,
        lost: batch.lost,
        pulled: batch.pulled,
        harvested_g: tenths(batch.grams),
    }
}

fn stand(stand: &Stand) -> StandJson<'_> {
    StandJson {
        tank: stand.tank.as_str(),
        plants: stand.plants,
        holes: &stand.holes,
        transplanted: stand.transplanted,
        cuts: stand.cuts_before + stand.cuts.len() as u32,
        last_cut: stand.cuts.last().copied(),
    }
}

fn task(step: &Step) -> TaskJson<'_> {
    let (progress, done_on) = match step.progress {
        Progress::Overdue => ("overdue", None),
        Progress::Due => ("due", None),
        Progress::Coming => ("coming", None),
        Progress::Done { on } => ("done", Some(on)),
        Progress::DoneEarly { on } => ("done_early", Some(on)),
        Progress::TakenAsDone => ("taken_as_done", None),
        Progress::Dropped => ("dropped", None),
    };
    TaskJson {
        date: step.day,
        task: step.work.to_string(),
        batch: step.batch.as_str(),
        tank: step.tank.as_ref().map(TankId::as_str),
        way: step.way.map(way),
        number: step.number,
        expected_g: step.way.map(|_| tenths(step.grams)),
        progress,
        done_on,
    }
}
