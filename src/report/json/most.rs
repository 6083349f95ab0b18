//! What sites can sustain.

use super::{FORMAT, tenths, write};
use crate::domain::most::Most;
use chrono::NaiveDate;
use serde::Serialize;

#[derive(Serialize)]
struct MostJson<'a> {
    format: u32,
    grams: f64,
    days: &'a [NaiveDate],
    too_early: &'a [NaiveDate],
    promised: f64,
    least_sure: Option<NaiveDate>,
    reached: Option<f64>,
    plans: u32,
    stopped: bool,
}

/// What sites can sustain. Keys: `format`, `grams` (on each serving day), `days` (counted on), `too_early` (left out), `promised`
/// (0 to 1; 0 for nothing), `least_sure` (a day) and `reached` (the share of terms in which it gets it), `plans` (tried), `stopped`
/// (before it was narrowed down).
pub fn most(most: &Most) -> String {
    write(&MostJson {
        format: FORMAT,
        grams: tenths(most.grams),
        days: &most.days,
        too_early: &most.too_early,
        promised: most.sure,
        least_sure: most.least_sure.map(|day| day.date),
        reached: most.least_sure.map(|day| (day.reached.share * 10_000.0).round() / 10_000.0),
        plans: most.tried,
        stopped: most.stopped,
    })
}
