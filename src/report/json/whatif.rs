//! What one thing more would bring.

use super::{FORMAT, tenths, write};
use crate::domain::whatif::{Idea, Outcome, Tried, WhatIf};
use chrono::NaiveDate;
use serde::Serialize;

#[derive(Serialize)]
struct WhatIfJson<'a> {
    format: u32,
    serving_days: u32,
    as_is: OutcomeJson,
    luck_g: f64,
    tried: Vec<TriedJson<'a>>,
    untried: Vec<ChangeJson<'a>>,
}

#[derive(Serialize)]
struct OutcomeJson {
    missing_g: f64,
    days_met: u32,
    sure: f64,
    least_sure: f64,
}

#[derive(Serialize)]
struct TriedJson<'a> {
    change: ChangeJson<'a>,
    #[serde(flatten)]
    outcome: OutcomeJson,
    less_missing_g: f64,
    of_use: bool,
}

#[derive(Serialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
enum ChangeJson<'a> {
    Tank { site: &'a str, like: &'a str },
    Cells { more: u32 },
    ClassDay { sites: Vec<ClassDayJson<'a>> },
    ComeIn { sites: Vec<DayJson<'a>> },
    Crop { crop: &'a str },
    Bought { crop: &'a str, age_days: u32, sites: Vec<BoughtJson<'a>> },
    Keeps { days: u32 },
    SmallerBatches { from: u32, to: u32 },
    LessSure { from: f64, to: f64 },
}

#[derive(Serialize)]
struct ClassDayJson<'a> {
    site: &'a str,
    weekday: String,
}

#[derive(Serialize)]
struct DayJson<'a> {
    site: &'a str,
    date: NaiveDate,
}

#[derive(Serialize)]
struct BoughtJson<'a> {
    site: &'a str,
    date: NaiveDate,
    plants: u32,
}

/// What one thing more would bring. Keys: `format`, `serving_days`, `as_is` (what becomes of the term as it is), `luck_g` (by
/// which three searches for it differ), `tried`, `untried` (changes for which there was no time). What became of a term: `missing_g`
/// (in an average one), `days_met`, `sure` and `least_sure` (0 to 1). Of what was tried also `change` (by its `kind`),
/// `less_missing_g` and `of_use` (more than luck).
pub fn what_if(found: &WhatIf) -> String {
    write(&WhatIfJson {
        format: FORMAT,
        serving_days: found.days,
        as_is: outcome(&found.as_is),
        luck_g: tenths(found.luck),
        tried: found.tried.iter().map(|one| tried(found, one)).collect(),
        untried: found.untried.iter().map(change).collect(),
    })
}

fn outcome(outcome: &Outcome) -> OutcomeJson {
    OutcomeJson {
        missing_g: tenths(outcome.missing),
        days_met: outcome.met,
        sure: share(outcome.sure),
        least_sure: share(outcome.least_sure),
    }
}

/// A share to a hundredth.
fn share(share: f64) -> f64 {
    (share * 100.0).round() / 100.0
}

fn tried<'a>(found: &WhatIf, tried: &'a Tried) -> TriedJson<'a> {
    TriedJson {
        change: change(&tried.idea),
        outcome: outcome(&tried.outcome),
        less_missing_g: tenths(found.gain(tried)),
        of_use: found.is_of_use(tried),
    }
}

fn change(idea: &Idea) -> ChangeJson<'_> {
    match idea {
        Idea::Tank { site, like } => ChangeJson::Tank { site: site.as_str(), like: like.as_str() },
        Idea::Cells { more } => ChangeJson::Cells { more: *more },
        Idea::ClassDay { days } => ChangeJson::ClassDay {
            sites: days
                .iter()
                .map(|(site, weekday)| ClassDayJson { site: site.as_str(), weekday: weekday.to_string() })
                .collect(),
        },
        Idea::ComeIn { days } => ChangeJson::ComeIn {
            sites: days.iter().map(|(site, date)| DayJson { site: site.as_str(), date: *date }).collect(),
        },
        Idea::Crop { crop } => ChangeJson::Crop { crop: crop.as_str() },
        Idea::Bought { crop, age, sites } => ChangeJson::Bought {
            crop: crop.as_str(),
            age_days: *age,
            sites: sites
                .iter()
                .map(|(site, date, plants)| BoughtJson { site: site.as_str(), date: *date, plants: *plants })
                .collect(),
        },
        Idea::Keeps { days } => ChangeJson::Keeps { days: *days },
        Idea::SmallerBatches { from, to } => ChangeJson::SmallerBatches { from: *from, to: *to },
        Idea::LessSure { from, to } => ChangeJson::LessSure { from: *from, to: *to },
    }
}
