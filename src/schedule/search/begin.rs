//! Plans that a walk may begin with: nothing but what stands, what the linear program would do in whole plants, or serving
//! after serving the handful that helps most.

use super::super::instance::{Hint, Path};
use super::change::Change;
use super::moves::Servings;
use super::paths::{Wish, random};
use super::rebuild::best_handful;
use super::state::State;
use rand::Rng;

/// Paths drawn for a first harvest of the linear program.
const DRAWS: usize = 16;
/// Handfuls planted for one serving at most, and looks in vain after which it is left.
const HANDFULS: usize = 24;
const IDLE: usize = 3;

/// Sows what the linear program would, in whole plants, the most plants first; leaves out what does not fit or does not pay.
pub(super) fn rounded(state: &mut State, hints: &[Hint], rng: &mut impl Rng) {
    let mut hints = hints.to_vec();
    hints.sort_by(|one, other| other.plants.total_cmp(&one.plants));
    let smallest = state.instance.net.term.rules.smallest_batch.max(1) as i32;
    for hint in hints.iter().filter(|hint| hint.plants >= 0.5) {
        let candidate = &state.instance.candidates[hint.candidate as usize];
        let missing = (smallest - state.plants(hint.candidate)).max(1);
        let plants = (hint.plants.round() as i32).max(missing);
        let wish = Wish { day: Some(hint.day), pulled: Some(hint.pulled) };
        let paths = (0..DRAWS).filter_map(|_| random(state.instance, candidate, wish, rng));
        let paths: Vec<Path> = paths.filter(|path| state.instance.allows(candidate, path)).collect();
        let worth = |path| {
            let change = Change { candidate: hint.candidate, path, plants };
            Some((state.probe_spread(&[change])?, change))
        };
        let best = paths.into_iter().filter_map(worth).min_by(|one, other| one.0.total_cmp(&other.0));
        if let Some((_, change)) = best {
            state.attempt_spread(&[change], |points| points < 0.0);
        }
    }
}

/// Goes from serving to serving and plants the handful that helps most until it has its target.
pub(super) fn greedy(state: &mut State, servings: &Servings, rng: &mut impl Rng) {
    for serving in 0..state.short().len() {
        let mut idle = 0;
        for _ in 0..HANDFULS {
            if idle == IDLE || state.need(serving) < 1.0 {
                break;
            }
            match best_handful(state, servings, serving, rng) {
                Some(change) if state.attempt(&[change], |points| points < 0.0) => {}
                _ => idle += 1,
            }
        }
    }
}
