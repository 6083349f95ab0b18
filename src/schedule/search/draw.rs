//! Batches and parts of a plan drawn at random, for steps to change.

use super::super::instance::Lot;
use super::state::State;
use rand::Rng;
use rand::seq::IndexedRandom;

/// Most batches drawn for one that is not over.
const BATCH_DRAWS: u32 = 8;

/// A random batch with plants, of those that are not over if one is found quickly.
pub(super) fn some_batch(state: &State, rng: &mut impl Rng) -> Option<u32> {
    let active = state.active();
    for _ in 0..BATCH_DRAWS {
        let batch = *active.choose(rng)?;
        if !state.is_over(batch) {
            return Some(batch);
        }
    }
    None
}

/// A random part, unless its plants are lost.
pub(super) fn some_lot(state: &State, rng: &mut impl Rng) -> Option<(u32, Lot)> {
    let batch = some_batch(state, rng)?;
    let lot = *state.lots(batch).choose(rng)?;
    lot.path.lost.is_none().then_some((batch, lot))
}

/// A part of another batch (or the same) at a site.
pub(super) fn some_lot_at(state: &State, site: usize, rng: &mut impl Rng) -> Option<(u32, Lot)> {
    for _ in 0..24 {
        let found =
            some_lot(state, rng).filter(|(batch, _)| state.instance.candidates[*batch as usize].site == site);
        if found.is_some() {
            return found;
        }
    }
    None
}
