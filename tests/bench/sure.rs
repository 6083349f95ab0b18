//! What a promise is worth: `cargo bench --bench sure`, `-- --help` for options.
//!
//! A term is planned for a promise, and without one for larger targets, all larger by the same share (what people do who know
//! no better); each plan is then played with luck against the targets as they are. What counts is how sure days are for the
//! same surplus. Every plan is checked. At the end: how long it takes to play a term 2,000 times, against planning it.

use chrono::DateTime;
use clap::Parser;
use sowtide::check::check;
use sowtide::domain::luck::Trouble;
use sowtide::domain::odds::Odds;
use sowtide::domain::plan::Plan;
use sowtide::domain::tasks::numbers;
use sowtide::domain::term::Term;
use sowtide::files::store::Disk;
use sowtide::files::term_file;
use sowtide::insight::odds::{Luck, odds};
use sowtide::schedule::{self, Options, Watch};
use std::error::Error;
use std::path::PathBuf;
use std::thread::available_parallelism;
use std::time::Instant;
use tabled::builder::Builder;
use tabled::settings::Style;

/// Plans a term for a promise and for larger targets, and plays the plans.
#[derive(Parser)]
struct Wishes {
    /// Folder of the term
    #[arg(long, default_value = "examples/school")]
    folder: PathBuf,
    /// Chances promised, in per cent
    #[arg(long, value_delimiter = ',', default_values_t = [80, 90])]
    sure: Vec<u32>,
    /// Shares by which targets are raised instead, in per cent
    #[arg(long, value_delimiter = ',', default_values_t = [0, 4, 6, 8])]
    more: Vec<u32>,
    /// Seeds of the searches
    #[arg(long, default_value_t = 1)]
    seeds: u64,
    /// Given by cargo
    #[arg(long, hide = true)]
    bench: bool,
}

const WATCH: Watch = Watch { stop: &|| false, report: &|_| {}, threads: 2 };
const RUNS: u32 = 2_000;

fn main() -> Result<(), Box<dyn Error>> {
    let wishes = Wishes::parse();
    let mut term = term_file::read(&Disk::at(&wishes.folder)).map_err(|mistakes| mistakes.to_string())?.term;
    term.promise(0.0);
    let cores = available_parallelism().map_or(1, usize::from);
    println!("{cores} cores; {}; each plan played {RUNS} times", wishes.folder.display());
    let mut table = Builder::new();
    table.push_record([
        "",
        "seed",
        "surplus",
        "days reached",
        "worst day",
        "all days",
        "short",
        "plugs",
        "tasks",
    ]);
    let mut seconds = (0.0, 0.0);
    for seed in 1..=wishes.seeds {
        let promised = wishes.sure.iter().map(|sure| (format!("promise {sure} %"), promised(&term, *sure)));
        let raised = wishes.more.iter().map(|more| (format!("targets + {more} %"), raised(&term, *more)));
        for (name, planned_for) in promised.chain(raised) {
            let began = Instant::now();
            let plan = planned(&planned_for, seed)?;
            seconds.0 += began.elapsed().as_secs_f64();
            let began = Instant::now();
            let luck = Luck { runs: RUNS, seed: 1, threads: 2, trouble: Trouble::default() };
            let odds = odds(&term, &plan, None, luck);
            seconds.1 += began.elapsed().as_secs_f64();
            table.push_record(row((name, seed), &term, &plan, &odds));
        }
    }
    println!("{}", table.build().with(Style::markdown()));
    println!("Playing took {:.3} of planning", seconds.1 / seconds.0);
    Ok(())
}

fn promised(term: &Term, sure: u32) -> Term {
    let mut term = term.clone();
    term.promise(f64::from(sure) / 100.0);
    term
}

fn raised(term: &Term, more: u32) -> Term {
    let mut term = term.clone();
    let factor = 1.0 + f64::from(more) / 100.0;
    term.servings.iter_mut().for_each(|serving| serving.grams *= factor);
    term
}

fn planned(term: &Term, seed: u64) -> Result<Plan, Box<dyn Error>> {
    let options = Options {
        seed,
        effort: None,
        until_stopped: false,
        term_id: "bench".to_owned(),
        made: DateTime::UNIX_EPOCH,
    };
    let plan = schedule::plan(term, None, &options, &WATCH)?;
    let found = check(term, &plan);
    if found.is_empty() { Ok(plan) } else { Err(format!("{found:?}").into()) }
}

fn row((name, seed): (String, u64), term: &Term, plan: &Plan, odds: &Odds) -> [String; 9] {
    let harvests = plan.batches.iter().flat_map(|batch| &batch.parts).flat_map(|part| &part.harvests);
    let grams: f64 = harvests.map(|harvest| harvest.grams).sum();
    let wanted = term.target_grams();
    let shares = || odds.days.iter().map(|day| day.reached.share);
    let percent = |share: f64| format!("{:.1} %", 100.0 * share);
    [
        name,
        seed.to_string(),
        percent(grams / wanted - 1.0),
        percent(shares().sum::<f64>() / odds.days.len().max(1) as f64),
        percent(shares().fold(1.0, f64::min)),
        percent(odds.every_day.share),
        percent(odds.short_grams / wanted),
        plan.batches.iter().map(|batch| batch.plugs).sum::<u32>().to_string(),
        plan.batches.iter().map(|batch| numbers(batch).len()).sum::<usize>().to_string(),
    ]
}
