//! The difference of two plans as JSON.

use super::{FORMAT, tenths, write};
use crate::domain::difference::{BatchChange, Change, Detail, Difference, WeekChange};
use crate::domain::tasks::TaskKind;
use chrono::NaiveDate;
use serde::Serialize;

#[derive(Serialize)]
struct ChangesJson<'a> {
    format: u32,
    from: NaiveDate,
    before: u32,
    after: u32,
    tasks: TasksJson,
    batches: Vec<BatchJson<'a>>,
    weeks: Vec<WeekJson>,
    holds_from: Option<String>,
}

#[derive(Serialize)]
struct TasksJson {
    kept: u32,
    moved: u32,
    changed: u32,
    dropped: u32,
    added: u32,
}

#[derive(Serialize)]
struct BatchJson<'a> {
    id: &'a str,
    crop: &'a str,
    site: &'a str,
    day: NaiveDate,
    change: &'static str,
    details: Vec<DetailJson>,
}

#[derive(Serialize)]
#[serde(tag = "what", rename_all = "kebab-case")]
enum DetailJson {
    Day { task: &'static str, number: u32, before: Option<NaiveDate>, after: Option<NaiveDate> },
    Plugs { before: u32, after: u32 },
    Plants { task: &'static str, number: u32, date: NaiveDate, before: u32, after: u32 },
    Place,
    Way { number: u32, date: NaiveDate, cuts: bool, pulls: bool },
}

#[derive(Serialize)]
struct WeekJson {
    week: String,
    target_g: f64,
    before_g: f64,
    left_g: Option<f64>,
    after_g: f64,
    hit: bool,
    holds: bool,
}

/// What a plan changes. Keys:
///
/// - `format`, `from` (the first day looked at), `before` and `after` (revisions)
/// - `tasks`: how many are `kept`, `moved`, `changed`, `dropped`, `added`
/// - `batches`: `id`, `crop`, `site`, `day` (of the first change), `change` (`kept`, `moved`, `resized`,
///   `moved-and-resized`, `dropped`, `added`), `details`: `what` (`day`, `plugs`, `plants`, `place`, `way`), `before`,
///   `after`, for a day and plants `task`, for a way `cuts` and `pulls` (what is done now); `number` tells tasks of a
///   batch and kind apart and is kept from plan to plan, `date` is the task's day after
/// - `weeks`: `week`, `target_g`, `before_g`, `left_g` (if nothing is done), `after_g`, `hit`, `holds`
/// - `holds_from`: the first week from which on every week gets its target or what it was to get before
pub fn changes(difference: &Difference) -> String {
    let tasks = difference.tasks;
    write(&ChangesJson {
        format: FORMAT,
        from: difference.from,
        before: difference.before,
        after: difference.after,
        tasks: TasksJson {
            kept: tasks.kept,
            moved: tasks.moved,
            changed: tasks.changed,
            dropped: tasks.dropped,
            added: tasks.added,
        },
        batches: difference.batches.iter().map(batch).collect(),
        weeks: difference.weeks.iter().map(week).collect(),
        holds_from: difference.holds_from().map(|week| week.to_string()),
    })
}

fn batch(batch: &BatchChange) -> BatchJson<'_> {
    BatchJson {
        id: batch.batch.as_str(),
        crop: batch.crop.as_str(),
        site: batch.site.as_str(),
        day: batch.day,
        change: match batch.change {
            Change::Kept => "kept",
            Change::Moved => "moved",
            Change::Resized => "resized",
            Change::MovedAndResized => "moved-and-resized",
            Change::Dropped => "dropped",
            Change::Added => "added",
        },
        details: batch.details.iter().map(detail).collect(),
    }
}

fn task(kind: TaskKind) -> &'static str {
    match kind {
        TaskKind::Sow => "sow",
        TaskKind::Transplant => "transplant",
        TaskKind::Harvest => "harvest",
    }
}

fn detail(detail: &Detail) -> DetailJson {
    match *detail {
        Detail::Day { kind, number, before, after } => {
            DetailJson::Day { task: task(kind), number, before, after }
        }
        Detail::Plugs { before, after } => DetailJson::Plugs { before, after },
        Detail::Plants { kind, number, day, before, after } => {
            DetailJson::Plants { task: task(kind), number, date: day, before, after }
        }
        Detail::Place => DetailJson::Place,
        Detail::Way { number, day, cuts, pulls } => DetailJson::Way { number, date: day, cuts, pulls },
    }
}

fn week(week: &WeekChange) -> WeekJson {
    WeekJson {
        week: week.week.to_string(),
        target_g: tenths(week.target),
        before_g: tenths(week.before),
        left_g: week.left.map(tenths),
        after_g: tenths(week.after),
        hit: week.is_hit(),
        holds: week.holds(),
    }
}
