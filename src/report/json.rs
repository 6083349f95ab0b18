//! Everything for scripts, as JSON.
//!
//! Every answer is one object that begins with `"format": 1`. The number rises when a key is renamed,
//! dropped or changes its meaning; new keys may come at any time. Masses are grams ready to eat (keys
//! ending in `_g`), shares run from 0 to 1, dates are `YYYY-MM-DD`, weeks `YYYY-Www` (ISO 8601),
//! whatever units the reader prefers elsewhere. A value that is not known is `null`.

mod changes;
mod compare;
mod crops;
mod explain;
mod idle;
mod journal;
mod learned;
mod most;
mod odds;
mod order;
mod plan;
mod review;
mod state;
mod week;
mod whatif;

pub use changes::changes;
pub use compare::compare;
pub use crops::{crop, crop_list};
pub use explain::{explain, explain_batch, explain_week};
pub use journal::journal;
pub use learned::{learned, learning};
pub use most::most;
pub use odds::odds;
pub use order::written_with_order;
pub use plan::{batch, plan};
pub use review::review;
pub use state::state;
pub use week::week;
pub use whatif::what_if;

use super::history::Past;
use crate::domain::published::Tally;
use chrono::NaiveDate;
use serde::Serialize;

/// Number of the present layout.
pub const FORMAT: u32 = 1;

/// What a check found. Keys: `format`, `sound` (true if nothing is wrong), `findings` (sentences),
/// `remarks` (sentences on things worth knowing that are not wrong).
pub fn checks(findings: &[String], remarks: &[String]) -> String {
    #[derive(Serialize)]
    struct Checks<'a> {
        format: u32,
        sound: bool,
        findings: &'a [String],
        remarks: &'a [String],
    }
    write(&Checks { format: FORMAT, sound: findings.is_empty(), findings, remarks })
}

/// A mistake in the user's files or wishes.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Mistake {
    /// Path of the file, if one is to blame.
    pub file: Option<String>,
    /// Line, from 1, unless the whole file is meant.
    pub line: Option<usize>,
    /// Column in characters, from 1, unless the whole file is meant.
    pub column: Option<usize>,
    /// What is wrong.
    pub message: String,
    /// How to mend it.
    pub help: String,
}

/// Why a command did nothing. Keys: `format`, `mistakes`: `file`, `line`, `column`, `message`, `help`.
pub fn mistakes(mistakes: &[Mistake]) -> String {
    #[derive(Serialize)]
    struct Mistakes<'a> {
        format: u32,
        mistakes: &'a [Mistake],
    }
    write(&Mistakes { format: FORMAT, mistakes })
}

/// Files written by a command. Keys: `format`, `written` (paths).
pub fn written(paths: &[String]) -> String {
    #[derive(Serialize)]
    struct Written<'a> {
        format: u32,
        written: &'a [String],
    }
    write(&Written { format: FORMAT, written: paths })
}

/// All plans. Keys: `format`, `plans`: `revision`, `day`, `reason`, `cost` (points), `short_g`, `newest`.
pub fn history(plans: &[Past]) -> String {
    #[derive(Serialize)]
    struct History<'a> {
        format: u32,
        plans: Vec<PastJson<'a>>,
    }
    #[derive(Serialize)]
    struct PastJson<'a> {
        revision: u32,
        day: NaiveDate,
        reason: &'a str,
        cost: f64,
        short_g: f64,
        newest: bool,
    }
    let plans = plans
        .iter()
        .map(|plan| PastJson {
            revision: plan.number,
            day: plan.day,
            reason: &plan.reason,
            cost: plan.points,
            short_g: tenths(plan.short_grams),
            newest: plan.newest,
        })
        .collect();
    write(&History { format: FORMAT, plans })
}

/// Calendar files written. Keys: `format`, `written` (paths), `events`: how many are `new`, `changed`, planned `again` after
/// they were called off, `cancelled` and `kept` as they were.
pub fn calendars(paths: &[String], tally: Tally) -> String {
    #[derive(Serialize)]
    struct Calendars<'a> {
        format: u32,
        written: &'a [String],
        events: Events,
    }
    #[derive(Serialize)]
    struct Events {
        new: u32,
        changed: u32,
        again: u32,
        cancelled: u32,
        kept: u32,
    }
    let Tally { new, changed, again, cancelled, kept } = tally;
    write(&Calendars {
        format: FORMAT,
        written: paths,
        events: Events { new, changed, again, cancelled, kept },
    })
}

fn write(value: &impl Serialize) -> String {
    // Only maps with keys that are not texts could fail, and there are none.
    let mut text = serde_json::to_string_pretty(value).unwrap_or_default();
    text.push('\n');
    text
}

/// Tenths of a gram are more than any kitchen scale shows.
fn tenths(grams: f64) -> f64 {
    let rounded = (grams * 10.0).round() / 10.0;
    // Adding nil turns a negative nil into a plain one.
    rounded + 0.0
}
