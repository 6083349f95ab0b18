//! Whether learning helps: `cargo bench --bench learning`, `-- --help` for options.
//!
//! Worlds are invented in which every crop at every site has a pace, a yield and a regrowth that nobody knows, drawn
//! from the distributions that the estimator supposes, or from wider ones. A plan is carried out there, term after term, with luck of batches,
//! tanks and plants, and every harvest is weighed. What counts is how far the mass of each week to come is from its forecast: by
//! the library, by the mean of what was weighed so far of the crop at the site against the library (what people do who know
//! no better), and by what was learned. The last row forecasts with the hidden truth: no forecast can do better than that.

#![allow(clippy::unwrap_used, reason = "a bench that cannot go on should stop")]

#[allow(dead_code, reason = "the stories in tests/it use more of it")]
#[path = "../it/sample.rs"]
mod sample;
#[allow(dead_code, reason = "the stories in tests/it use more of it")]
#[path = "../it/support/mod.rs"]
mod support;

use chrono::Weekday::{Mon, Thu};
use chrono::{DateTime, NaiveDate};
use clap::Parser;
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, Normal};
use sowtide::check::check;
use sowtide::domain::calendar::{Week, days_between, plus_days};
use sowtide::domain::growth::Growing;
use sowtide::domain::ids::{CropId, SiteId};
use sowtide::domain::journal::{Entry, EntryId, Harvested, InTank, Journal, What};
use sowtide::domain::luck::SHARED;
use sowtide::domain::plan::{Batch, Part, Plan};
use sowtide::domain::site::CropHere;
use sowtide::domain::term::Term;
use sowtide::files::library::Library;
use sowtide::replan::learn::learn;
use sowtide::replan::weighed::outlook;
use sowtide::schedule::{self, Options, Watch};
use std::collections::BTreeMap;
use std::error::Error;
use support::build::{TermBuilder, site, tank, wanted};
use tabled::builder::Builder;
use tabled::settings::object::Columns;
use tabled::settings::{Alignment, Style};

/// Standard deviations of the hidden truth, as logarithms: yield of a site, a crop, a crop at a site; the same for pace; and
/// regrowth; those that the estimator supposes.
const YIELDS: [f64; 3] = [0.3, 0.2, 0.15];
const PACES: [f64; 3] = [0.06, 0.06, 0.04];
const REGROWTH: f64 = 0.35;
/// Of scales and trimming.
const SCALES: f64 = 0.05;
/// Weighings after which the rest of a first term is forecast.
const WITHIN: [usize; 3] = [2, 4, 8];
/// Terms carried out, and one more to forecast.
const TERMS: usize = 3;

/// Forecasts harvests of invented worlds.
#[derive(Parser)]
struct Wishes {
    /// Invented worlds
    #[arg(long, default_value_t = 40)]
    worlds: u64,
    /// Standard deviations of the hidden truth against those above
    #[arg(long, default_value_t = 1.0)]
    wider: f64,
    /// Given by cargo
    #[arg(long, hide = true)]
    bench: bool,
}

/// What nobody knows.
struct World {
    here: BTreeMap<(SiteId, CropId), CropHere>,
    regrowth: BTreeMap<CropId, f64>,
}

/// A harvest: batch, part and its number in the part, with what each plant gives.
struct Weighed {
    batch: usize,
    part: usize,
    harvest: usize,
    day: NaiveDate,
    grams: f64,
}

fn main() -> Result<(), Box<dyn Error>> {
    let wishes = Wishes::parse();
    let term = term()?;
    let plans: Vec<Plan> =
        (1..=TERMS as u64 + 1).map(|seed| planned(&term, seed)).collect::<Result<_, _>>()?;
    let mut errors: BTreeMap<(usize, &str), Vec<f64>> = BTreeMap::new();
    for seed in 0..wishes.worlds {
        for ((row, who), all) in one_world(&term, &plans, (seed, wishes.wider)) {
            errors.entry((row, who)).or_default().extend(all);
        }
    }
    println!("{} worlds; mean error of the mass of a week to come, against what it comes to", wishes.worlds);
    let mut table =
        Builder::from_iter([["after", "library", "raw means", "learned", "truth", "learned / library"]]);
    let names = ["nothing", "2 weighings", "4 weighings", "8 weighings", "1 term", "2 terms", "3 terms"];
    for (row, name) in names.into_iter().enumerate() {
        let mean = |who: &'static str| {
            let all = &errors[&(row, who)];
            all.iter().sum::<f64>() / all.len() as f64
        };
        let all = ["library", "raw", "learned", "truth"].map(mean);
        let shown = all.map(|error| format!("{:.1} %", 100.0 * error));
        let ratio = format!("{:.2}", all[2] / all[0]);
        table.push_record([name.to_owned()].into_iter().chain(shown).chain([ratio]));
    }
    let mut table = table.build();
    table.with(Style::blank()).modify(Columns::new(1..), Alignment::right());
    println!("\n{table}");
    Ok(())
}

/// Two rooms with two lettuces and a leaf that is cut again, from the library.
fn term() -> Result<Term, Box<dyn Error>> {
    let library = Library::builtin().map_err(|problems| problems.to_string())?;
    let here = |id| site(id).meets(&[Mon, Thu]).nursery(72, 4).tank(tank("a", 4, 6)).tank(tank("b", 4, 6));
    let builder = TermBuilder::default().weeks(22).site(here("hall")).site(here("loft")).serves(Thu, 900.0);
    let crops = ["butterhead", "romaine", "mizuna"].map(|id| library.get(id).cloned());
    let crops = crops.into_iter().collect::<Option<Vec<_>>>().ok_or("a crop is missing")?;
    Ok(crops.into_iter().fold(builder, |builder, crop| builder.crop(wanted(crop))).build())
}

fn planned(term: &Term, seed: u64) -> Result<Plan, Box<dyn Error>> {
    let options = Options {
        seed,
        effort: Some(300),
        until_stopped: false,
        term_id: "bench".into(),
        made: DateTime::UNIX_EPOCH,
    };
    let watch = Watch { stop: &|| false, report: &|_| {}, threads: 2 };
    let plan = schedule::plan(term, None, &options, &watch)?;
    match check(term, &plan).first() {
        Some(violation) => Err(format!("a plan does not pass the checker: {violation}").into()),
        None => Ok(plan),
    }
}

/// Errors of the forecasts of one world, by row of the table and forecaster.
fn one_world(
    term: &Term,
    plans: &[Plan],
    (seed, wider): (u64, f64),
) -> BTreeMap<(usize, &'static str), Vec<f64>> {
    let mut luck = ChaCha8Rng::seed_from_u64(seed);
    let world = World::new(term, wider, &mut luck);
    let truth = world.term(term);
    let (mut learned, mut ratios) = (term.clone(), Ratios::default());
    let mut errors = BTreeMap::new();
    for (number, plan) in plans.iter().enumerate() {
        let came = carried_out(&truth, plan, &mut luck);
        let row = if number == 0 { 0 } else { WITHIN.len() + number };
        let raw = ratios.term(term);
        for (who, by) in [("library", term), ("raw", &raw), ("learned", &learned), ("truth", &truth)] {
            errors.insert((row, who), misses(plan, &came, |batch, part| grams(by, batch, part), None));
        }
        if number == 0 {
            within_the_term((term, &truth), plan, &came, &mut errors);
        }
        let journal = journal(plan, &came);
        let over = plus_days(term.end, 1);
        for lesson in learn(&learned, plan, &journal, over) {
            learned.set_figure(&lesson.of, lesson.now);
        }
        ratios.add(term, plan, &came);
    }
    errors
}

/// Forecasts of what is still to come of a first term, after some weighings.
fn within_the_term(
    (term, truth): (&Term, &Term),
    plan: &Plan,
    came: &[Weighed],
    errors: &mut BTreeMap<(usize, &'static str), Vec<f64>>,
) {
    for (row, count) in WITHIN.into_iter().enumerate() {
        let so_far = &came[..count];
        let today = plus_days(so_far[count - 1].day, 1);
        let mut ratios = Ratios::default();
        ratios.add(term, plan, so_far);
        let raw = ratios.term(term);
        let outlook = outlook(term, plan, &journal(plan, so_far), today);
        let learned = |batch: &Batch, part: &Part| -> Vec<f64> {
            grams(term, batch, part).into_iter().map(|grams| grams * outlook.factor(batch)).collect()
        };
        let row = row + 1;
        errors.insert((row, "learned"), misses(plan, came, learned, Some(today)));
        for (who, by) in [("library", term), ("raw", &raw), ("truth", truth)] {
            errors.insert((row, who), misses(plan, came, |batch, part| grams(by, batch, part), Some(today)));
        }
    }
}

impl World {
    fn new(term: &Term, wider: f64, luck: &mut ChaCha8Rng) -> Self {
        let mut draw = |deviation: f64| Normal::new(0.0, wider * deviation).unwrap().sample(luck);
        let crops: Vec<[f64; 2]> = term.crops.iter().map(|_| [draw(YIELDS[1]), draw(PACES[1])]).collect();
        let mut here = BTreeMap::new();
        for site in &term.sites {
            let of_site = [draw(YIELDS[0]), draw(PACES[0])];
            for (wanted, of_crop) in term.crops.iter().zip(&crops) {
                let yield_factor = (of_site[0] + of_crop[0] + draw(YIELDS[2])).exp().clamp(0.3, 2.0);
                let pace = (of_site[1] + of_crop[1] + draw(PACES[2])).exp();
                here.insert(
                    (site.id.clone(), wanted.crop.id.clone()),
                    CropHere { pace, yield_factor, give_or_take: None },
                );
            }
        }
        let regrowth = term.crops.iter().map(|wanted| (wanted.crop.id.clone(), draw(REGROWTH).exp()));
        Self { here, regrowth: regrowth.collect() }
    }

    /// The term as somebody would know it who knew everything.
    fn term(&self, term: &Term) -> Term {
        let mut truth = term.clone();
        for site in &mut truth.sites {
            let own = self.here.iter().filter(|((id, _), _)| *id == site.id);
            site.crops = own.map(|((_, crop), here)| (crop.clone(), *here)).collect();
        }
        for wanted in &mut truth.crops {
            let factor = self.regrowth[&wanted.crop.id];
            if let Some(regrowth) = &mut wanted.crop.regrowth {
                // As far as the law of growth allows.
                regrowth.vigour.value = (regrowth.vigour.value * factor).clamp(0.5, 1.0);
                let strengths = regrowth.strength.value.iter_mut();
                strengths.for_each(|strength| *strength = (*strength * factor).min(1.0));
            }
        }
        truth
    }
}

/// Grams that each plant of a part gives at each of its harvests, by the figures of a term.
fn grams(term: &Term, batch: &Batch, part: &Part) -> Vec<f64> {
    let crop = &term.crop(&batch.crop).unwrap().crop;
    let growing = Growing::new(crop, term.site(&batch.site).unwrap());
    let days = |from, to| days_between(from, to) as u32;
    let mut stand = growing.planted(days(batch.sown, part.transplant));
    let mut since = part.transplant;
    let harvest = |harvest: &sowtide::domain::plan::Harvest| {
        stand = growing.later(stand, days(since, harvest.date));
        since = harvest.date;
        let each = growing.expected(growing.grams(stand), harvest.way) / crop.tank_survival.value;
        stand = growing.cut(stand);
        each
    };
    part.harvests.iter().map(harvest).collect()
}

/// What really comes of a plan, sorted by day.
fn carried_out(truth: &Term, plan: &Plan, luck: &mut ChaCha8Rng) -> Vec<Weighed> {
    let mut came = Vec::new();
    for (number, batch) in plan.batches.iter().enumerate() {
        let crop = &truth.crop(&batch.crop).unwrap().crop;
        let variation = &crop.variation.value;
        let mut draw = |deviation: f64| Normal::new(0.0, deviation).unwrap().sample(luck);
        // A batch that is slow is slow at all of its harvests.
        let mut own = truth.clone();
        let here = own.sites.iter_mut().find(|site| site.id == batch.site).unwrap();
        let mut known = here.as_stated(&batch.crop);
        known.pace *= 1.0 + draw(variation.days / f64::from(crop.usual_days()));
        known.yield_factor *= draw(variation.between_batches / 2.0).exp();
        here.crops.insert(batch.crop.clone(), known);
        for (at, part) in batch.parts.iter().enumerate() {
            let tank = draw(variation.between_plants * SHARED.sqrt());
            for (harvest, each) in grams(&own, batch, part).into_iter().enumerate() {
                let plants = f64::from(part.plants);
                let alone = draw(variation.between_plants * (1.0 - SHARED).sqrt() / plants.sqrt());
                let grams = plants * each * (tank + alone + draw(SCALES)).exp();
                let day = part.harvests[harvest].date;
                came.push(Weighed { batch: number, part: at, harvest, day, grams });
            }
        }
    }
    came.sort_by_key(|own| (own.day, own.batch, own.part));
    came
}

fn journal(plan: &Plan, came: &[Weighed]) -> Journal {
    let entries = came.iter().enumerate().map(|(number, own)| {
        let batch = &plan.batches[own.batch];
        let part = &batch.parts[own.part];
        let harvested = Harvested {
            batch: batch.id.clone(),
            places: vec![InTank { tank: part.tank.clone(), plants: part.plants, holes: part.holes.clone() }],
            way: part.harvests[own.harvest].way,
            grams: own.grams,
            measured_as: None,
            samples: Vec::new(),
        };
        Entry {
            id: EntryId(number as u32 + 1),
            recorded: DateTime::UNIX_EPOCH,
            day: own.day,
            site: Some(batch.site.clone()),
            by: None,
            what: What::Harvested(harvested),
            replaces: None,
        }
    });
    Journal::new(entries.collect())
}

/// How far each week's mass, of those from a day on, is from its forecast.
fn misses(
    plan: &Plan,
    came: &[Weighed],
    forecast: impl Fn(&Batch, &Part) -> Vec<f64>,
    from: Option<NaiveDate>,
) -> Vec<f64> {
    let mut weeks: BTreeMap<Week, (f64, f64)> = BTreeMap::new();
    for own in came.iter().filter(|own| from.is_none_or(|from| own.day >= from)) {
        let batch = &plan.batches[own.batch];
        let part = &batch.parts[own.part];
        let sums = weeks.entry(Week::of(own.day)).or_default();
        sums.0 += forecast(batch, part)[own.harvest] * f64::from(part.plants);
        sums.1 += own.grams;
    }
    weeks.values().map(|(forecast, came)| (forecast / came - 1.0).abs()).collect()
}

/// Sums of what was weighed of each crop at each site, and of what the library expects.
#[derive(Default)]
struct Ratios(BTreeMap<(SiteId, CropId), (f64, f64)>);

impl Ratios {
    fn add(&mut self, term: &Term, plan: &Plan, came: &[Weighed]) {
        for own in came {
            let batch = &plan.batches[own.batch];
            let part = &batch.parts[own.part];
            let sums = self.0.entry((batch.site.clone(), batch.crop.clone())).or_default();
            sums.0 += own.grams;
            sums.1 += grams(term, batch, part)[own.harvest] * f64::from(part.plants);
        }
    }

    /// The library's figures times the means so far.
    fn term(&self, term: &Term) -> Term {
        let mut raw = term.clone();
        for site in &mut raw.sites {
            for ((id, crop), (grams, expected)) in &self.0 {
                if *id == site.id {
                    let here = CropHere { pace: 1.0, yield_factor: grams / expected, give_or_take: None };
                    site.crops.insert(crop.clone(), here);
                }
            }
        }
        raw
    }
}
