//! Which kind of step comes next.

use super::change::Change;
use super::moves::{self, Servings};
use super::state::State;
use super::{home, rebuild, resow, series};
use rand::Rng;

/// When a plan is made anew, one step in so many takes a batch back to what was planned.
const RESTORE_EVERY: u32 = 12;
/// Where sowings keep a rhythm, steps of a hundred that keep it; others are for what has no part in it, and for single sowings where those will do.
const IN_RHYTHM: u32 = 90;

/// While sowings may be out of rhythm, steps of a hundred that change all of a series.
const RESIZED: u32 = 10;

/// Where sowings keep a rhythm, one long step in so many takes single batches out.
const SINGLE_EVERY: u32 = 4;

/// Proposes a step; an empty list means that nothing came to mind.
pub(super) fn propose(state: &State, servings: &Servings, rng: &mut impl Rng, changes: &mut Vec<Change>) {
    changes.clear();
    if state.habit().is_some() && rng.random_range(0..RESTORE_EVERY) == 0 {
        home::restore(state, rng, changes);
    } else if state.may_be_uneven() {
        if rng.random_range(0..100) < RESIZED {
            let _ = series::resize(state, rng, changes);
        } else {
            moves::propose(state, servings, rng, changes);
        }
    } else if state.rhythm.is_some() && rng.random_range(0..100) < IN_RHYTHM {
        series::propose(state, rng, changes);
    } else {
        moves::propose(state, servings, rng, changes);
    }
}

/// Takes a long step, if the plan then costs at most `most` points more.
pub(super) fn take_long(state: &mut State, servings: &Servings, most: f64, rng: &mut impl Rng) {
    if state.rhythm.is_none() || state.may_be_uneven() || rng.random_range(0..SINGLE_EVERY) == 0 {
        rebuild::rebuild(state, servings, most, rng);
    } else {
        resow::resow(state, servings, most, rng);
    }
}
