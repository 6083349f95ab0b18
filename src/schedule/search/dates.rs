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
/// Times that all days are tried, and points that are none.
const MOST_PASSES: usize = 100;
const NOTHING: f64 = 1e-6;

/// All plants of a batch that are moved into their tanks, or harvested, on one day, are so on another day.
pub(super) fn redate(state: &State, rng: &mut impl Rng, changes: &mut Vec<Change>) -> Option<()> {
    let batch = some_batch(state, rng)?;
    let lot = state.lots(batch).choose(rng)?;
    let far = rng.random_range(1..=FAR);
    let later = rng.random_bool(0.5);
    let shift = Shift { far, later, along: rng.random_bool(0.5) };
    let harvest = if rng.random_bool(0.4) { None } else { Some(*lot.path.harvests().choose(rng)?) };
    let path = lot.path;
    change_all(state, batch, changes, |other| shift.of(other, &path, harvest))
}

/// How far days are moved.
struct Shift {
    /// Class days.
    far: Index,
    later: bool,
    /// Whether later harvests go along.
    along: bool,
}

impl Shift {
    /// A path that shares a day with `like`, its harvest on a day or else its move, on the other day.
    fn of(&self, path: &Path, like: &Path, harvest: Option<Index>) -> Option<Path> {
        let shifted = |day: Index| shifted(day, self.far, self.later);
        let Some(day) = harvest else {
            return if path.moved == like.moved { Some(path.moved_on(shifted(path.moved)?)) } else { None };
        };
        let position = path.harvests().iter().position(|own| *own == day)?;
        let mut path = path.with_harvest(position, shifted(day)?);
        for follower in position + 1..path.harvests().len() {
            let own = path.harvests()[follower];
            path = if self.along { path.with_harvest(follower, shifted(own)?) } else { path };
        }
        Some(path)
    }
}

/// Tries every day nearby for every move and harvest, of a part and of all plants that share the day, until no other is better:
/// who stops a search early has seen it hot, and nobody should wonder why greens are not harvested on the next class day.
pub(super) fn polish(state: &mut State) {
    for _ in 0..MOST_PASSES {
        let mut better = false;
        for batch in state.active().to_vec() {
            // Steps that are tried change the order of parts.
            let paths: Vec<Path> = state.lots(batch).iter().map(|lot| lot.path).collect();
            for path in paths {
                better |= polish_part(state, batch, &path);
            }
        }
        if !better {
            return;
        }
    }
}

/// Tries other days for a part; stops with the first that is better, as the part is then another.
fn polish_part(state: &mut State, batch: u32, path: &Path) -> bool {
    let mut changes = Vec::new();
    let ways = [(false, false), (false, true), (true, false), (true, true)];
    let shifts =
        (1..=FAR).flat_map(|far| ways.map(|(later, along)| Shift { far, later, along })).collect::<Vec<_>>();
    let days: Vec<_> = path.harvests().iter().map(|day| Some(*day)).chain([None]).collect();
    for (shift, day) in shifts.iter().flat_map(|shift| days.iter().map(move |day| (shift, *day))) {
        for alone in [false, true] {
            changes.clear();
            let other = |other: &Path| if alone && other != path { None } else { shift.of(other, path, day) };
            let possible = change_all(state, batch, &mut changes, other).is_some() && !changes.is_empty();
            if possible && state.attempt(&changes, |points| points < -NOTHING) {
                return true;
            }
        }
    }
    false
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
