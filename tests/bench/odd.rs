//! Small odd terms against proven optima: `cargo bench --bench odd`, `-- --help` for options.
//!
//! HiGHS gets the exported model of each term, every tank and every task told apart, and so many seconds. It has it
//! easier: it needs no numbered holes, and takes tasks of batches that are cut again for one. Every plan of ours passes the
//! checker first.

#![allow(clippy::unwrap_used, reason = "a bench that cannot go on should stop")]

mod rival;
#[allow(dead_code, reason = "the stories in tests/it use more of it")]
#[path = "../it/sample.rs"]
mod sample;
#[allow(dead_code, reason = "the stories in tests/it use more of it")]
#[path = "../it/support/mod.rs"]
mod support;

use chrono::{DateTime, Weekday};
use clap::Parser;
use proptest::strategy::{Strategy, ValueTree};
use proptest::test_runner::{Config, RngAlgorithm, TestRng, TestRunner};
use rival::Rival;
use sowtide::check::check;
use sowtide::domain::plan::Plan;
use sowtide::domain::term::{OneCropTanks, Rhythm, Term};
use sowtide::schedule::{self, Options, Watch};
use std::error::Error;
use std::thread::available_parallelism;
use std::time::Instant;
use support::any::any_term;
use support::build::{TermBuilder, site, tank, wanted};
use support::crops::{cutter, head};
use tabled::builder::Builder;
use tabled::settings::object::Columns;
use tabled::settings::{Alignment, Style};

/// Random terms beside those with a name.
const RANDOM: usize = 36;

/// Plans small odd terms and compares them with what HiGHS finds for the exported model.
#[derive(Parser)]
struct Wishes {
    /// Only terms whose name contains this
    #[arg(long, value_name = "TEXT")]
    only: Option<String>,
    /// Seeds of the search, from 1 on; the worst plan counts
    #[arg(long, default_value_t = 1)]
    seeds: u64,
    /// Thousands of steps of the search, instead of what suits the term's size
    #[arg(long, value_name = "THOUSANDS")]
    effort: Option<u64>,
    /// Let HiGHS work for so many seconds on each term; 0 leaves it out
    #[arg(long, value_name = "SECONDS", default_value_t = 120)]
    rival: u64,
    /// Given by cargo
    #[arg(long, hide = true)]
    bench: bool,
}

fn main() -> Result<(), Box<dyn Error>> {
    let wishes = Wishes::parse();
    let cores = available_parallelism().map_or(1, usize::from);
    println!("{cores} cores");
    let mut rows =
        Builder::from_iter([["term", "s", "short g", "ours", "HiGHS", "its bound", "s", "excess"]]);
    let mut excesses = Vec::new();
    for (name, term) in terms() {
        if wishes.only.as_ref().is_some_and(|only| !name.contains(only)) {
            continue;
        }
        let began = Instant::now();
        let ours = worst_plan(&term, &wishes)?;
        let seconds = began.elapsed().as_secs_f64() / wishes.seeds as f64;
        let rival = (wishes.rival > 0).then(|| rival::run(&term, wishes.rival, 1, cores)).transpose()?;
        let excess = rival.as_ref().and_then(|rival| excess(&ours, rival));
        let row = row(&name, seconds, &ours, rival.as_ref(), excess);
        println!("{}", row.join("  "));
        rows.push_record(row);
        excesses.extend(excess);
    }
    let mut table = rows.build();
    table.with(Style::blank()).modify(Columns::new(1..), Alignment::right());
    println!("\n{table}");
    if !excesses.is_empty() {
        let mean = excesses.iter().sum::<f64>() / excesses.len() as f64;
        let worst = excesses.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        println!("\n{} terms compared: mean excess {mean:.2} %, worst {worst:.2} %", excesses.len());
    }
    Ok(())
}

/// The worst of the plans of all seeds.
fn worst_plan(term: &Term, wishes: &Wishes) -> Result<Plan, Box<dyn Error>> {
    let mut worst: Option<Plan> = None;
    for seed in 1..=wishes.seeds {
        let options = Options {
            seed,
            effort: wishes.effort,
            until_stopped: false,
            term_id: "bench".into(),
            made: DateTime::UNIX_EPOCH,
        };
        let watch = Watch { stop: &|| false, report: &|_| {}, threads: 2 };
        let plan = schedule::plan(term, None, &options, &watch)?;
        if let Some(violation) = check(term, &plan).first() {
            return Err(format!("a plan does not pass the checker: {violation}").into());
        }
        if worst.as_ref().is_none_or(|worst| worst.facts.cost < plan.facts.cost) {
            worst = Some(plan);
        }
    }
    worst.ok_or_else(|| "no seed was given".into())
}

/// Percent by which a plan of ours costs more than the rival's best.
fn excess(ours: &Plan, rival: &Rival) -> Option<f64> {
    let best = rival.points_at(f64::INFINITY)?;
    Some(100.0 * (ours.facts.cost - best) / best.abs().max(1.0))
}

fn row(name: &str, seconds: f64, ours: &Plan, rival: Option<&Rival>, excess: Option<f64>) -> Vec<String> {
    let points = |points: Option<f64>| points.map_or("-".into(), |points| format!("{points:.2}"));
    vec![
        name.to_owned(),
        format!("{seconds:.1}"),
        format!("{:.0}", ours.facts.short_grams),
        format!("{:.2}", ours.facts.cost),
        points(rival.and_then(|rival| rival.points_at(f64::INFINITY))),
        points(rival.map(|rival| rival.bound)),
        rival.map_or("-".into(), |rival| format!("{:.1}", rival.seconds)),
        excess.map_or("-".into(), |excess| format!("{excess:.2} %")),
    ]
}

fn terms() -> Vec<(String, Term)> {
    let mut all = vec![
        ("buckets".to_owned(), buckets()),
        ("enough holes all year".to_owned(), year(7, 8)),
        ("one hole too few".to_owned(), year(5, 11)),
        ("two sites, shares".to_owned(), shares()),
    ];
    let rng = TestRng::from_seed(RngAlgorithm::ChaCha, &[7; 32]);
    let mut runner = TestRunner::new_with_rng(Config::default(), rng);
    for number in 1..=RANDOM {
        let mut term = any_term().new_tree(&mut runner).unwrap().current();
        // The program does not know of promises and cleaning, nor of crops that share a tank, nor of parts told apart in one.
        term.promise(0.0);
        term.rules.clean_every = None;
        term.rules.one_crop_tanks = OneCropTanks::No;
        term.rules.weights.split = 0.0;
        term.rules.rhythm = Rhythm::Free;
        all.push((format!("random {number}"), term));
    }
    all
}

/// Eight tanks of one hole.
fn buckets() -> Term {
    let room = (1..=8).fold(site("room"), |room, number| room.tank(tank(&format!("bucket-{number}"), 1, 1)));
    TermBuilder::default()
        .weeks(14)
        .serves(Weekday::Thu, 150.0)
        .site(room.meets(&[Weekday::Mon, Weekday::Thu]))
        .crop(wanted(head("oakleaf")))
        .build()
}

/// One crop, a class every day, a year; by Little's law 56 holes are enough for a head a day.
fn year(rows: u32, columns: u32) -> Term {
    use Weekday::{Fri, Mon, Sat, Sun, Thu, Tue, Wed};
    let week = [Mon, Tue, Wed, Thu, Fri, Sat, Sun];
    TermBuilder::default()
        .weeks(52)
        .serves(Thu, 900.0)
        .site(site("room").tank(tank("a", rows, columns)).meets(&week).nursery(200, 7))
        .crop(wanted(head("oakleaf")))
        .build()
}

/// Two sites, a least share, and a limit to what one tank may carry.
fn shares() -> Term {
    let chard = sowtide::domain::term::WantedCrop { at_least: 0.15, ..wanted(cutter("chard")) };
    TermBuilder::default()
        .weeks(16)
        .serves(Weekday::Thu, 700.0)
        .site(site("hall").tank(tank("a", 3, 5)).tank(tank("b", 2, 6)).meets(&[Weekday::Mon, Weekday::Thu]))
        .site(site("annex").tank(tank("c", 3, 4)).meets(&[Weekday::Tue]))
        .crop(wanted(head("oakleaf")))
        .crop(chard)
        .rules(|rules| rules.one_tank_at_most = 0.5)
        .build()
}
