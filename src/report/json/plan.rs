//! A plan: its facts, its weeks and its batches.

use super::idle::{self, IdleJson};
use super::odds::OddsJson;
use super::{FORMAT, tenths, write};
use crate::domain::calendar::Week;
use crate::domain::growth::Way;
use crate::domain::idle::Idle;
use crate::domain::odds::Odds;
use crate::domain::plan::{Batch, Facts, Harvest, Origin, Part, Plan, Shortfall};
use crate::domain::term::{Term, Weights};
use crate::domain::variety::lacking;
use crate::report::glance::{breaks_in, by_way, surplus_by_week};
use crate::report::rhythm;
use crate::report::words::{crop_name, reason};
use chrono::NaiveDate;
use serde::Serialize;
use std::collections::BTreeMap;

#[derive(Serialize)]
struct PlanJson<'a> {
    format: u32,
    term: &'a str,
    term_id: &'a str,
    revision: u32,
    replanned: Option<NaiveDate>,
    made: String,
    reason: &'a str,
    facts: FactsJson<'a>,
    weights: WeightsJson,
    odds: Option<OddsJson>,
    idle_sites: Vec<IdleJson<'a>>,
    weeks: Vec<WeekJson>,
    rhythm: Vec<SeriesJson<'a>>,
    batches: Vec<BatchJson<'a>>,
}

#[derive(Serialize)]
struct FactsJson<'a> {
    target_g: f64,
    planned_g: f64,
    short_g: f64,
    short_bound_g: Option<f64>,
    surplus_g: f64,
    cost: f64,
    cost_bound: Option<f64>,
    solver: &'a str,
    effort: u64,
    seed: u64,
    seconds: f64,
    stopped: bool,
}

#[derive(Serialize)]
struct WeightsJson {
    short: f64,
    very_short: f64,
    mild_share: f64,
    unsure: f64,
    surplus: f64,
    sowing: f64,
    visit: f64,
    task: f64,
    further_tank: f64,
    scant: f64,
    split: f64,
    overmature: f64,
    mixed: f64,
    idle: f64,
    series: f64,
    plug: f64,
    bought: f64,
    hole_day: f64,
    stored: f64,
    stale: f64,
}

#[derive(Serialize)]
struct WeekJson {
    week: String,
    monday: NaiveDate,
    breaks: Vec<String>,
    surplus_g: f64,
    servings: Vec<ServingJson>,
}

#[derive(Serialize)]
struct ServingJson {
    date: NaiveDate,
    target_g: f64,
    planned_g: f64,
    whole_heads_g: f64,
    cuts_g: f64,
    short_g: f64,
    met: bool,
    kinds: u32,
    kinds_missing: u32,
    below_share: BTreeMap<String, f64>,
    reason: Option<&'static str>,
    reason_text: Option<&'static str>,
}

#[derive(Serialize)]
struct SeriesJson<'a> {
    site: &'a str,
    crop: &'a str,
    plugs: u32,
    sown: Vec<NaiveDate>,
    left_out: Vec<NaiveDate>,
}

#[derive(Serialize)]
struct BatchJson<'a> {
    id: &'a str,
    crop: &'a str,
    crop_name: &'a str,
    site: &'a str,
    sown: NaiveDate,
    standing: bool,
    in_cups: bool,
    bought_days: Option<u32>,
    plugs: u32,
    seeds_per_plug: u32,
    plants: u32,
    expected_g: f64,
    parts: Vec<PartJson<'a>>,
}

#[derive(Serialize)]
struct PartJson<'a> {
    plants: u32,
    tank: &'a str,
    transplant: NaiveDate,
    holes: &'a [u32],
    kept_empty: &'a [u32],
    cuts_before: u32,
    lost: Option<NaiveDate>,
    harvests: Vec<HarvestJson>,
}

#[derive(Serialize)]
struct HarvestJson {
    date: NaiveDate,
    way: &'static str,
    number: u32,
    expected_g: f64,
    surplus_g: f64,
    serves: Vec<ServedJson>,
}

#[derive(Serialize)]
struct ServedJson {
    date: NaiveDate,
    grams_g: f64,
}

/// A plan. Keys:
///
/// - `format`, `term`, `term_id`, `revision`, `made` (UTC, RFC 3339), `reason` (why it was made); `odds`: those of [`super::odds`]
/// - `facts`: `target_g`, `planned_g`, `short_g`, `short_bound_g` (no plan is shorter), `surplus_g`,
///   `cost` and `cost_bound` (points), `solver`, `effort` (thousand steps), `seed`, `seconds`, `stopped`
/// - `weights`: points by which plans are judged: `short`, `very_short`, `mild_share`, `unsure`, `surplus`,
///   `sowing`, `visit`, `task`, `further_tank`, `scant`, `split`, `overmature`, `mixed`,
///   `idle`, `series`, `plug`, `bought`, `hole_day`, `stored`, `stale`
/// - `idle_sites`: those without anything to do: `site`, `first` and `last` class day of the stretch (none: the whole term),
///   `reason` (a fixed word), `reason_text`
/// - `weeks`: `week`, `monday`, `breaks`, `surplus_g`, `servings`: `date`, `target_g`, `planned_g`,
///   `whole_heads_g`, `cuts_g`, `short_g`, `met` (within the tolerance), `kinds` (of which there is a portion), `kinds_missing`,
///   `below_share` (grams missing by crop), `reason` (a fixed word), `reason_text`
/// - `rhythm`: sowings of a crop at a site in a steady rhythm: `site`, `crop`, `plugs` (each time), `sown` and `left_out` (days)
/// - `batches`: `id`, `crop`, `crop_name`, `site`, `sown`, `standing`, `in_cups`, `bought_days` (age of bought seedlings when they come), `plugs`, `seeds_per_plug`,
///   `plants`, `expected_g`, `parts`: `plants`, `tank`, `transplant`, `holes`, `kept_empty`,
///   `cuts_before`, `harvests`: `date`, `way` (`cut` or `whole-head`), `number`, `expected_g`,
///   `surplus_g`, `serves`: `date`, `grams_g`
pub fn plan(term: &Term, plan: &Plan, idle: &[Idle], odds: Option<&Odds>) -> String {
    write(&PlanJson {
        format: FORMAT,
        term: &plan.term_name,
        term_id: &plan.term_id,
        revision: plan.revision,
        replanned: plan.replanned,
        made: plan.made.to_rfc3339_opts(chrono::SecondsFormat::Secs, true),
        reason: &plan.reason,
        facts: facts(&plan.facts, plan),
        weights: weights(&term.rules.weights),
        odds: odds.map(super::odds::of),
        idle_sites: idle::sites(idle, term, &plan.facts),
        weeks: weeks(term, plan),
        rhythm: rhythm::series(term, plan).into_iter().map(series_json).collect(),
        batches: plan.batches.iter().map(|one| batch_json(term, one)).collect(),
    })
}

/// One batch. Keys: `format`, and those of a batch in [`plan`].
pub fn batch(term: &Term, batch: &Batch) -> String {
    #[derive(Serialize)]
    struct OneBatch<'a> {
        format: u32,
        #[serde(flatten)]
        batch: BatchJson<'a>,
    }
    write(&OneBatch { format: FORMAT, batch: batch_json(term, batch) })
}

fn facts<'a>(facts: &'a Facts, plan: &Plan) -> FactsJson<'a> {
    FactsJson {
        target_g: tenths(plan.servings.iter().map(|serving| serving.target).sum()),
        planned_g: tenths(plan.servings.iter().map(|serving| serving.planned).sum()),
        short_g: tenths(facts.short_grams),
        short_bound_g: facts.short_bound_grams.map(tenths),
        surplus_g: tenths(facts.surplus_grams),
        cost: facts.cost,
        cost_bound: facts.cost_bound,
        solver: &facts.solver,
        effort: facts.effort,
        seed: facts.seed,
        seconds: facts.seconds,
        stopped: facts.stopped,
    }
}

fn weights(weights: &Weights) -> WeightsJson {
    let Weights {
        short,
        very_short,
        mild_share,
        unsure,
        surplus,
        sowing,
        visit,
        task,
        further_tank,
        scant,
        split,
        overmature,
        mixed,
        idle,
        series,
        plug,
        bought,
        hole_day,
        stored,
        stale,
    } = *weights;
    WeightsJson {
        short,
        very_short,
        mild_share,
        unsure,
        surplus,
        sowing,
        visit,
        task,
        further_tank,
        scant,
        split,
        overmature,
        mixed,
        idle,
        series,
        plug,
        bought,
        hole_day,
        stored,
        stale,
    }
}

fn weeks(term: &Term, plan: &Plan) -> Vec<WeekJson> {
    let ways = by_way(plan);
    let surplus = surplus_by_week(plan);
    let mut weeks = Vec::new();
    let mut week = Week::of(term.start);
    let lacking = lacking(term, plan);
    while week.monday() <= term.end {
        let servings = plan
            .servings
            .iter()
            .filter(|serving| Week::of(serving.date) == week)
            .map(|serving| {
                let ways = ways.get(&serving.date).copied().unwrap_or_default();
                let lacks = lacking.get(&serving.date).cloned().unwrap_or_default();
                ServingJson {
                    date: serving.date,
                    target_g: tenths(serving.target),
                    planned_g: tenths(serving.planned),
                    whole_heads_g: tenths(ways.whole_heads),
                    cuts_g: tenths(ways.cuts),
                    short_g: tenths(serving.short()),
                    met: !serving.is_short(term.rules.tolerance),
                    kinds: lacks.kinds,
                    kinds_missing: lacks.kinds_missing,
                    below_share: lacks
                        .below_share
                        .into_iter()
                        .map(|(crop, grams)| (crop.to_string(), tenths(grams)))
                        .collect(),
                    reason: serving.shortfall.map(reason_key),
                    reason_text: serving.shortfall.map(reason),
                }
            })
            .collect();
        weeks.push(WeekJson {
            week: week.to_string(),
            monday: week.monday(),
            breaks: breaks_in(term, week),
            surplus_g: tenths(surplus.get(&week).copied().unwrap_or(0.0)),
            servings,
        });
        week = week.next();
    }
    weeks
}

/// Fixed word for a reason.
fn reason_key(shortfall: Shortfall) -> &'static str {
    match shortfall {
        Shortfall::TooEarly => "too-early",
        Shortfall::DaysOff => "days-off",
        Shortfall::Holes => "holes",
        Shortfall::Nursery => "nursery",
        Shortfall::Hands => "hands",
        Shortfall::Crops => "crops",
        Shortfall::OnlyIn => "only-in",
        Shortfall::OneTank => "one-tank",
        Shortfall::Together => "together",
        Shortfall::Water => "water",
        Shortfall::Unattended => "unattended",
        Shortfall::Failure => "failure",
        Shortfall::Search => "search",
    }
}

fn series_json(series: rhythm::Series<'_>) -> SeriesJson<'_> {
    SeriesJson {
        site: series.site.as_str(),
        crop: series.crop.as_str(),
        plugs: series.plugs,
        sown: series.sown,
        left_out: series.left_out,
    }
}

fn batch_json<'a>(term: &'a Term, batch: &'a Batch) -> BatchJson<'a> {
    BatchJson {
        id: batch.id.as_str(),
        crop: batch.crop.as_str(),
        crop_name: crop_name(term, &batch.crop),
        site: batch.site.as_str(),
        sown: batch.sown,
        standing: batch.is_standing(),
        in_cups: batch.origin == Origin::InCups,
        bought_days: match batch.origin {
            Origin::Bought { days } => Some(days),
            _ => None,
        },
        plugs: batch.plugs,
        seeds_per_plug: batch.seeds_per_plug,
        plants: batch.plants(),
        expected_g: tenths(batch.grams()),
        parts: batch.parts.iter().map(part).collect(),
    }
}

fn part(part: &Part) -> PartJson<'_> {
    PartJson {
        plants: part.plants,
        tank: part.tank.as_str(),
        transplant: part.transplant,
        holes: &part.holes,
        kept_empty: &part.kept_empty,
        cuts_before: part.cuts_before,
        lost: part.lost,
        harvests: part.harvests.iter().map(harvest).collect(),
    }
}

fn harvest(harvest: &Harvest) -> HarvestJson {
    HarvestJson {
        date: harvest.date,
        way: way(harvest.way),
        number: harvest.number,
        expected_g: tenths(harvest.grams),
        surplus_g: tenths(harvest.surplus()),
        serves: harvest
            .serves
            .iter()
            .map(|served| ServedJson { date: served.date, grams_g: tenths(served.grams) })
            .collect(),
    }
}

/// Fixed word for a way of harvesting.
pub(super) fn way(way: Way) -> &'static str {
    match way {
        Way::Cut => "cut",
        Way::WholeHead => "whole-head",
    }
}
