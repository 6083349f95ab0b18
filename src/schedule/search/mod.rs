//! The search for whole plants: simulated annealing over batches and the paths of their plants.
//!
//! A linear program gives the bound; what remains hard is that batches have a smallest size and a
//! fixed price and that plants are whole. Here handfuls of plants are moved from path to path, with all
//! totals kept up to date, some hundred thousand times a second. One walk may end in a corner: a small term is walked
//! several times from the beginning, and then every term from the best plan on, heated again.

mod anneal;
mod around;
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
use anneal::{Annealing, REHEATED, WALKERS, Walker, anneal, hurry, steps_a_round, walkers};
pub(super) use found::{Found, FoundBatch, FoundPart};
use moves::Servings;
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
pub(super) use resume::{Going, left, resume};
use state::State;

/// Candidates of a term that is walked once; a smaller one is walked more often, at most as often as there are beginnings.
const MANY: u64 = 1200;
const MOST_WALKS: u64 = 3;
/// Walks from the best plan on. More follow, up to so many in all, while each saves such a share of the plan's points.
const AGAIN: u64 = 2;
const AGAIN_AT_MOST: u64 = 6;
const SAVES: f64 = 0.01;
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
    3000 + 3 * instance.candidates.len() as u64
}

/// The same when a plan is made anew. Weighing changes against grams takes many more steps than grams alone, but where
/// there is little to choose from few are enough.
pub(super) fn usual_effort_again(instance: &Instance) -> u64 {
    let candidates = instance.candidates.len() as u64;
    (11_000 + 10 * candidates).min(48 * candidates)
}

/// Walks that suit the size of a term: from the beginning, and in all.
fn usual_walks(instance: &Instance) -> (u64, u64) {
    if instance.net.servings.is_empty() {
        return (0, 0);
    }
    let begun = (MANY / instance.candidates.len().max(1) as u64).clamp(1, MOST_WALKS);
    (begun, begun + AGAIN)
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
    let ((begun, walks), effort) = (usual_walks(instance), budget.effort);
    let plant_price = instance.rhythm.as_ref().map(|_| plant(instance));
    let mut best = standing.clone();
    let (mut walk, mut longer, mut saved) = (0, 0, false);
    while !(watch.stop)() {
        let kind = match walk {
            _ if walks == 0 => break,
            _ if walk < begun => Kind::Fresh,
            _ if walk < walks => Kind::Again,
            _ if budget.longer && saved && walk < begun + AGAIN_AT_MOST => Kind::Again,
            _ if budget.longer && longer < further(instance) && misses(&best, hints) => Kind::Longer,
            _ if !budget.until_stopped => break,
            _ if walk % walks < begun => Kind::Fresh,
            _ => Kind::Again,
        };
        longer += u64::from(kind == Kind::Longer);
        let fresh = kind == Kind::Fresh;
        let begun = if fresh { begin(&standing, hints, &servings, (seed, walk)) } else { best.clone() };
        let before = best.judged();
        let mut even = begun.clone();
        series::even_out(&mut even);
        if even.judged() < best.judged() {
            best = even;
        }
        let annealing = Annealing {
            heat: heat(instance, hints, walk, kind),
            steps: steps_a_round(effort, walks) * if kind == Kind::Longer { walks * LONGER } else { 1 },
            walk,
            walks: walks.max(walk + 1),
            plant: plant_price.filter(|_| fresh),
        };
        anneal(walkers(&begun, (seed, walk)), &mut best, &servings, &annealing, watch);
        saved = best.judged() < before * (1.0 - SAVES);
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

/// Where a walk begins and how hot.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Kind {
    /// From the beginning.
    Fresh,
    /// From the best plan on, not as hot.
    Again,
    /// From the best plan on, hotter and longer, because what is missed is worth it.
    Longer,
}

/// Longer walks at most.
fn further(instance: &Instance) -> u64 {
    if instance.rhythm.is_some() { FURTHER_IN_RHYTHM } else { FURTHER }
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
/// in the term: as much as the work of some batches, then a share of it; where greens must be short or sown in a rhythm, in
/// every other walk of a small term, and from the best plan on, as much as that many missing plants at the beginning.
fn heat(instance: &Instance, hints: &Hints, walk: u64, kind: Kind) -> (f64, f64) {
    let (work, plant) = (work(instance), plant(instance));
    // Until sowings are in rhythm, greens are short.
    let scarce = hints.short >= 1.0 || instance.rhythm.is_some();
    let hot = match kind {
        Kind::Fresh if scarce || walk % 2 == 1 => work.max(plant),
        Kind::Fresh => work,
        Kind::Again => REHEATED * work.max(plant),
        Kind::Longer => work + plant,
    };
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
