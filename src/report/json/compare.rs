//! Ways to grow crops, side by side.

use super::plan::way;
use super::{FORMAT, tenths, write};
use crate::domain::compare::{Comparison, Estimate, Grown, Measure, Misfit, Style, Verdict};
use crate::domain::growth::Way;
use crate::domain::ids::SiteId;
use serde::Serialize;

#[derive(Serialize)]
struct CompareJson<'a> {
    format: u32,
    batch_plants: u32,
    at: Vec<AtJson<'a>>,
}

#[derive(Serialize)]
struct AtJson<'a> {
    sites: Vec<&'a str>,
    ways: Vec<WayJson<'a>>,
    verdicts: Vec<VerdictJson<'a>>,
    misfits: Vec<MisfitJson<'a>>,
}

#[derive(Serialize)]
struct WayJson<'a> {
    crop: &'a str,
    way: &'static str,
    cuts: u32,
    holes_a_plant: u32,
    harvest_days: &'a [u32],
    harvest_g: Vec<f64>,
    nursery_days: EstimateJson,
    tank_days: EstimateJson,
    first_greens_days: EstimateJson,
    greens_days: EstimateJson,
    without_greens_days: u32,
    hole_a_day_g: EstimateJson,
    seed_g: EstimateJson,
    minute_g: Option<EstimateJson>,
}

#[derive(Serialize)]
struct EstimateJson {
    usual: f64,
    low: f64,
    high: f64,
}

#[derive(Serialize)]
struct VerdictJson<'a> {
    measure: &'static str,
    ahead: WayName<'a>,
    behind: WayName<'a>,
    times_as_much: f64,
    chance: f64,
    too_close: bool,
}

#[derive(Serialize)]
struct WayName<'a> {
    crop: &'a str,
    way: &'static str,
    cuts: u32,
}

#[derive(Serialize)]
struct MisfitJson<'a> {
    crop: &'a str,
    misfit: &'static str,
}

/// Ways to grow crops. Keys: `format`, `batch_plants` (plants of the batches over which figures spread), `at`: `sites` (at
/// which all comes to the same), `ways`: `crop`, `way` (`whole-head`, `cut`), `cuts` (before the plant is pulled),
/// `holes_a_plant`, `harvest_days` (ages, from sowing), `harvest_g` (of one plant put into the tank, by harvest),
/// `nursery_days`, `tank_days`, `first_greens_days` (from sowing), `greens_days` (from the first harvest until nothing may be
/// served any more), `without_greens_days` (of these, in days), `hole_a_day_g`, `seed_g`, `minute_g` (`null` where work takes
/// no time); these figures have `usual`, `low` and `high` (one batch in ten lies below, one above). `verdicts`: `measure`
/// (`hole_a_day_g`, `seed_g`, `minute_g`), `ahead` and `behind` (`crop`, `way`, `cuts`), `times_as_much`, `chance` (0 to 1 that
/// it is so for a batch of each), `too_close`. `misfits`: `crop`, `misfit` (`room`, `days`, `solution`).
pub fn compare(found: &[Comparison], plants: u32) -> String {
    write(&CompareJson { format: FORMAT, batch_plants: plants, at: found.iter().map(at).collect() })
}

fn at(here: &Comparison) -> AtJson<'_> {
    let verdicts = Measure::ALL.into_iter().filter_map(|measure| here.verdict(measure));
    AtJson {
        sites: here.sites.iter().map(SiteId::as_str).collect(),
        ways: here.ways.iter().map(grown).collect(),
        verdicts: verdicts.map(|found| verdict(&found)).collect(),
        misfits: here
            .misfits
            .iter()
            .map(|(crop, misfit)| MisfitJson { crop: crop.as_str(), misfit: misfit_name(*misfit) })
            .collect(),
    }
}

fn grown(way: &Grown) -> WayJson<'_> {
    let WayName { crop, way: name, cuts } = way_name(way);
    WayJson {
        crop,
        way: name,
        cuts,
        holes_a_plant: way.holes,
        harvest_days: &way.harvest_days,
        harvest_g: way.harvest_grams.iter().map(|grams| tenths(*grams)).collect(),
        nursery_days: estimate(way.nursery_days),
        tank_days: estimate(way.tank_days),
        first_greens_days: estimate(way.first_greens_days),
        greens_days: estimate(way.greens_days),
        without_greens_days: way.without_days,
        hole_a_day_g: estimate(way.hole_day_grams),
        seed_g: estimate(way.seed_grams),
        minute_g: way.minute_grams.map(estimate),
    }
}

fn verdict<'a>(verdict: &Verdict<'a>) -> VerdictJson<'a> {
    VerdictJson {
        measure: match verdict.measure {
            Measure::HoleDay => "hole_a_day_g",
            Measure::Seed => "seed_g",
            Measure::Minute => "minute_g",
        },
        ahead: way_name(verdict.ahead),
        behind: way_name(verdict.behind),
        times_as_much: thousandths(verdict.ratio()),
        chance: thousandths(verdict.chance()),
        too_close: verdict.too_close(),
    }
}

fn way_name(grown: &Grown) -> WayName<'_> {
    let (name, cuts) = match grown.style {
        Style::Pulled => (way(Way::WholeHead), 0),
        Style::Cut(cuts) => (way(Way::Cut), cuts),
    };
    WayName { crop: grown.crop.as_str(), way: name, cuts }
}

fn misfit_name(misfit: Misfit) -> &'static str {
    match misfit {
        Misfit::Room => "room",
        Misfit::Days => "days",
        Misfit::Solution => "solution",
    }
}

fn estimate(figure: Estimate) -> EstimateJson {
    let [usual, low, high] = [figure.usual, figure.low, figure.high].map(thousandths);
    EstimateJson { usual, low, high }
}

/// A hole gives few grams a day, so that tenths would be too coarse.
fn thousandths(number: f64) -> f64 {
    (number * 1000.0).round() / 1000.0
}
