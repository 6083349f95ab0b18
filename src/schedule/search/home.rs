//! Steps back to what people already have in their calendars.

use super::super::instance::{Lot, Path};
use super::change::Change;
use super::habit::Habit;
use super::state::State;
use rand::Rng;
use rand::seq::IndexedRandom;

/// A batch goes back to what was planned for it, or some of its plants do.
pub(super) fn restore(state: &State, rng: &mut impl Rng, changes: &mut Vec<Change>) -> Option<()> {
    let habit = state.habit()?;
    let batches = if rng.random_bool(0.7) { state.active() } else { habit.homes() };
    let batch = *batches.choose(rng)?;
    let home = habit.home(batch);
    if state.lots(batch) == home {
        return None;
    }
    if !home.is_empty() && rng.random_bool(0.5) {
        return restore_some(state, batch, rng, changes);
    }
    go_home(state, habit, batch, changes);
    Some(())
}

/// A batch goes back to what was planned for it, and with it all that share its rhythm.
pub(super) fn go_home(state: &State, habit: &Habit, batch: u32, changes: &mut Vec<Change>) {
    let mut back = |batch: u32| {
        state.clear(batch, changes);
        let home = habit.home(batch).iter();
        changes.extend(home.map(|lot| Change { candidate: batch, path: lot.path, plants: lot.plants }));
    };
    let series =
        state.rhythm.as_ref().and_then(|rhythm| Some((rhythm.beats, rhythm.beats.slot(batch)?.series)));
    let Some((beats, series)) = series else { return back(batch) };
    let all = beats.of(series).iter().flat_map(|beat| beats.beat(*beat));
    all.filter(|other| state.lots(**other) != habit.home(**other)).for_each(|other| back(*other));
}

/// Just as many plants of a batch go back to a path planned for it as are missing there, from one with too many.
/// Changing a task costs the same for one plant as for all, so that only the exact number makes it as it was.
fn restore_some(state: &State, batch: u32, rng: &mut impl Rng, changes: &mut Vec<Change>) -> Option<()> {
    let habit = state.habit()?;
    let (home, now) = (habit.home(batch), state.lots(batch));
    let missing = beyond(home, now);
    let spare = beyond(now, home);
    let to = missing.choose(rng);
    let from = spare.choose(rng);
    let candidate = &state.instance.candidates[batch as usize];
    let plants = [to, from].into_iter().flatten().map(|lot| lot.plants).min()?;
    match (to, from) {
        (Some(to), Some(from)) if candidate.given => {
            state.instance.keeps_past(candidate, &from.path, &to.path).then_some(())?;
        }
        _ if candidate.given => return None,
        _ => {}
    }
    changes.extend(from.map(|lot| Change { candidate: batch, path: lot.path, plants: -plants }));
    changes.extend(to.map(|lot| Change { candidate: batch, path: lot.path, plants }));
    Some(())
}

/// Plants that some lots have beyond others, by path.
fn beyond(some: &[Lot], others: &[Lot]) -> Vec<Lot> {
    let on = |path: &Path| others.iter().filter(|lot| lot.path == *path).map(|lot| lot.plants).sum::<i32>();
    let more = some.iter().map(|lot| Lot { plants: lot.plants - on(&lot.path), ..*lot });
    more.filter(|lot| lot.plants > 0 && lot.path.lost.is_none()).collect()
}
