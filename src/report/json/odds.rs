//! How sure a plan is.

use super::{FORMAT, tenths, write};
use crate::domain::odds::{Chance, DayOdds, Odds};
use chrono::NaiveDate;
use serde::Serialize;

#[derive(Serialize)]
pub(super) struct OddsJson {
    format: u32,
    runs: u32,
    seed: u64,
    every_day: ChanceJson,
    short_g: f64,
    surplus_g: f64,
    empty_places: f64,
    spare_seedlings: f64,
    servings: Vec<DayJson>,
}

#[derive(Serialize)]
struct DayJson {
    date: NaiveDate,
    target_g: f64,
    planned_g: f64,
    promised: f64,
    missing_g: f64,
    mean_g: f64,
    low_g: f64,
    high_g: f64,
    reached: ChanceJson,
    nearly: ChanceJson,
}

#[derive(Serialize)]
pub(super) struct ChanceJson {
    share: f64,
    standard_error: f64,
}

/// How sure a plan is. Keys: `format`, `runs` (terms played), `seed`, `every_day`, `short_g`, `surplus_g`, `empty_places`,
/// `spare_seedlings` (of a term, on average), `servings`: `date`, `target_g`, `planned_g`, `promised` (0 to 1; 0 for
/// nothing), `missing_g` (to what is promised), `mean_g`, `low_g` and `high_g` (one
/// term in ten lies below, one above), `reached`, `nearly` (four fifths of the target). A chance has `share` (0 to 1) and
/// `standard_error`.
pub fn odds(odds: &Odds) -> String {
    write(&of(odds))
}

pub(super) fn of(odds: &Odds) -> OddsJson {
    OddsJson {
        format: FORMAT,
        runs: odds.runs,
        seed: odds.seed,
        every_day: chance(odds.every_day),
        short_g: tenths(odds.short_grams),
        surplus_g: tenths(odds.surplus_grams),
        empty_places: tenths(odds.empty_places),
        spare_seedlings: tenths(odds.spare_seedlings),
        servings: odds.days.iter().map(day).collect(),
    }
}

fn day(day: &DayOdds) -> DayJson {
    DayJson {
        date: day.date,
        target_g: tenths(day.target),
        planned_g: tenths(day.planned),
        promised: day.sure,
        missing_g: tenths(day.missing),
        mean_g: tenths(day.mean),
        low_g: tenths(day.low),
        high_g: tenths(day.high),
        reached: chance(day.reached),
        nearly: chance(day.nearly),
    }
}

pub(super) fn chance(chance: Chance) -> ChanceJson {
    let digits = |share: f64| (share * 10_000.0).round() / 10_000.0;
    ChanceJson { share: digits(chance.share), standard_error: digits(chance.error) }
}
