//! What sites can sustain.

use super::odds::{ChanceJson, chance};
use super::{FORMAT, tenths, write};
use crate::domain::most::Most;
use chrono::NaiveDate;
use serde::Serialize;

#[derive(Serialize)]
struct MostJson<'a> {
    format: u32,
    each_day_g: f64,
    days: &'a [NaiveDate],
    too_early: &'a [NaiveDate],
    promised: f64,
    least_sure: Option<NaiveDate>,
    reached: Option<ChanceJson>,
    plans: u32,
    stopped: bool,
}

/// What sites can sustain. Keys: `format`, `each_day_g`, `days` (counted on), `too_early` (left out), `promised`
/// (0 to 1; 0 for nothing), `least_sure` (a day) and `reached` (the chance that it gets it, with the keys of one in
/// [`super::odds`]), `plans` (tried), `stopped`
/// (before it was narrowed down).
pub fn most(most: &Most) -> String {
    write(&MostJson {
        format: FORMAT,
        each_day_g: tenths(most.grams),
        days: &most.days,
        too_early: &most.too_early,
        promised: most.sure,
        least_sure: most.least_sure.map(|day| day.date),
        reached: most.least_sure.map(|day| chance(day.reached)),
        plans: most.tried,
        stopped: most.stopped,
    })
}
