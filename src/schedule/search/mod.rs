//! The search for whole plants: simulated annealing over batches and the paths of their plants.
//!
//! A linear program gives the bound; what remains hard is that batches have a smallest size and a
//! fixed price and that plants are whole. Here handfuls of plants are moved from path to path, with all
//! totals kept up to date, some hundred thousand times a second. Steps that make the plan worse are
//! accepted at first and less and less later on (simulated annealing; S. Kirkpatrick, C. D. Gelatt, M. P.
//! Vecchi, Science 220, 1983, pp. 671-680).
//!
//! Two walkers, each with its own random numbers, work side by side in rounds of a fixed number of
//! steps; after a round the worse one goes on from where the better one stands. So the result depends on
//! seed and effort only, never on the number of cores or the clock. A small term is walked several times from
//! the beginning, because one walk may end in a corner.

mod chores;
mod guide;
mod habit;
mod keep;
mod ledger;
mod moves;
mod paths;
mod rebuild;
mod resume;
mod settle;
mod spread;
mod start;
mod state;
mod supply;
mod worth;

use super::ground::{Ground, Path};
use super::{Phase, Progress, ScheduleError, Watch};
use crate::domain::lid::Place;
pub(super) use guide::Hint;
use moves::Servings;
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
pub(super) use resume::{Going, left, resume};
pub(super) use state::Lot;
use state::State;
pub(super) use supply::Taken;

/// Points by which a step may make the plan worse at the beginning. A gram short is so dear that where
/// greens must be short, all changes are larger.
const HOT: f64 = 8.0;
const HOT_IN_SCARCITY: f64 = 90.0;
/// The same at the end.
const COLD: f64 = 0.01;
const WALKERS: usize = 2;
const ROUNDS: u32 = 60;
/// Heat and rounds of a hurried walk.
const HURRIED: f64 = 1.0;
const HURRIED_ROUNDS: u32 = 20;
/// One step in so many is a long one, worth about as many short ones.
const REBUILD_EVERY: u32 = 100;
/// The same when a plan is made anew: only long steps get over the price of changes.
const REBUILD_EVERY_AGAIN: u32 = 40;
/// Steps between two looks at whether to stop.
const STRIDE: u64 = 4096;

/// The best plan found, in terms of the ground it was found on.
pub(super) struct Found {
    pub(super) batches: Vec<FoundBatch>,
    /// What each serving takes.
    pub(super) taken: Vec<Taken>,
    pub(super) points: f64,
    /// Whether it was ended early.
    pub(super) stopped: bool,
}

/// A batch of the plan.
pub(super) struct FoundBatch {
    /// Number of its candidate.
    pub(super) candidate: usize,
    pub(super) parts: Vec<FoundPart>,
}

/// Plants on one path, each in its place; none for plants lost in the nursery.
pub(super) struct FoundPart {
    pub(super) path: Path,
    pub(super) plants: u32,
    pub(super) places: Vec<Place>,
}

/// What the linear program knows before the search.
#[derive(Debug, Clone, Default)]
pub(super) struct Hints {
    /// First harvests worth trying.
    pub(super) harvests: Vec<Hint>,
    /// Whether even plants that need not be whole leave a shortfall.
    pub(super) scarce: bool,
}

/// Thousands of steps that suit the size of a term.
pub(super) fn usual_effort(ground: &Ground) -> u64 {
    2200 + 2 * ground.candidates.len() as u64
}

/// The same when a plan is made anew. Weighing changes against grams takes many more steps than grams alone, but where
/// there is little to choose from few are enough.
pub(super) fn usual_effort_again(ground: &Ground) -> u64 {
    (5 * usual_effort(ground)).min(48 * ground.candidates.len() as u64)
}

/// Walks from the beginning that suit the size of a term.
fn usual_walks(ground: &Ground) -> u64 {
    if ground.net.servings.is_empty() {
        return 0;
    }
    (800 / ground.candidates.len().max(1) as u64).clamp(1, 4)
}

/// Walks for so many thousand steps and gives every plant its hole.
pub(super) fn search(
    ground: &Ground,
    hints: &Hints,
    seed: u64,
    effort: u64,
    watch: &Watch,
) -> Result<Found, ScheduleError> {
    let litres = state::litres(ground);
    let servings = Servings::new(ground, &hints.harvests);
    let mut begun = State::new(ground, &litres);
    start::standing(&mut begun)?;
    let walks = usual_walks(ground);
    let schedule = Schedule {
        hot: if hints.scarce { HOT_IN_SCARCITY } else { HOT },
        steps: effort * 1000 / u64::from(ROUNDS) / WALKERS as u64 / walks.max(1),
        walks,
    };
    let mut best = begun.clone();
    for walk in 0..walks {
        let seeds = (0..WALKERS as u64).map(|number| seed.wrapping_add(walk * 1000 + number));
        let walkers = seeds.map(|seed| Walker::new(begun.clone(), seed)).collect();
        anneal(walkers, &mut best, &servings, &schedule, walk, watch);
    }
    let stopped = (watch.stop)();
    if stopped {
        hurry(&mut best, &servings, seed);
    }
    let mut walker = Walker::new(best, seed.wrapping_add(WALKERS as u64));
    let batches = settle::settle(&mut walker, &servings, schedule.steps / 4, None, watch)?;
    Ok(Found { batches, taken: walker.state.taken(), points: walker.state.points(), stopped })
}

/// A walk so short that even who stops at once gets a plan worth having.
fn hurry(best: &mut State, servings: &Servings, seed: u64) {
    let steps = (best.ground.candidates.len() as u64 * 8).clamp(1_000, 50_000);
    let mut walker = Walker::new(best.clone(), seed);
    for round in 0..HURRIED_ROUNDS {
        let heat = HURRIED * (COLD / HURRIED).powf(f64::from(round) / f64::from(HURRIED_ROUNDS - 1));
        walker.walk(servings, heat, steps, &|| false);
    }
    if walker.state.judged() < best.judged() {
        *best = walker.state;
    }
}

/// How long and how hot the walks are.
struct Schedule {
    hot: f64,
    /// Steps of one walker in one round.
    steps: u64,
    walks: u64,
}

/// One walk from hot to cold; keeps the best plan it meets.
fn anneal<'g>(
    mut walkers: Vec<Walker<'g>>,
    best: &mut State<'g>,
    servings: &Servings,
    schedule: &Schedule,
    walk: u64,
    watch: &Watch,
) {
    for round in 0..ROUNDS {
        if (watch.stop)() {
            return;
        }
        let heat = schedule.hot * (COLD / schedule.hot).powf(f64::from(round) / f64::from(ROUNDS - 1));
        let go = |walker: &mut Walker<'g>| walker.walk(servings, heat, schedule.steps, watch.stop);
        if watch.threads < 2 {
            walkers.iter_mut().for_each(go);
        } else {
            std::thread::scope(|scope| {
                for walker in &mut walkers {
                    scope.spawn(|| go(walker));
                }
            });
        }
        gather(&mut walkers, best);
        (watch.report)(Progress {
            phase: Phase::Search,
            done: (walk as f64 + f64::from(round + 1) / f64::from(ROUNDS)) / schedule.walks as f64,
            short_grams: Some(best.short().iter().sum()),
            points: Some(best.points()),
        });
    }
}

/// Keeps the best plan seen and lets all walkers go on from the better one.
fn gather<'g>(walkers: &mut [Walker<'g>], best: &mut State<'g>) {
    let points = |walker: &Walker| walker.state.judged();
    let Some(leader) =
        (0..walkers.len()).min_by(|a, b| points(&walkers[*a]).total_cmp(&points(&walkers[*b])))
    else {
        return;
    };
    let state = walkers[leader].state.clone();
    for (number, walker) in walkers.iter_mut().enumerate() {
        if number != leader {
            walker.state = state.clone();
        }
    }
    if state.judged() < best.judged() {
        *best = state;
    }
}

/// A plan under way and its random numbers.
struct Walker<'g> {
    state: State<'g>,
    rng: ChaCha8Rng,
}

impl<'g> Walker<'g> {
    fn new(state: State<'g>, seed: u64) -> Self {
        Self { state, rng: ChaCha8Rng::seed_from_u64(seed) }
    }

    /// Takes so many steps at a heat, in points.
    fn walk(&mut self, servings: &Servings, heat: f64, steps: u64, stop: &(dyn Fn() -> bool + Sync)) {
        let mut changes = Vec::new();
        let again = self.state.habit().is_some();
        let rebuild_every = if again { REBUILD_EVERY_AGAIN } else { REBUILD_EVERY };
        for step in 0..steps {
            if step % STRIDE == 0 && stop() {
                return;
            }
            let most = -heat * self.rng.random_range(f64::MIN_POSITIVE..1.0_f64).ln();
            if self.rng.random_range(0..rebuild_every) == 0 {
                rebuild::rebuild(&mut self.state, servings, most, &mut self.rng);
                continue;
            }
            moves::propose(&self.state, servings, &mut self.rng, &mut changes);
            if changes.is_empty() {
                continue;
            }
            self.state.attempt_spread(&changes, |points| points <= most);
        }
    }
}
