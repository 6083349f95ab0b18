//! Steps with all plants of a batch that share a day: they keep sharing it on another day, or join those of another day.
//!
//! A task has its price however many plants it is about, so days that change plant by plant, or tank by tank, cost a task
//! more at first, and a walk that has cooled does not get over that.

use super::super::instance::{Index, Path};
use super::change::Change;
use super::draw::some_batch;
use super::paths::shifted;
use super::state::State;
use rand::Rng;
use rand::seq::IndexedRandom;

/// The farthest a day is moved, in class days.
const FAR: Index = 4;

/// All plants of a batch that are moved into their tanks, or harvested, on one day, are so on another day.
pub(super) fn redate(state: &State, rng: &mut impl Rng, changes: &mut Vec<Change>) -> Option<()> {
    let batch = some_batch(state, rng)?;
    let lot = state.lots(batch).choose(rng)?;
    let far = rng.random_range(1..=FAR);
    let later = rng.random_bool(0.5);
    let shifted = |day: Index| shifted(day, far, later);
    if rng.random_bool(0.4) {
        let to = shifted(lot.path.moved)?;
        return change_all(state, batch, changes, |path| {
            (path.moved == lot.path.moved).then(|| path.moved_on(to))
        });
    }
    let day = *lot.path.harvests().choose(rng)?;
    let to = shifted(day)?;
    // What follows may go along.
    let along = rng.random_bool(0.5);
    change_all(state, batch, changes, |path| {
        let position = path.harvests().iter().position(|own| *own == day)?;
        let mut path = path.with_harvest(position, to);
        for follower in position + 1..path.harvests().len() {
            let own = path.harvests()[follower];
            path = if along { path.with_harvest(follower, shifted(own)?) } else { path };
        }
        Some(path)
    })
}

/// All plants of a batch that share the days of one part take those of another, each in its tank.
pub(super) fn join(state: &State, rng: &mut impl Rng, changes: &mut Vec<Change>) -> Option<()> {
    let batch = some_batch(state, rng)?;
    let lots = state.lots(batch);
    let (from, to) = (lots.choose(rng)?, lots.choose(rng)?);
    let like = |path: &Path, other: &Path| path.in_tank(other.tank) == *other;
    if like(&from.path, &to.path) {
        return None;
    }
    change_all(state, batch, changes, |path| like(path, &from.path).then(|| to.path.in_tank(path.tank)))
}

/// Moves the plants of all parts of a batch for which there is another path onto it, if all of them may take theirs.
fn change_all(
    state: &State,
    batch: u32,
    changes: &mut Vec<Change>,
    other: impl Fn(&Path) -> Option<Path>,
) -> Option<()> {
    let instance = state.instance;
    let candidate = &instance.candidates[batch as usize];
    for lot in state.lots(batch).iter().filter(|lot| lot.path.lost.is_none()) {
        let Some(path) = other(&lot.path) else { continue };
        if !instance.keeps_past(candidate, &lot.path, &path) || !instance.allows(candidate, &path) {
            changes.clear();
            return None;
        }
        changes.push(Change { candidate: batch, path: lot.path, plants: -lot.plants });
        changes.push(Change { candidate: batch, path, plants: lot.plants });
    }
    Some(())
}
