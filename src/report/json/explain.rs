//! Why serving days are as they are.

use super::odds::{ChanceJson, chance};
use super::{FORMAT, tenths, write};
use crate::domain::explain::DayExplained;
use crate::domain::growth::Way;
use crate::domain::plan::Shortfall;
use crate::report::words::reason;
use chrono::NaiveDate;
use serde::Serialize;

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
                way: if portion.way == Way::Cut { "cut" } else { "whole head" },
                plants: portion.plants,
                served_g: tenths(portion.grams),
            })
            .collect(),
    }
}
