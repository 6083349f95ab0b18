//! Steps that change all sowings of a crop at a site at once, where they are to keep a rhythm.

use super::super::instance::{Candidate, Instance, Lot, Path};
use super::change::Change;
use super::draw::some_batch;
use super::moves::{alter, few, transfer};
use super::paths::{Wish, near, random};
use super::rhythm::{Rhythm, Sown, best_row};
use super::state::State;
use super::swap::swap_tanks;
use rand::Rng;
use std::ops::Range;

/// Paths drawn before a batch is said to find none.
const DRAWS: usize = 4;
/// Days by which a sowing on another weekday may lie outside the row before.
const AROUND: i32 = 3;

/// Proposes a step that keeps the rhythm.
pub(super) fn propose(state: &State, rng: &mut impl Rng, changes: &mut Vec<Change>) {
    let _ = match rng.random_range(0..100) {
        0..45 => alter(state, rng, changes),
        45..60 => transfer(state, rng, changes),
        60..64 => swap_tanks(state, rng, changes),
        64..82 => resize(state, rng, changes),
        _ => redraw(state, rng, changes),
    };
}

/// The series of a random batch, with what is sown of it.
pub(super) fn some_series<'s, 'g>(
    state: &'s State<'g>,
    rng: &mut impl Rng,
) -> Option<(&'s Rhythm<'g>, &'s [Sown])> {
    let rhythm = state.rhythm.as_ref()?;
    let slot = rhythm.beats.slot(some_batch(state, rng)?)?;
    Some((rhythm, rhythm.sown(slot.series))).filter(|(_, sown)| !sown.is_empty())
}

/// Each batch of a series gets a few plants more or fewer; now and then those of another one get fewer or more.
pub(super) fn resize(state: &State, rng: &mut impl Rng, changes: &mut Vec<Change>) -> Option<()> {
    let (rhythm, sown) = some_series(state, rng)?;
    let plants = if rng.random_bool(0.5) { few(rng) } else { -few(rng) };
    add(state, rhythm, sown, plants, rng, changes);
    if rng.random_bool(0.3) {
        let (_, others) = some_series(state, rng)?;
        if others[0].slot.series != sown[0].slot.series {
            let others_plants = if plants > 0 { -few(rng) } else { few(rng) };
            add(state, rhythm, others, others_plants, rng, changes);
        }
    }
    Some(())
}

fn add(
    state: &State,
    rhythm: &Rhythm,
    sown: &[Sown],
    plants: i32,
    rng: &mut impl Rng,
    changes: &mut Vec<Change>,
) {
    let left = sown[0].plants + plants;
    if left < state.instance.net.term.rules.smallest_batch.max(1) as i32 {
        return sown.iter().for_each(|sown| state.clear(rhythm.candidate(*sown), changes));
    }
    for sown in sown {
        let batch = rhythm.candidate(*sown);
        let lots = state.lots(batch);
        let lot = lots[rng.random_range(0..lots.len())];
        if plants < 0 {
            take(lots, batch, -plants, rng.random_range(0..lots.len()), changes);
            continue;
        }
        let candidate = &state.instance.candidates[batch as usize];
        let other = rng.random_bool(0.3).then(|| near(state.instance, candidate, &lot.path, rng)).flatten();
        changes.push(Change { candidate: batch, path: other.unwrap_or(lot.path), plants });
    }
}

/// Takes so many plants off the parts of a batch, this one first.
fn take(lots: &[Lot], batch: u32, plants: i32, first: usize, changes: &mut Vec<Change>) {
    let mut left = plants;
    for lot in lots.iter().cycle().skip(first).take(lots.len()) {
        let taken = lot.plants.min(left);
        if taken > 0 {
            changes.push(Change { candidate: batch, path: lot.path, plants: -taken });
            left -= taken;
        }
    }
}

/// A series begins or ends sooner or later, is sown on other days, or not at all.
fn redraw(state: &State, rng: &mut impl Rng, changes: &mut Vec<Change>) -> Option<()> {
    let (rhythm, sown) = some_series(state, rng)?;
    let (beat, first) = (sown[0].slot.beat, sown[0].slot.position);
    let end = first + sown.len();
    let length = rhythm.beats.beat(beat).len();
    let (beat, row) = match rng.random_range(0..20) {
        0..4 => (beat, first.checked_sub(1)?..end),
        4..8 => (beat, first..(end + 1).min(length)),
        8..10 => (beat, first + 1..end),
        10..12 => (beat, first..end - 1),
        12 => (beat, first.checked_sub(1)?..end - 1),
        13 => (beat, first + 1..(end + 1).min(length)),
        14 => (beat, 0..0),
        _ => {
            let others = rhythm.beats.of(sown[0].slot.series);
            let other = others[rng.random_range(0..others.len())];
            let on_about_these_days = around(state.instance, rhythm, sown, other);
            let length = rhythm.beats.beat(other).len();
            (other, long_enough(on_about_these_days, rhythm.beats.least(other), length))
        }
    };
    let row = &rhythm.beats.beat(beat)[row];
    for batch in sown.iter().map(|sown| rhythm.candidate(*sown)).filter(|batch| !row.contains(batch)) {
        state.clear(batch, changes);
    }
    for batch in row.iter().filter(|batch| state.plants(**batch) == 0) {
        let like = nearest(state.instance, rhythm, sown, *batch)?;
        for lot in state.lots(like) {
            let Some(path) = alike(state.instance, like, *batch, &lot.path, rng) else {
                changes.clear();
                return None;
            };
            changes.push(Change { candidate: *batch, path, plants: lot.plants });
        }
    }
    Some(())
}

/// Positions in another beat on about the days of a row.
pub(super) fn around(instance: &Instance, rhythm: &Rhythm, sown: &[Sown], beat: usize) -> Range<usize> {
    let day = |batch: u32| instance.candidates[batch as usize].start.begins;
    let days = sown.iter().map(|sown| day(rhythm.candidate(*sown)));
    let (from, to) = days.fold((i32::MAX, i32::MIN), |(from, to), day| (from.min(day), to.max(day)));
    within(instance, rhythm, beat, from.saturating_sub(AROUND)..to.saturating_add(AROUND + 1))
}

/// Positions among so many, and further ones after and before them until there are enough.
pub(super) fn long_enough(positions: Range<usize>, least: usize, length: usize) -> Range<usize> {
    let end = positions.end.max(positions.start + least).min(length);
    positions.start.min(end.saturating_sub(least))..end
}

/// Positions in a beat of sowings on some days.
fn within(instance: &Instance, rhythm: &Rhythm, beat: usize, days: Range<i32>) -> Range<usize> {
    let before = |day: i32| {
        let begins = |batch: &u32| instance.candidates[*batch as usize].start.begins;
        rhythm.beats.beat(beat).partition_point(|batch| begins(batch) < day)
    };
    let from = before(days.start);
    from..before(days.end).max(from)
}

/// The batch of a row that is sown nearest to another one.
fn nearest(instance: &Instance, rhythm: &Rhythm, sown: &[Sown], batch: u32) -> Option<u32> {
    let day = |batch: u32| instance.candidates[batch as usize].start.begins;
    sown.iter().map(|sown| rhythm.candidate(*sown)).min_by_key(|other| day(*other).abs_diff(day(batch)))
}

/// A path for one batch that is like the path of another, as many days sooner or later; or any.
pub(super) fn alike(
    instance: &Instance,
    like: u32,
    batch: u32,
    path: &Path,
    rng: &mut impl Rng,
) -> Option<Path> {
    let (from, to) = (&instance.candidates[like as usize], &instance.candidates[batch as usize]);
    let paths = std::iter::once_with(|| shifted(instance, from, to, path)).flatten();
    let others = std::iter::repeat_with(|| random(instance, to, Wish::default(), rng)).take(DRAWS).flatten();
    paths.chain(others).find(|path| instance.allows(to, path))
}

/// The path as many days sooner or later as one sowing is from another, on the nearest class days.
fn shifted(instance: &Instance, from: &Candidate, to: &Candidate, path: &Path) -> Option<Path> {
    let days = &instance.net.sites[to.site].class_days;
    let later = to.start.begins - from.start.begins;
    let shift = |index: u16| {
        let day = days[usize::from(index)] + later;
        let next = days.partition_point(|other| *other < day);
        let sooner = next
            .checked_sub(1)
            .filter(|sooner| days.get(next).is_none_or(|next| day - days[*sooner] < *next - day));
        Some(sooner.unwrap_or(next) as u16).filter(|index| usize::from(*index) < days.len())
    };
    let harvests: Option<Vec<u16>> = path.harvests().iter().map(|day| shift(*day)).collect();
    let in_cups = !to.start.waits();
    let moved = if in_cups { to.transplants.start } else { shift(path.moved)? };
    Some(Path::new(path.tank, moved, &harvests?))
}

/// Brings every series back into rhythm by taking plants out, as few as can be, and allows nothing else any more.
pub(super) fn even_out(state: &mut State) {
    let mut changes = Vec::new();
    for series in 0..state.rhythm.as_ref().map_or(0, |rhythm| rhythm.beats.count()) {
        surplus(state, series, &mut changes);
    }
    for change in &changes {
        state.book(change);
    }
    state.settle();
    state.allow_uneven(None);
}

/// Takes plants out of a series, as few as can be, so that it is in rhythm.
pub(super) fn surplus(state: &State, series: usize, changes: &mut Vec<Change>) {
    let Some(rhythm) = &state.rhythm else { return };
    let smallest = state.instance.net.term.rules.smallest_batch.max(1) as i32;
    let (row, plants) = best_row(rhythm.sown(series), smallest, |beat| rhythm.beats.least(beat));
    for sown in rhythm.sown(series) {
        let batch = rhythm.candidate(*sown);
        let left = if row.contains(sown) { plants } else { 0 };
        take(state.lots(batch), batch, sown.plants - left, 0, changes);
    }
}

#[cfg(test)]
mod tests {
    use super::long_enough;

    #[test]
    fn positions_are_filled_up_after_and_before() {
        assert_eq!(long_enough(2..3, 3, 9), 2..5);
        assert_eq!(long_enough(7..8, 3, 9), 6..9, "there are no more after them");
        assert_eq!(long_enough(1..6, 3, 9), 1..6, "they are enough");
        assert_eq!(long_enough(1..2, 2, 2), 0..2);
    }
}
