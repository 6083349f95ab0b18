//! How steady replanning is: `cargo bench --bench stability`, `-- --help` for options.
//!
//! Random failures hit the example school in the middle of its term: a batch, the seedlings of a site, a tank, a week
//! without class. Each is answered four ways: nothing is done but what must be, what was lost is sown again by hand, the rest
//! of the term is planned again from nothing, and the plan is repaired with a price on every change. Every plan is checked
//! before it is counted.

mod by_hand;

use chrono::{DateTime, Days, NaiveDate};
use clap::Parser;
use rand::seq::IndexedRandom;
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use sowtide::check::check;
use sowtide::domain::difference::Change;
use sowtide::domain::ids::{BatchId, SiteId};
use sowtide::domain::journal::{Amount, Entry, EntryId, Journal, Place, What};
use sowtide::domain::plan::{Plan, Serving};
use sowtide::domain::term::{Term, Weights};
use sowtide::files::store::Disk;
use sowtide::files::{plan_file, term_file};
use sowtide::replan::difference::{Plans, difference};
use sowtide::replan::{self, Outcome, Steady, laid_over};
use sowtide::schedule::{self, Options, Resumed, Watch};
use std::collections::BTreeSet;
use std::error::Error;
use std::path::PathBuf;
use std::thread::available_parallelism;
use std::time::Instant;
use tabled::builder::Builder;
use tabled::settings::object::Columns;
use tabled::settings::{Alignment, Style};

/// Repairs a plan after random failures and compares with planning from nothing and with doing nothing.
#[derive(Parser)]
struct Wishes {
    /// Failures to try
    #[arg(long, default_value_t = 32)]
    failures: usize,
    /// Seed of the failures
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// Thousands of steps of each search, instead of what suits the term's size
    #[arg(long, value_name = "THOUSANDS")]
    effort: Option<u64>,
    /// Keep the plan before the failures in this file, and take it from there if it is there
    #[arg(long, value_name = "FILE")]
    plan: Option<PathBuf>,
    /// Given by cargo
    #[arg(long, hide = true)]
    bench: bool,
}

const WATCH: Watch = Watch { stop: &|| false, report: &|_| {}, threads: 2 };

/// Points for a changed task: the three choices people have, and some around them for the curve.
fn prices() -> [f64; 5] {
    let price = |steady: Steady| steady.price(&Weights::default());
    [price(Steady::Low), 1.0, 2.0, price(Steady::Usual), price(Steady::High)]
}

/// Where the usual price stands among them.
const USUAL: usize = 3;

/// One answer to a failure.
#[derive(Clone, Copy, Default)]
struct Answer {
    /// Grams short from the day of the failure on.
    short: f64,
    /// Calendar entries that change.
    changes: u32,
    /// Weeks until no serving day is shorter than before the failure.
    weeks: f64,
    /// Serving days that would be met if nothing were done, and are not.
    given_up: usize,
    /// Sites at which entries change.
    sites: usize,
    seconds: f64,
}

/// The answers to one failure.
struct Answers {
    idle: Answer,
    hand: Answer,
    /// Planned from nothing for as long as a first plan is searched for.
    first: Answer,
    /// Planned from nothing for as long as a repair.
    nothing: Answer,
    /// By price.
    repaired: Vec<Answer>,
}

fn main() -> Result<(), Box<dyn Error>> {
    let wishes = Wishes::parse();
    let term = term_file::read(&Disk::at("examples/school")).map_err(|mistakes| mistakes.to_string())?.term;
    let plan = before(&term, &wishes)?;
    let cores = available_parallelism().map_or(1, usize::from);
    println!("{cores} cores; {} failures, seed {}", wishes.failures, wishes.seed);
    let mut rng = ChaCha8Rng::seed_from_u64(wishes.seed);
    let mut rows = Builder::default();
    rows.push_record([
        "failure",
        "day",
        "short: before",
        "nothing done",
        "by hand",
        "from nothing",
        "repaired",
        "changes: by hand",
        "from nothing",
        "repaired",
        "days given up",
        "sites changed",
        "weeks",
        "s",
    ]);
    let mut answers = Vec::new();
    for number in 0..wishes.failures {
        let (name, today, journal) = failure(&term, &plan, number, &mut rng);
        let really = laid_over(&term, &journal);
        let asked = |plan: &Plan| planned_short(plan, today);
        let nothing = scratch(&really, &plan, &journal, today, wishes.effort)?;
        let first = scratch(&really, &plan, &journal, today, Some(plan.facts.effort))?;
        let by_hand = by_hand::sown_again(&really, &plan, &journal, today)?;
        let hand = answer(&really, &plan, &by_hand, today, 0.0)?;
        let mut repaired = Vec::new();
        for price in prices() {
            repaired.push(repair(&really, &plan, &journal, (today, price), wishes.effort)?);
        }
        let idle = repaired[0].1;
        let usual = repaired[USUAL].0;
        rows.push_record([
            name,
            today.to_string(),
            format!("{:.0}", asked(&plan)),
            format!("{:.0}", idle.short),
            format!("{:.0}", hand.short),
            format!("{:.0}", nothing.short),
            format!("{:.0}", usual.short),
            hand.changes.to_string(),
            nothing.changes.to_string(),
            usual.changes.to_string(),
            usual.given_up.to_string(),
            usual.sites.to_string(),
            format!("{:.0}", usual.weeks),
            format!("{:.1}", usual.seconds),
        ]);
        eprintln!("{} of {}", number + 1, wishes.failures);
        let repaired = repaired.into_iter().map(|(answer, _)| answer).collect();
        answers.push(Answers { idle, hand, first, nothing, repaired });
    }
    println!("{}", rows.build().with(Style::psql()).modify(Columns::new(2..), Alignment::right()));
    println!("{}", curve(&answers));
    println!("{}", against_hands(&answers, term.serving_grams.unwrap_or(50.0)));
    Ok(())
}

/// The plan before anything fails.
fn before(term: &Term, wishes: &Wishes) -> Result<Plan, Box<dyn Error>> {
    let here = Disk::at("");
    let name = wishes.plan.as_ref().map(|path| path.to_string_lossy());
    if let Some(name) = &name
        && let Some(plan) = plan_file::read(&here, name).map_err(|mistakes| mistakes.to_string())?
    {
        return Ok(plan);
    }
    let plan = schedule::plan(term, None, &options(wishes.effort), &WATCH)?;
    sound(term, &plan)?;
    if let Some(name) = &name {
        plan_file::write(&here, name, &plan)?;
    }
    Ok(plan)
}

fn options(effort: Option<u64>) -> Options {
    Options {
        seed: 1,
        effort,
        until_stopped: false,
        term_id: "0123456789abcdef".to_owned(),
        made: DateTime::UNIX_EPOCH,
    }
}

fn sound(term: &Term, plan: &Plan) -> Result<(), Box<dyn Error>> {
    match check(term, plan).first() {
        None => Ok(()),
        Some(violation) => Err(format!("a plan is not sound: {violation}").into()),
    }
}

/// A batch, a tray, a tank or a week of classes fails, in turn, in weeks 4 to 13 of the term.
fn failure(term: &Term, plan: &Plan, number: usize, rng: &mut ChaCha8Rng) -> (String, NaiveDate, Journal) {
    let today = term.start + Days::new(rng.random_range(21..91));
    let site = term.sites.choose(rng).map_or_else(|| SiteId::new(""), |site| site.id.clone());
    let growing = plan.batches.iter().filter(|batch| {
        batch.sown < today && batch.parts.iter().any(|part| part.leaves().is_some_and(|day| day > today))
    });
    let growing: Vec<_> = growing.collect();
    let lost = |batch: &BatchId, place: Place| What::Lost {
        batch: batch.clone(),
        place,
        plants: Amount::All,
        holes: Vec::new(),
        cause: "failed".to_owned(),
    };
    let (name, whats): (&str, Vec<(NaiveDate, What)>) = match number % 4 {
        0 => {
            let Some(batch) = growing.choose(rng) else {
                return ("none".to_owned(), today, Journal::default());
            };
            let tanks: BTreeSet<_> = batch.parts.iter().map(|part| part.tank.clone()).collect();
            let places = tanks.into_iter().map(Place::Tank).chain([Place::Nursery]);
            ("batch", places.map(|place| (today, lost(&batch.id, place))).collect())
        }
        1 => {
            let trays = growing
                .iter()
                .filter(|batch| batch.site == site && batch.parts.iter().any(|part| part.transplant > today));
            ("seedlings", trays.map(|batch| (today, lost(&batch.id, Place::Nursery))).collect())
        }
        2 => {
            let tanks = term.site(&site).map(|site| site.tanks.as_slice()).unwrap_or_default();
            let until = rng.random_bool(0.5).then(|| today + Days::new(21));
            let tank = tanks.choose(rng).map(|tank| What::TankOut { tank: tank.id.clone(), until });
            ("tank", tank.into_iter().map(|what| (today, what)).collect())
        }
        _ => ("week", (0..7).map(|day| (today + Days::new(day), What::ClassLost)).collect()),
    };
    let entries = whats.into_iter().enumerate().map(|(number, (day, what))| Entry {
        id: EntryId(number as u32 + 1),
        recorded: DateTime::UNIX_EPOCH,
        day,
        site: Some(site.clone()),
        by: None,
        what,
        replaces: None,
    });
    (name.to_owned(), today, Journal::new(entries.collect()))
}

fn repair(
    term: &Term,
    plan: &Plan,
    journal: &Journal,
    (today, price): (NaiveDate, f64),
    effort: Option<u64>,
) -> Result<(Answer, Answer), Box<dyn Error>> {
    let started = Instant::now();
    let outcome = replan::replan(term, plan, journal, (today, price), &options(effort), &WATCH)?;
    let seconds = started.elapsed().as_secs_f64();
    let (left, new) = match outcome {
        Outcome::NothingNew => (plan.clone(), plan.clone()),
        Outcome::New(resumed) => {
            let Resumed { left, plan } = *resumed;
            (left, plan)
        }
    };
    let met = |serving: &&Serving| serving.date >= today && !serving.is_short(term.rules.tolerance);
    let given_up = |day: &&Serving| new.servings.iter().filter(met).all(|other| other.date != day.date);
    let given_up = left.servings.iter().filter(met).filter(given_up).count();
    let answer = |other: &Plan, seconds| answer(term, plan, other, today, seconds);
    Ok((Answer { given_up, ..answer(&new, seconds)? }, answer(&left, 0.0)?))
}

/// Plans what is left of the term from nothing but what grows.
fn scratch(
    term: &Term,
    plan: &Plan,
    journal: &Journal,
    today: NaiveDate,
    effort: Option<u64>,
) -> Result<Answer, Box<dyn Error>> {
    let mut grows = plan.clone();
    grows.batches.retain(|batch| batch.sown < today);
    let started = Instant::now();
    let outcome = replan::replan(term, &grows, journal, (today, 0.0), &options(effort), &WATCH)?;
    let seconds = started.elapsed().as_secs_f64();
    match outcome {
        Outcome::NothingNew => answer(term, plan, plan, today, seconds),
        Outcome::New(resumed) => answer(term, plan, &resumed.plan, today, seconds),
    }
}

fn answer(
    term: &Term,
    old: &Plan,
    new: &Plan,
    today: NaiveDate,
    seconds: f64,
) -> Result<Answer, Box<dyn Error>> {
    sound(term, new)?;
    let found = difference(term, Plans { before: old, left: None, after: new }, today);
    let batches = found.batches.iter().filter(|batch| batch.change != Change::Kept);
    let sites: BTreeSet<_> = batches.map(|batch| &batch.site).collect();
    let worse = |(old, new): &(&Serving, &Serving)| new.date >= today && new.short() > old.short() + 1.0;
    let last = old.servings.iter().zip(&new.servings).filter(worse).map(|(_, new)| new.date).max();
    let weeks = last.map_or(0.0, |last| (last - today).num_days() as f64 / 7.0);
    Ok(Answer {
        short: planned_short(new, today),
        changes: found.tasks.altered(),
        weeks: weeks.ceil(),
        given_up: 0,
        sites: sites.len(),
        seconds,
    })
}

fn planned_short(plan: &Plan, today: NaiveDate) -> f64 {
    plan.servings.iter().filter(|serving| serving.date >= today).map(Serving::short).sum()
}

/// For each price: the share of the grams that planning from nothing recovers, searching for as long, for which share of
/// its changes. Changes
/// that no answer can spare, because what they are about has failed, count on both sides.
fn curve(answers: &[Answers]) -> String {
    let count = answers.len().max(1) as f64;
    let sum = |of: &dyn Fn(&Answers) -> f64| answers.iter().map(of).sum::<f64>();
    let recoverable = sum(&|all| all.idle.short - all.nothing.short);
    let most_changes = sum(&|all| f64::from(all.nothing.changes));
    let mut table = Builder::default();
    table.push_record(["points a change", "grams recovered", "share", "changes", "share", "weeks", "s"]);
    let mut row = |name: String, pick: &dyn Fn(&Answers) -> Answer| {
        let grams = sum(&|all| all.idle.short - pick(all).short);
        let changes = sum(&|all| f64::from(pick(all).changes));
        table.push_record([
            name,
            format!("{grams:.0}"),
            format!("{:.1} %", 100.0 * grams / recoverable),
            format!("{changes:.0}"),
            format!("{:.1} %", 100.0 * changes / most_changes),
            format!("{:.1}", sum(&|all| pick(all).weeks) / count),
            format!("{:.1}", sum(&|all| pick(all).seconds) / count),
        ]);
    };
    row("nothing done".to_owned(), &|all| all.idle);
    row("by hand".to_owned(), &|all| all.hand);
    row("from nothing, as long as plan".to_owned(), &|all| all.first);
    row("from nothing, as long as replan".to_owned(), &|all| all.nothing);
    for (at, price) in prices().iter().enumerate() {
        row(price.to_string(), &|all| all.repaired[at]);
    }
    table.build().with(Style::psql()).modify(Columns::new(1..), Alignment::right()).to_string()
}

/// In how many failures a repair changes more than twice as many entries as hands do and each further one brings no serving.
fn against_hands(answers: &[Answers], serving: f64) -> String {
    let too_many = |all: &&Answers| {
        let (hand, repaired) = (all.hand, all.repaired[USUAL]);
        let further = f64::from(repaired.changes) - 2.0 * f64::from(hand.changes);
        further > 0.0 && hand.short - repaired.short < further * serving
    };
    let count = answers.iter().filter(too_many).count();
    format!("More than twice as many changes as by hand, and not a serving for each further one: {count}")
}
