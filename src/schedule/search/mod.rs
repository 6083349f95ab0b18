//! The search for whole plants: simulated annealing over batches and the paths of their plants.
//!
//! A linear program gives the bound; what remains hard is that batches have a smallest size and a
//! fixed price and that plants are whole. Here handfuls of plants are moved from path to path, with all
//! totals kept up to date, some hundred thousand times a second. A small term is walked several times from the beginning,
//! because one walk may end in a corner.

mod anneal;
mod begin;
mod change;
mod chores;
mod dates;
mod draw;
mod found;
mod guide;
mod habit;
mod home;
mod keep;
mod ledger;
mod mixing;
mod moves;
mod paths;
mod rebuild;
mod resow;
mod resume;
mod rhythm;
mod series;
mod settle;
mod spread;
mod start;
mod state;
mod steps;
mod swap;
#[cfg(test)]
mod tests;
mod turns;
mod worth;

use super::instance::{Candidate, Hints, Instance, Path};
use super::options::ScheduleError;
use super::watch::Watch;
use anneal::{Annealing, WALKERS, Walker, anneal, hurry, steps_a_round, walkers};
pub(super) use found::{Found, FoundBatch, FoundPart};
use moves::Servings;
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
pub(super) use resume::{Going, left, resume};
use state::State;

/// Candidates of a term that is walked once; a smaller one is walked more often, at most as often as there are beginnings.
const MANY: u64 = 1200;
const MOST_WALKS: u64 = 3;
/// Batches whose work a step may cost at the beginning of a walk, and where it has cooled: whole batches are moved at first,
/// then single tasks, and plants from then on.
const HOT: f64 = 2.0;
const COOL: f64 = 0.1;
/// Share of the target that may be missing, beyond what must be, before the search goes on; and how many times as long it
/// then takes.
const MISSED: f64 = 0.01;
const LONGER: u64 = 2;
/// Further walks at most where much is missed, and the same where sowings keep a rhythm, which makes it harder.
const FURTHER: u64 = 1;
const FURTHER_IN_RHYTHM: u64 = 2;

/// Thousands of steps that suit the size of a term.
pub(super) fn usual_effort(instance: &Instance) -> u64 {
    2000 + 2 * instance.candidates.len() as u64
}

/// The same when a plan is made anew. Weighing changes against grams takes many more steps than grams alone, but where
/// there is little to choose from few are enough.
pub(super) fn usual_effort_again(instance: &Instance) -> u64 {
    let candidates = instance.candidates.len() as u64;
    (11_000 + 10 * candidates).min(48 * candidates)
}

/// Walks from the beginning that suit the size of a term.
fn usual_walks(instance: &Instance) -> u64 {
    if instance.net.servings.is_empty() {
        return 0;
    }
    (MANY / instance.candidates.len().max(1) as u64).clamp(1, MOST_WALKS)
}

/// How long to search.
pub(super) struct Budget {
    /// Thousands of steps of the usual walks.
    pub(super) effort: u64,
    /// Whether a longer walk follows where much is missed.
    pub(super) longer: bool,
    /// Whether to walk again and again until stopped.
    pub(super) until_stopped: bool,
}

/// Walks as long as it should, and gives every plant its hole.
pub(super) fn search(
    instance: &Instance,
    hints: &Hints,
    seed: u64,
    budget: &Budget,
    watch: &Watch,
) -> Result<Found, ScheduleError> {
    let servings = Servings::new(instance, &hints.harvests);
    let mut standing = State::new(instance);
    start::standing(&mut standing)?;
    let (walks, effort) = (usual_walks(instance), budget.effort);
    let further = if instance.rhythm.is_some() { FURTHER_IN_RHYTHM } else { FURTHER };
    let plant_price = instance.rhythm.as_ref().map(|_| plant(instance));
    let mut best = standing.clone();
    let mut walk = 0;
    while !(watch.stop)() {
        // Once the usual walks are over, what is still missed is worth longer and hotter ones.
        let goes_on = budget.longer && walk >= walks && misses(&best, hints);
        let more = budget.until_stopped || walk < walks || walk < walks + further && goes_on;
        if walks == 0 || !more {
            break;
        }
        let begun = if goes_on { best.clone() } else { begin(&standing, hints, &servings, (seed, walk)) };
        let mut even = begun.clone();
        series::even_out(&mut even);
        if even.judged() < best.judged() {
            best = even;
        }
        let (heat, steps) = if goes_on {
            (
                (HOT * (work(instance) + plant(instance)), COOL * work(instance)),
                steps_a_round(effort, 1) * LONGER,
            )
        } else {
            (heat(instance, hints, walk), steps_a_round(effort, walks))
        };
        let plant = plant_price.filter(|_| !goes_on);
        let annealing = Annealing { heat, steps, walk, walks: walks.max(walk + 1), plant };
        anneal(walkers(&begun, (seed, walk)), &mut best, &servings, &annealing, watch);
        walk += u64::from(!(watch.stop)());
    }
    let stopped = walk < walks;
    if stopped && walk == 0 {
        hurry(&mut best, &servings, seed, plant_price);
    }
    let mut walker = Walker::new(best, seed.wrapping_add(WALKERS as u64));
    dates::polish(&mut walker.state);
    let batches = settle::settle(&mut walker, &servings, steps_a_round(effort, walks) / 4, None, watch)?;
    Ok(Found { batches, taken: walker.state.taken(), points: walker.state.points(), stopped })
}

/// What a walk begins with: as the linear program would, then serving after serving, then with nothing; where sowings are to keep
/// a rhythm, always the first, not yet in rhythm.
fn begin<'g>(
    standing: &State<'g>,
    hints: &Hints,
    servings: &Servings,
    (seed, walk): (u64, u64),
) -> State<'g> {
    let mut begun = standing.clone();
    let mut rng = ChaCha8Rng::seed_from_u64(seed.wrapping_add(walk * 1000 + 500));
    begun.allow_uneven(Some(0.0));
    match walk % 3 {
        _ if begun.rhythm.is_some() => begin::rounded(&mut begun, &hints.harvests, &mut rng),
        0 => begin::rounded(&mut begun, &hints.harvests, &mut rng),
        1 => begin::greedy(&mut begun, servings, &mut rng),
        _ => {}
    }
    begun
}

/// Whether a plan is short of what plants in fractions could bring by so much that a longer and hotter walk pays.
fn misses(plan: &State, hints: &Hints) -> bool {
    let target: f64 = plan.instance.net.servings.iter().map(|serving| serving.target).sum();
    plan.short().iter().sum::<f64>() - hints.short > MISSED * target
}

/// Points by which a step of a walk may make the plan worse at the beginning, and where it has cooled, from what things cost
/// in the term: as much as the work of some batches, then a share of it; where greens must be short or sown in a rhythm, and
/// in every other walk of a small term, as much as that many missing plants at the beginning.
fn heat(instance: &Instance, hints: &Hints, walk: u64) -> (f64, f64) {
    let work = work(instance);
    // Until sowings are in rhythm, greens are short.
    let scarce = hints.short >= 1.0 || instance.rhythm.is_some();
    let hot = if scarce || walk % 2 == 1 { work.max(plant(instance)) } else { work };
    (HOT * hot, COOL * work)
}

/// Points for the work of a batch.
fn work(instance: &Instance) -> f64 {
    let weights = &instance.net.term.rules.weights;
    weights.sowing + 2.0 * weights.task + 2.0 * weights.visit
}

/// Points for a plant that is missing: half of those that can be sown bring more.
fn plant(instance: &Instance) -> f64 {
    let weights = &instance.net.term.rules.weights;
    let first = |candidate: &Candidate| {
        let day = candidate.pulls.clone().chain(candidate.cuts.clone()).next()?;
        let path = Path::new(*instance.yields(candidate).tanks.first()?, candidate.transplants.start, &[day]);
        instance.grams(candidate, &path).next().map(|(_, grams)| grams)
    };
    let mut grams: Vec<f64> = instance.candidates.iter().filter_map(first).collect();
    grams.sort_by(f64::total_cmp);
    let median = grams.get(grams.len() / 2).copied().unwrap_or(0.0);
    weights.short * median
}
