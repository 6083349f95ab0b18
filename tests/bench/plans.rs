//! How good plans are, and how soon: `cargo bench --bench plans`, `-- --help` for options.
//!
//! Every plan is checked before it is counted. Times are wall times of one run on whatever else the
//! machine does meanwhile; its cores and load are printed with them.

mod cases;
mod naive;
mod rival;
mod value;

use cases::Case;
use chrono::DateTime;
use clap::Parser;
use rival::Rival;
use sowtide::check::check;
use sowtide::domain::plan::Plan;
use sowtide::domain::term::{OneCropTanks, Term};
use sowtide::schedule::{self, Options, Phase, Progress, Watch};
use std::error::Error;
use std::fs;
use std::sync::{Mutex, PoisonError};
use std::thread::available_parallelism;
use std::time::Instant;
use tabled::builder::Builder;
use tabled::settings::object::Columns;
use tabled::settings::{Alignment, Style};

/// Plans terms of several sizes and tells how good the plans are, and how soon.
#[derive(Parser)]
struct Wishes {
    /// Only this term: one-room, school, too-much, tight or thirty-sites
    #[arg(long, value_name = "TERM")]
    only: Option<String>,
    /// Seed of the search
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// Thousands of steps of the search, instead of what suits the term's size
    #[arg(long, value_name = "THOUSANDS")]
    effort: Option<u64>,
    /// Let HiGHS work on the same model for so many seconds and compare
    #[arg(long, value_name = "SECONDS")]
    rival: Option<u64>,
    /// Given by cargo
    #[arg(long, hide = true)]
    bench: bool,
}

/// How one term went.
struct Run {
    plan: Plan,
    /// Grams wanted in the term.
    target: f64,
    /// Seconds in all, and until the bound was known.
    seconds: f64,
    bound_seconds: Option<f64>,
    /// Seconds, points and grams short of the best plan after each round, the finished plan last.
    trace: Vec<(f64, f64, f64)>,
}

fn main() -> Result<(), Box<dyn Error>> {
    let wishes = Wishes::parse();
    let mut cases = cases::all()?;
    if let Some(only) = &wishes.only {
        cases.retain(|case| case.name == only);
        if cases.is_empty() {
            return Err(format!("there is no term {only}").into());
        }
    }
    let cores = available_parallelism().map_or(1, usize::from);
    println!("{cores} cores, load {} at the start; seed {}", load(), wishes.seed);
    let (mut sizes, mut plans, mut naives, mut rivals) =
        (sizes_head(), plans_head(), naives_head(), rivals_head());
    for Case { name, term } in &cases {
        eprintln!("{name} ...");
        let size = schedule::model_size(term);
        sizes.push_record([
            (*name).to_owned(),
            term.sites.len().to_string(),
            size.rows.to_string(),
            size.columns.to_string(),
            size.nonzeros.to_string(),
        ]);
        let run = plan(term, &wishes)?;
        plans.push_record(plans_row(name, &run));
        naives.push_record(naives_row(name, term, &run)?);
        if let Some(seconds) = wishes.rival {
            let rival = rival::run(term, seconds, wishes.seed, cores)?;
            rivals.push_record(rivals_row(name, &run, &rival));
        }
    }
    show("The planning model", sizes);
    show(
        "Plans (seconds until the bound is known, the first plan stands, and the shortfall beyond the bound is \
         within a share of the target or nil)",
        plans,
    );
    show("Sowing the same number every week, whatever the calendar", naives);
    if wishes.rival.is_some() {
        show("HiGHS on the same model (points; ours / HiGHS: below 1 our plan is the better)", rivals);
    }
    println!("load {} at the end", load());
    Ok(())
}

/// Load averages, where the system tells them in a file.
fn load() -> String {
    fs::read_to_string("/proc/loadavg")
        .map_or("unknown".into(), |text| text.split_whitespace().take(3).collect::<Vec<_>>().join(" "))
}

/// Plans the term and notes when what was reached.
fn plan(term: &Term, wishes: &Wishes) -> Result<Run, Box<dyn Error>> {
    let started = Instant::now();
    let notes: Mutex<Vec<(f64, Progress)>> = Mutex::new(Vec::new());
    let report = |progress: Progress| {
        let mut notes = notes.lock().unwrap_or_else(PoisonError::into_inner);
        notes.push((started.elapsed().as_secs_f64(), progress));
    };
    let options = Options {
        seed: wishes.seed,
        effort: wishes.effort,
        until_stopped: false,
        term_id: "bench".into(),
        made: DateTime::UNIX_EPOCH,
    };
    let watch = Watch { stop: &|| false, report: &report, threads: 2 };
    let plan = schedule::plan(term, None, &options, &watch)?;
    let seconds = started.elapsed().as_secs_f64();
    refuse_unsound(term, &plan)?;
    let notes = notes.into_inner().unwrap_or_else(PoisonError::into_inner);
    let bound_seconds =
        notes.iter().find(|(_, progress)| progress.phase == Phase::Search).map(|(seconds, _)| *seconds);
    let mut trace: Vec<(f64, f64, f64)> = notes
        .iter()
        .filter_map(|(seconds, progress)| Some((*seconds, progress.points?, progress.short_grams?)))
        .collect();
    trace.push((seconds, plan.facts.cost, plan.facts.short_grams));
    Ok(Run { plan, target: term.target_grams(), seconds, bound_seconds, trace })
}

fn refuse_unsound(term: &Term, plan: &Plan) -> Result<(), Box<dyn Error>> {
    match check(term, plan).first() {
        Some(violation) => Err(format!("a plan does not pass the checker: {violation}").into()),
        None => Ok(()),
    }
}

impl Run {
    /// Grams short beyond what no plan can avoid.
    fn avoidable(&self, short: f64) -> f64 {
        (short - self.plan.facts.short_bound_grams.unwrap_or(0.0)).max(0.0)
    }

    /// Seconds until a plan stood with at most so many avoidable grams short.
    fn until(&self, grams: f64) -> Option<f64> {
        self.trace.iter().find(|(_, _, short)| self.avoidable(*short) <= grams).map(|(seconds, ..)| *seconds)
    }
}

fn sizes_head() -> Builder {
    Builder::from_iter([["term", "sites", "rows", "columns", "nonzeros"]])
}

fn plans_head() -> Builder {
    Builder::from_iter([[
        "term",
        "bound",
        "first",
        "1 %",
        "0.1 %",
        "nil",
        "all",
        "short g",
        "beyond g",
        "% of target",
        "points",
        "bound",
        "gap",
    ]])
}

fn plans_row(name: &str, run: &Run) -> Vec<String> {
    let facts = &run.plan.facts;
    let beyond = run.avoidable(facts.short_grams);
    // Half a gram is nothing anybody could weigh.
    let times = [0.01 * run.target, 0.001 * run.target, 0.5].map(|grams| seconds(run.until(grams)));
    let [one, tenth, nil] = times;
    vec![
        name.to_owned(),
        seconds(run.bound_seconds),
        seconds(run.trace.first().map(|(seconds, ..)| *seconds)),
        one,
        tenth,
        nil,
        seconds(Some(run.seconds)),
        format!("{:.0}", facts.short_grams),
        format!("{beyond:.0}"),
        format!("{:.3}", 100.0 * beyond / run.target),
        format!("{:.1}", facts.cost),
        facts.cost_bound.map_or("-".into(), |bound| format!("{bound:.1}")),
        facts
            .cost_bound
            .map_or("-".into(), |bound| format!("{:.1} %", 100.0 * (facts.cost - bound) / facts.cost)),
    ]
}

fn naives_head() -> Builder {
    Builder::from_iter([["term", "unmet", "surplus g", "our unmet", "our surplus g"]])
}

fn naives_row(name: &str, term: &Term, run: &Run) -> Result<Vec<String>, Box<dyn Error>> {
    // Who sows the same every week does not think of cleaning, nor of what work and waiting greens cost.
    let mut easy = term.clone();
    (easy.rules.clean_every, easy.rules.one_crop_tanks) = (None, OneCropTanks::No);
    let weights = &mut easy.rules.weights;
    (weights.task, weights.further_tank, weights.scant, weights.split) = (0.0, 0.0, 0.0, 0.0);
    (weights.overmature, weights.stored, weights.stale) = (0.0, 0.0, 0.0);
    let naive = naive::best(&easy).ok_or("the rule finds no crop to sow")?;
    refuse_unsound(&easy, &naive)?;
    let unmet = |plan: &Plan| format!("{:.1} %", 100.0 * plan.facts.short_grams / run.target);
    Ok(vec![
        name.to_owned(),
        unmet(&naive),
        format!("{:.0}", naive.facts.surplus_grams),
        unmet(&run.plan),
        format!("{:.0}", run.plan.facts.surplus_grams),
    ])
}

fn rivals_head() -> Builder {
    Builder::from_iter([[
        "term",
        "ours",
        "s",
        "HiGHS by then",
        "ratio",
        "HiGHS at its end",
        "s",
        "ratio",
        "its bound",
    ]])
}

fn rivals_row(name: &str, run: &Run, rival: &Rival) -> Vec<String> {
    let ours = run.plan.facts.cost;
    let points = |points: Option<f64>| points.map_or("no plan".into(), |points| format!("{points:.1}"));
    let ratio = |points: Option<f64>| points.map_or("-".into(), |points| format!("{:.3}", ours / points));
    let (then, end) = (rival.points_at(run.seconds), rival.points_at(f64::INFINITY));
    vec![
        name.to_owned(),
        format!("{ours:.1}"),
        format!("{:.1}", run.seconds),
        points(then),
        ratio(then),
        points(end),
        format!("{:.1}", rival.seconds),
        ratio(end),
        format!("{:.1}", rival.bound),
    ]
}

fn seconds(time: Option<f64>) -> String {
    time.map_or("-".into(), |time| format!("{time:.1}"))
}

fn show(title: &str, rows: Builder) {
    let mut table = rows.build();
    table.with(Style::blank()).modify(Columns::new(1..), Alignment::right());
    println!("\n{title}\n{table}");
}
