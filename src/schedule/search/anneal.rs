//! Walks from hot to cold.
//!
//! Steps that make the plan worse are accepted at first and less and less later on (simulated annealing; S. Kirkpatrick,
//! C. D. Gelatt, M. P. Vecchi, Science 220, 1983, pp. 671-680).
//!
//! Two walkers, each with its own random numbers, work side by side in rounds of a fixed number of steps; after a round the
//! worse one goes on from where the better one stands. So the result depends on seed and effort only, never on the number of
//! cores or the clock.

use super::super::watch::{Phase, Progress, Watch};
use super::moves::Servings;
use super::state::State;
use super::{series, steps};
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// Points by which a step may make the plan worse at the very end of a walk, which are next to nothing.
pub(super) const COLD: f64 = 0.01;
pub(super) const WALKERS: usize = 2;
pub(super) const ROUNDS: u32 = 60;
/// Rounds at the very end of a walk.
const LAST: u32 = 4;
/// Rounds in which sowings may be out of rhythm, and those of them in which that becomes dearer.
const UNEVEN: u32 = 30;
const DEARER: u32 = 15;
/// Share of the first heat to which a plan is heated again, once its sowings must be in rhythm and when a walk goes on from it:
/// enough for a day's greens to come from elsewhere, not enough to forget the plan.
pub(super) const REHEATED: f64 = 0.3;
/// Plants that a plant out of rhythm costs as much as, in the first round and at last.
const LOOSE: f64 = 0.25;
const STRICT: f64 = 2.0;
/// Heat and rounds of a hurried walk.
const HURRIED: f64 = 1.0;
const HURRIED_ROUNDS: u32 = 20;
/// One step in so many is a long one, worth about as many short ones.
const REBUILD_EVERY: u32 = 100;
/// The same when a plan is made anew: only long steps get over the price of changes.
const REBUILD_EVERY_AGAIN: u32 = 40;
/// Steps between two looks at whether to stop.
const STRIDE: u64 = 4096;

/// How long and how hot the walks are.
pub(super) struct Annealing {
    /// Points by which a step may make the plan worse in the first round, and before the last ones.
    pub(super) heat: (f64, f64),
    /// Steps of one walker in one round.
    pub(super) steps: u64,
    /// Which of how many walks it is.
    pub(super) walk: u64,
    pub(super) walks: u64,
    /// Points for a plant, if sowings may be out of rhythm in the first rounds.
    pub(super) plant: Option<f64>,
}

impl Annealing {
    /// Points by which a step of a round may make the plan worse.
    pub(super) fn heat(&self, round: u32) -> f64 {
        let cooling = ROUNDS - LAST;
        let (hot, cool) = (self.heat.0.max(COLD), self.heat.1.max(COLD));
        let falling = |from: u32, hot: f64| {
            hot * (cool / hot).powf(f64::from(round - from) / f64::from(cooling - 1 - from))
        };
        match round {
            _ if round >= cooling => COLD,
            _ if round >= UNEVEN && self.plant.is_some() => falling(UNEVEN, (hot * REHEATED).max(cool)),
            _ => falling(0, hot),
        }
    }

    /// What is out of rhythm costs more from round to round, and then is no longer allowed: single batches are moved much more
    /// easily than all that keep a rhythm together.
    fn rhythm(&self, state: &mut State, round: u32) {
        let Some(plant) = self.plant else { return };
        if round < UNEVEN {
            let grown = (f64::from(round) / f64::from(DEARER)).min(1.0);
            state.allow_uneven(Some(plant * LOOSE * (STRICT / LOOSE).powf(grown)));
        } else if state.may_be_uneven() {
            series::even_out(state);
        }
    }
}

/// Steps of one walker in one round of one of some walks.
pub(super) fn steps_a_round(effort: u64, walks: u64) -> u64 {
    effort * 1000 / u64::from(ROUNDS) / WALKERS as u64 / walks.max(1)
}

/// Walkers that begin a walk where a plan stands.
pub(super) fn walkers<'g>(begun: &State<'g>, (seed, walk): (u64, u64)) -> Vec<Walker<'g>> {
    let seeds = (0..WALKERS as u64).map(|number| seed.wrapping_add(walk * 1000 + number));
    seeds.map(|seed| Walker::new(begun.clone(), seed)).collect()
}

/// One walk from hot to cold; keeps the best plan it meets.
pub(super) fn anneal<'g>(
    mut walkers: Vec<Walker<'g>>,
    best: &mut State<'g>,
    servings: &Servings,
    schedule: &Annealing,
    watch: &Watch,
) {
    for round in 0..ROUNDS {
        if (watch.stop)() {
            return;
        }
        let heat = schedule.heat(round);
        for walker in &mut walkers {
            schedule.rhythm(&mut walker.state, round);
        }
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
            done: (schedule.walk as f64 + f64::from(round + 1) / f64::from(ROUNDS)) / schedule.walks as f64,
            short_grams: Some(best.short().iter().sum()),
            points: Some(best.points()),
        });
    }
}

/// Keeps the best plan seen, in rhythm, and lets all walkers go on from the better one.
fn gather<'g>(walkers: &mut [Walker<'g>], best: &mut State<'g>) {
    for walker in walkers.iter() {
        let mut state = walker.state.clone();
        series::even_out(&mut state);
        if state.judged() < best.judged() {
            *best = state;
        }
    }
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
}

/// A plan under way and its random numbers.
pub(super) struct Walker<'g> {
    pub(super) state: State<'g>,
    pub(super) rng: ChaCha8Rng,
}

impl<'g> Walker<'g> {
    pub(super) fn new(state: State<'g>, seed: u64) -> Self {
        Self { state, rng: ChaCha8Rng::seed_from_u64(seed) }
    }

    /// Takes so many steps at a heat, in points.
    pub(super) fn walk(
        &mut self,
        servings: &Servings,
        heat: f64,
        steps: u64,
        stop: &(dyn Fn() -> bool + Sync),
    ) {
        let mut changes = Vec::new();
        let again = self.state.habit().is_some();
        let rebuild_every = if again { REBUILD_EVERY_AGAIN } else { REBUILD_EVERY };
        for step in 0..steps {
            if step % STRIDE == 0 && stop() {
                return;
            }
            let most = -heat * self.rng.random_range(f64::MIN_POSITIVE..1.0_f64).ln();
            if self.rng.random_range(0..rebuild_every) == 0 {
                steps::take_long(&mut self.state, servings, most, &mut self.rng);
                continue;
            }
            steps::propose(&self.state, servings, &mut self.rng, &mut changes);
            if changes.is_empty() {
                continue;
            }
            self.state.attempt_spread(&changes, |points| points <= most);
        }
    }
}

/// A walk so short that even who stops at once gets a plan worth having.
pub(super) fn hurry(best: &mut State, servings: &Servings, seed: u64, plant: Option<f64>) {
    let steps = (best.instance.candidates.len() as u64 * 8).clamp(1_000, 10_000);
    let mut walker = Walker::new(best.clone(), seed);
    for round in 0..HURRIED_ROUNDS {
        let heat = HURRIED * (COLD / HURRIED).powf(f64::from(round) / f64::from(HURRIED_ROUNDS - 1));
        if round == 0 {
            walker.state.allow_uneven(plant.map(|plant| plant * STRICT));
        } else if round == HURRIED_ROUNDS / 2 {
            series::even_out(&mut walker.state);
        }
        walker.walk(servings, heat, steps, &|| false);
    }
    if walker.state.judged() < best.judged() {
        *best = walker.state;
    }
}
