//! Why serving days, weeks and batches are as they are.

use super::odds::{ChanceJson, chance};
use super::{FORMAT, tenths, write};
use crate::domain::explain::{
    Against, AgainstHarvest, BatchExplained, DayExplained, HarvestDay, HarvestExplained, SowDay,
    WeekExplained,
};
use crate::domain::growth::Way;
use crate::domain::plan::Shortfall;
use crate::report::words::reason;
use chrono::NaiveDate;
use serde::Serialize;
use std::collections::BTreeMap;

#[derive(Serialize)]
struct ExplainJson<'a> {
    format: u32,
    days: Vec<DayJson<'a>>,
}

#[derive(Serialize)]
struct DayJson<'a> {
    date: NaiveDate,
    target_g: f64,
    planned_g: f64,
    reason: Option<&'static str>,
    reached: Option<ChanceJson>,
    promised: f64,
    mends: Option<Vec<MendJson>>,
    portions: Vec<PortionJson<'a>>,
}

#[derive(Serialize)]
struct MendJson {
    limit: &'static str,
    less_short_g: f64,
}

#[derive(Serialize)]
struct PortionJson<'a> {
    batch: &'a str,
    crop: &'a str,
    site: &'a str,
    tank: &'a str,
    harvested: NaiveDate,
    way: &'static str,
    plants: u32,
    served_g: f64,
}

/// Why serving days are as they are. Keys: `format`, `days`; of a day `date`, `target_g`, `planned_g`, `reason` (why it falls
/// short), `reached` (its chance, with the keys of one in [`super::odds`]), `promised` (0 to 1; 0 for nothing), `mends` (limits, and
/// by how much less is short without each alone; null if there was no time), `portions` (what it is made of).
pub fn explain(days: &[DayExplained]) -> String {
    write(&ExplainJson { format: FORMAT, days: days.iter().map(of_day).collect() })
}

fn of_day(day: &DayExplained) -> DayJson<'_> {
    let mend =
        |(limit, grams): &(Shortfall, f64)| MendJson { limit: reason(*limit), less_short_g: tenths(*grams) };
    let portions = day.portions.iter();
    DayJson {
        date: day.date,
        target_g: tenths(day.target),
        planned_g: tenths(day.planned),
        reason: day.reason.map(reason),
        reached: day.odds.map(|odds| chance(odds.reached)),
        promised: day.odds.map_or(0.0, |odds| odds.sure),
        mends: day.mends.as_ref().map(|mends| mends.iter().map(mend).collect()),
        portions: portions
            .map(|portion| PortionJson {
                batch: portion.batch.as_str(),
                crop: portion.crop.as_str(),
                site: portion.site.as_str(),
                tank: portion.tank.as_str(),
                harvested: portion.harvested,
                way: way(portion.way),
                plants: portion.plants,
                served_g: tenths(portion.grams),
            })
            .collect(),
    }
}

#[derive(Serialize)]
struct WeekJson<'a> {
    format: u32,
    monday: NaiveDate,
    sites: Vec<SiteJson<'a>>,
    days: Vec<DayJson<'a>>,
}

#[derive(Serialize)]
struct SiteJson<'a> {
    site: &'a str,
    class_days: &'a [NaiveDate],
    days_off: &'a [String],
    tasks: u32,
    cells_in_use: u32,
    cells: u32,
    holes_in_use: u32,
    holes: u32,
}

/// How full a week is. Keys: `format`, `monday`, `sites` (`site`, `class_days`, `days_off`, `tasks`, and the most cells and holes in use
/// on any day with those there are), `days` (its serving days, with the keys of [`explain`]).
pub fn explain_week(week: &WeekExplained) -> String {
    let sites = week.sites.iter().map(|site| SiteJson {
        site: site.site.as_str(),
        class_days: &site.class_days,
        days_off: &site.days_off,
        tasks: site.tasks,
        cells_in_use: site.in_use.cells,
        cells: site.cells,
        holes_in_use: site.in_use.holes.holes,
        holes: site.holes,
    });
    write(&WeekJson {
        format: FORMAT,
        monday: week.week.monday(),
        sites: sites.collect(),
        days: week.days.iter().map(of_day).collect(),
    })
}

#[derive(Serialize)]
struct BatchJson<'a> {
    format: u32,
    batch: &'a str,
    sow_days: Vec<SowDayJson>,
    harvests: Vec<HarvestJson>,
}

#[derive(Serialize)]
struct SowDayJson {
    day: NaiveDate,
    age_days: u32,
    plant_g: Option<f64>,
    planned: bool,
    against: Option<&'static str>,
}

#[derive(Serialize)]
struct HarvestJson {
    date: NaiveDate,
    way: &'static str,
    number: u32,
    days: u32,
    days_allowed: Option<[u32; 2]>,
    plants: u32,
    serves_g: BTreeMap<NaiveDate, f64>,
    other_days: Vec<HarvestDayJson>,
}

#[derive(Serialize)]
struct HarvestDayJson {
    day: NaiveDate,
    plant_g: Option<f64>,
    against: Option<&'static str>,
}

/// Why a batch has its dates. Keys: `format`, `batch`, `sow_days` (`day`, `age_days` at the first harvest, `plant_g`: what a plant then
/// gives, `planned`, `against`: null, or what is missing: `class`, `tank`, `holes`, `rule`), `harvests` (`date`, `way`,
/// `number`, `days` since sowing or the cut before, `days_allowed`: first and last, `plants`, `serves_g`: grams by serving day,
/// `other_days`: `day`, `plant_g`: what a plant would give, `against`: null, or what is against it: `serving`, `keeping`, `holes`,
/// `regrowth`).
pub fn explain_batch(batch: &BatchExplained) -> String {
    write(&BatchJson {
        format: FORMAT,
        batch: batch.batch.as_str(),
        sow_days: batch.sow_days.iter().map(sow_day).collect(),
        harvests: batch.harvests.iter().map(harvest).collect(),
    })
}

fn sow_day(tried: &SowDay) -> SowDayJson {
    SowDayJson {
        day: tried.day,
        age_days: tried.age,
        plant_g: tried.grams.map(tenths),
        planned: tried.is_planned,
        against: tried.against.as_ref().map(|against| match against {
            Against::NoMove => "class",
            Against::Out { .. } => "tank",
            Against::Holes { .. } => "holes",
            Against::Rule(_) | Against::OffRhythm => "rule",
        }),
    }
}

fn harvest(harvest: &HarvestExplained) -> HarvestJson {
    HarvestJson {
        date: harvest.date,
        way: way(harvest.way),
        number: harvest.number,
        days: harvest.days,
        days_allowed: harvest.allowed.as_ref().map(|days| [*days.start(), *days.end()]),
        plants: harvest.plants,
        serves_g: harvest.serves.iter().map(|(day, grams)| (*day, tenths(*grams))).collect(),
        other_days: harvest.other_days.iter().map(harvest_day).collect(),
    }
}

fn harvest_day(tried: &HarvestDay) -> HarvestDayJson {
    HarvestDayJson {
        day: tried.day,
        plant_g: tried.grams.map(tenths),
        against: tried.against.as_ref().map(|against| match against {
            AgainstHarvest::TooLate { .. } => "serving",
            AgainstHarvest::NotKept { .. } => "keeping",
            AgainstHarvest::HolesWanted { .. } => "holes",
            AgainstHarvest::NextCut { .. } => "regrowth",
        }),
    }
}

fn way(way: Way) -> &'static str {
    if way == Way::Cut { "cut" } else { "whole head" }
}
