//! A term looked back on.

use super::{FORMAT, tenths, write};
use crate::domain::crop::Limits;
use crate::domain::ids::{BatchId, CropId, SiteId};
use crate::domain::journal::Place;
use crate::domain::review::{
    Accuracy, BatchReview, Change, FEWEST, Guess, Lean, Loss, Outcome, Quantity, Review, Tally, Verdict,
    accuracy,
};
use chrono::NaiveDate;
use serde::Serialize;
use std::collections::BTreeSet;

#[derive(Serialize)]
struct ReviewJson<'a> {
    format: u32,
    until: NaiveDate,
    fewest_plants: usize,
    accuracy: Vec<AccuracyJson<'a>>,
    estimates: Vec<EstimateJson<'a>>,
    batches: Vec<OutcomeJson<'a>>,
    crops: Vec<OutcomeJson<'a>>,
    sites: Vec<OutcomeJson<'a>>,
    all: OutcomeJson<'a>,
    losses: Vec<LossJson<'a>>,
    undone: Vec<UndoneJson<'a>>,
    slips: Vec<SlipJson<'a>>,
}

#[derive(Serialize)]
struct AccuracyJson<'a> {
    site: Option<&'a str>,
    quantity: &'static str,
    plants: usize,
    told: Option<ToldJson>,
}

#[derive(Serialize)]
struct ToldJson {
    bias: f64,
    bias_low: f64,
    bias_high: f64,
    leans: &'static str,
    spread: f64,
    miss: f64,
    later_from: Option<NaiveDate>,
    earlier_miss: Option<f64>,
    later_miss: Option<f64>,
    change: Option<&'static str>,
}

#[derive(Serialize)]
struct EstimateJson<'a> {
    entry: String,
    day: NaiveDate,
    site: &'a str,
    batch: &'a str,
    crop: &'a str,
    quantity: &'static str,
    estimate: f64,
    found: f64,
    slip: bool,
}

#[derive(Serialize, Default)]
struct OutcomeJson<'a> {
    batch: Option<&'a str>,
    crop: Option<&'a str>,
    site: Option<&'a str>,
    planned_g: f64,
    weighed_g: f64,
    not_recorded_g: f64,
    by_figures_g: f64,
    of_plan: Option<f64>,
    of_figures: Option<f64>,
    came_up: Option<TallyJson>,
    kept: Option<TallyJson>,
    fit: Option<TallyJson>,
    lived: Option<TallyJson>,
    assumed: u32,
    missing: u32,
}

#[derive(Serialize)]
struct TallyJson {
    count: u32,
    of: u32,
    share: f64,
    low: f64,
    high: f64,
    library: f64,
    library_low: f64,
    library_high: f64,
    verdict: &'static str,
}

#[derive(Serialize)]
struct LossJson<'a> {
    day: NaiveDate,
    batch: &'a str,
    crop: &'a str,
    site: &'a str,
    tank: Option<&'a str>,
    number: u32,
    cause: Option<&'a str>,
}

#[derive(Serialize)]
struct UndoneJson<'a> {
    date: NaiveDate,
    batch: &'a str,
    planned_g: f64,
}

#[derive(Serialize)]
struct SlipJson<'a> {
    date: NaiveDate,
    batch: &'a str,
    share: f64,
}

/// A term looked back on. Keys:
///
/// - `format`, `until` (that day included), `fewest_plants` of which anything is told
/// - `accuracy`: `site` (`null`: all), `quantity` (`height`, `width`, `leaves`, `longest_root`, `mass`), `plants`, `told` (`null`:
///   too few): `bias` (mean of `estimate / found - 1`), `bias_low` and `bias_high` (its limits, 19 times in 20), `leans` (`high`,
///   `low`, `neither`), `spread` (standard deviation), `miss` (mean size), `later_from`, `earlier_miss`, `later_miss` and `change`
///   (`better`, `worse`, `neither`), all `null` where halves are too small
/// - `estimates`: `entry`, `day`, `site`, `batch`, `crop`, `quantity`, `estimate`, `found` (cm, grams, leaves), `slip` (left out of
///   `accuracy`, as it can hardly be meant)
/// - `batches`, `crops`, `sites`, `all`: `batch`, `crop`, `site` (`null` where several), `planned_g` (due until then, as promised
///   when it was to be sown), `weighed_g`, `not_recorded_g` (planned for harvests that nobody recorded), `by_figures_g` (what
///   was weighed should have been), `of_plan` (`null`: nothing to hold against), `of_figures`
/// - in each of them `came_up` (plugs), `kept` (seedlings fit to move), `fit` (of all plugs), `lived` (plants first harvested), `null` if
///   not counted: `count`, `of`, `share`, `low` and `high` (its limits), `library`, `library_low`, `library_high`, `verdict`
///   (`too_few`, `fewer`, `more`, `fits`); `assumed` (plants of `lived` whose harvest nobody recorded), `missing` (left over when others
///   were harvested)
/// - `losses`: `day`, `batch`, `crop`, `site`, `tank` (`null`: in the nursery), `number`, `cause` (`null`: none recorded)
/// - `undone`, planned harvests that seem not done: `date`, `batch`, `planned_g`
/// - `slips`, harvests that cannot have weighed what was recorded: `date`, `batch`, `share` (of what their figures say)
pub fn review(review: &Review) -> String {
    let crops = review.by(|batch| &batch.crop).into_iter();
    let sites = review.by(|batch| &batch.site).into_iter();
    write(&ReviewJson {
        format: FORMAT,
        until: review.until,
        fewest_plants: FEWEST,
        accuracy: accuracies(review),
        estimates: review.guesses.iter().map(estimate).collect(),
        batches: review.batches.iter().map(batch).collect(),
        crops: crops.map(|(crop, sum)| OutcomeJson { crop: Some(crop.as_str()), ..outcome(&sum) }).collect(),
        sites: sites.map(|(site, sum)| OutcomeJson { site: Some(site.as_str()), ..outcome(&sum) }).collect(),
        all: outcome(&review.in_all()),
        losses: review.losses.iter().map(loss).collect(),
        undone: review
            .undone
            .iter()
            .map(|step| UndoneJson {
                date: step.day,
                batch: step.batch.as_str(),
                planned_g: tenths(step.grams),
            })
            .collect(),
        slips: review
            .slips
            .iter()
            .map(|slip| SlipJson {
                date: slip.day,
                batch: slip.batch.as_str(),
                share: thousandths(slip.share),
            })
            .collect(),
    })
}

/// Each quantity at each site, then at all together.
fn accuracies(review: &Review) -> Vec<AccuracyJson<'_>> {
    let sites: BTreeSet<&SiteId> = review.guesses.iter().map(|guess| &guess.site).collect();
    let places = sites.into_iter().map(Some).chain([None]);
    let wanted = places.flat_map(|site| Quantity::ALL.into_iter().map(move |quantity| (site, quantity)));
    let told = wanted.filter_map(|(site, quantity)| {
        let here = |guess: &&Guess| guess.quantity == quantity && site.is_none_or(|site| guess.site == *site);
        let Accuracy { plants, told } = accuracy(review.guesses.iter().filter(here));
        (plants > 0).then(|| AccuracyJson {
            site: site.map(SiteId::as_str),
            quantity: name(quantity),
            plants,
            told: told.map(|told| ToldJson {
                bias: thousandths(told.bias),
                bias_low: thousandths(told.limits.low),
                bias_high: thousandths(told.limits.high),
                leans: match told.lean() {
                    Lean::High => "high",
                    Lean::Low => "low",
                    Lean::Neither => "neither",
                },
                spread: thousandths(told.spread),
                miss: thousandths(told.miss),
                later_from: told.halves.map(|halves| halves.from),
                earlier_miss: told.halves.map(|halves| thousandths(halves.earlier)),
                later_miss: told.halves.map(|halves| thousandths(halves.later)),
                change: told.halves.map(|halves| match halves.change {
                    Change::Better => "better",
                    Change::Worse => "worse",
                    Change::Neither => "neither",
                }),
            }),
        })
    });
    told.collect()
}

fn name(quantity: Quantity) -> &'static str {
    match quantity {
        Quantity::Height => "height",
        Quantity::Width => "width",
        Quantity::Leaves => "leaves",
        Quantity::LongestRoot => "longest_root",
        Quantity::Mass => "mass",
    }
}

fn estimate(guess: &Guess) -> EstimateJson<'_> {
    EstimateJson {
        entry: guess.entry.to_string(),
        day: guess.day,
        site: guess.site.as_str(),
        batch: guess.batch.as_str(),
        crop: guess.crop.as_str(),
        quantity: name(guess.quantity),
        estimate: guess.estimate,
        found: guess.found,
        slip: guess.is_slip(),
    }
}

fn batch(batch: &BatchReview) -> OutcomeJson<'_> {
    OutcomeJson {
        batch: Some(BatchId::as_str(&batch.batch)),
        crop: Some(CropId::as_str(&batch.crop)),
        site: Some(SiteId::as_str(&batch.site)),
        ..outcome(&batch.outcome)
    }
}

fn outcome(outcome: &Outcome) -> OutcomeJson<'static> {
    let mass = &outcome.mass;
    OutcomeJson {
        planned_g: tenths(mass.planned),
        weighed_g: tenths(mass.weighed),
        not_recorded_g: tenths(mass.unrecorded),
        by_figures_g: tenths(mass.by_figures),
        of_plan: mass.of_plan().map(thousandths),
        of_figures: mass.of_figures().map(thousandths),
        came_up: tally(&outcome.came_up),
        kept: tally(&outcome.kept),
        fit: tally(&outcome.fit),
        lived: tally(&outcome.lived),
        assumed: outcome.assumed,
        missing: outcome.missing,
        ..OutcomeJson::default()
    }
}

fn tally(tally: &Tally) -> Option<TallyJson> {
    let (Limits { low, high }, band) = (tally.limits()?, tally.band());
    Some(TallyJson {
        count: tally.count,
        of: tally.of,
        share: thousandths(tally.share()),
        low: thousandths(low),
        high: thousandths(high),
        library: thousandths(band.value),
        library_low: thousandths(band.low),
        library_high: thousandths(band.high),
        verdict: match tally.verdict()? {
            Verdict::TooFew => "too_few",
            Verdict::Fewer => "fewer",
            Verdict::More => "more",
            Verdict::Fits => "fits",
        },
    })
}

fn loss(loss: &Loss) -> LossJson<'_> {
    LossJson {
        day: loss.day,
        batch: loss.batch.as_str(),
        crop: loss.crop.as_str(),
        site: loss.site.as_str(),
        tank: match &loss.place {
            Place::Nursery => None,
            Place::Tank(tank) => Some(tank.as_str()),
        },
        number: loss.plants,
        cause: loss.cause.as_deref(),
    }
}

fn thousandths(share: f64) -> f64 {
    (share * 1000.0).round() / 1000.0 + 0.0
}
