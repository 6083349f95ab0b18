//! The long step where sowings are to keep a rhythm: a series is sown anew, batch by batch, each on the best of some paths.

use super::super::instance::{Lot, Slot};
use super::change::Change;
use super::moves::{Servings, few, needed, needy};
use super::paths::{Wish, any, random};
use super::rhythm::Rhythm;
use super::series::{alike, around, long_enough, some_series};
use super::state::State;
use rand::Rng;
use std::ops::Range;

/// Paths looked at for a batch.
const LOOKS: usize = 4;
const FURTHER_LOOKS: usize = 2;
/// Paths a batch is spread over at most, beside what fits on each.
const SPREAD: usize = 3;
/// How often a series keeps what is sown of it and gets more, if the batch that is wanted lies in its rhythm.
const GROWING: f64 = 0.5;

/// A row of sowings, and how many plants each is to have.
struct Row {
    series: usize,
    beat: usize,
    positions: Range<usize>,
    plants: i32,
}

/// Sows a series anew that serves a day in need, and keeps it if the plan then costs at most `most` points more.
pub(super) fn resow(state: &mut State, servings: &Servings, most: f64, rng: &mut impl Rng) -> Option<()> {
    let serving = needy(state, rng)?;
    let (candidate, path) = needed(state, servings, serving, None, rng)?;
    let slot = state.rhythm.as_ref()?.beats.slot(candidate)?;
    let sown = state.rhythm.as_ref()?.sown(slot.series).first();
    if sown.is_some_and(|sown| sown.slot.beat == slot.beat) && rng.random_bool(GROWING) {
        return grow(state, servings, slot, most, rng);
    }
    let mut cleared = vec![slot.series];
    if rng.random_bool(0.3) {
        cleared.extend(some_series(state, rng).map(|(_, sown)| sown[0].slot.series));
    }
    cleared.dedup();
    let rhythm = state.rhythm.as_ref()?;
    let sown = rhythm.sown(slot.series);
    let length = rhythm.beats.beat(slot.beat).len();
    let before = around(state.instance, rhythm, sown, slot.beat);
    let positions = match rng.random_range(0..10) {
        0..5 if !sown.is_empty() => before.start.min(slot.position)..before.end.max(slot.position + 1),
        0..7 => rng.random_range(0..=slot.position)..length,
        _ => rng.random_range(0..=slot.position)..rng.random_range(slot.position + 1..=length),
    };
    let plants = match sown.first() {
        Some(sown) if rng.random_bool(0.5) => sown.plants + few(rng) - few(rng),
        _ if rng.random_bool(0.5) => state.sized(candidate, &path, state.need(serving)),
        _ => rng.random_range(1..16),
    };
    let positions = long_enough(positions, rhythm.beats.least(slot.beat), length);
    let row = Row { series: slot.series, beat: slot.beat, positions, plants };
    sow(state, servings, &row, (&cleared, true), most, rng).then_some(())
}

/// A series that is sown gets more plants, or is sown sooner or later, too; what it has stays.
fn grow(state: &mut State, servings: &Servings, slot: Slot, most: f64, rng: &mut impl Rng) -> Option<()> {
    let rhythm = state.rhythm.as_ref()?;
    let sown = rhythm.sown(slot.series);
    let (first, last) = (sown.first()?.slot, sown.last()?.slot);
    let more = if rng.random_bool(0.7) { few(rng) } else { 0 };
    let positions = first.position.min(slot.position)..last.position.max(slot.position) + 1;
    let row = Row { series: slot.series, beat: slot.beat, positions, plants: sown[0].plants + more };
    sow(state, servings, &row, (&[slot.series], false), most, rng).then_some(())
}

/// Sows the row as far as it finds room, instead of all that is sown of some series, or (unless `anew`) in addition to that;
/// leaves everything as it was if that costs more than `most` points.
fn sow(
    state: &mut State,
    servings: &Servings,
    row: &Row,
    (series, anew): (&[usize], bool),
    most: f64,
    rng: &mut impl Rng,
) -> bool {
    let before = state.judged();
    state.pause_rhythm(true);
    let old = sown_of(state, series);
    if anew {
        take_out(state, series);
    }
    fill(state, servings, row, rng);
    state.pause_rhythm(false);
    if state.sound() {
        trim(state, row);
        if state.judged() - before <= most {
            return true;
        }
    }
    state.pause_rhythm(true);
    take_out(state, series);
    for (candidate, lots) in old {
        let back = |lot: &Lot| Change { candidate, path: lot.path, plants: lot.plants };
        state.attempt(&lots.iter().map(back).collect::<Vec<_>>(), |_| true);
    }
    state.pause_rhythm(false);
    false
}

/// All that is sown of some series.
fn sown_of(state: &State, series: &[usize]) -> Vec<(u32, Vec<Lot>)> {
    let Some(rhythm) = &state.rhythm else { return Vec::new() };
    let batches = series.iter().flat_map(|series| rhythm.sown(*series)).map(|sown| rhythm.candidate(*sown));
    batches.map(|batch| (batch, state.lots(batch).to_vec())).collect()
}

fn take_out(state: &mut State, series: &[usize]) {
    let mut changes = Vec::new();
    for (batch, _) in sown_of(state, series) {
        state.clear(batch, &mut changes);
    }
    state.attempt(&changes, |_| true);
}

/// Sows the batches of a row one after the other until one finds no room, and evens them out.
fn fill(state: &mut State, servings: &Servings, row: &Row, rng: &mut impl Rng) {
    let instance = state.instance;
    let Some(beats) = &instance.rhythm else { return };
    let smallest = instance.net.term.rules.smallest_batch.max(1) as i32;
    let mut plants = row.plants.max(smallest);
    let mut sown: Vec<u32> = Vec::new();
    for batch in &beats.beat(row.beat)[row.positions.clone()] {
        place(state, servings, (*batch, plants), sown.last().copied(), rng);
        if state.plants(*batch) < smallest {
            let mut changes = Vec::new();
            state.clear(*batch, &mut changes);
            state.attempt(&changes, |_| true);
            break;
        }
        plants = plants.min(state.plants(*batch));
        sown.push(*batch);
    }
    for batch in sown {
        let mut spare = state.plants(batch) - plants;
        for lot in state.lots(batch).to_vec() {
            let fewer = spare.min(lot.plants);
            if fewer > 0 {
                state.attempt(&[Change { candidate: batch, path: lot.path, plants: -fewer }], |_| true);
                spare -= fewer;
            }
        }
    }
}

/// Puts plants of a batch on the best of some paths: like those of the batch before, or any.
fn place(
    state: &mut State,
    servings: &Servings,
    (batch, plants): (u32, i32),
    before: Option<u32>,
    rng: &mut impl Rng,
) {
    for round in 0..SPREAD {
        let missing = plants - state.plants(batch);
        if missing <= 0 {
            return;
        }
        let mut tries: Vec<Vec<Change>> = Vec::new();
        if let Some(before) = before.filter(|_| round == 0) {
            tries.extend(as_before(state, before, batch, rng));
        }
        for _ in 0..if round == 0 { LOOKS } else { FURTHER_LOOKS } {
            let wish = Wish { day: ripe_day(state, servings, batch, rng), pulled: None };
            let candidate = &state.instance.candidates[batch as usize];
            let path = random(state.instance, candidate, wish, rng);
            let path = path.filter(|path| state.instance.allows(candidate, path));
            tries.extend(path.map(|path| vec![Change { candidate: batch, path, plants: missing }]));
        }
        let worth = |changes: Vec<Change>| Some((state.probe_spread(&changes)?, changes));
        let best = tries.into_iter().filter_map(worth).min_by(|one, other| one.0.total_cmp(&other.0));
        let Some((_, changes)) = best else { return };
        state.attempt_spread(&changes, |_| true);
    }
}

/// A day of first harvest that serves a day in need, in half of all draws.
fn ripe_day(state: &State, servings: &Servings, batch: u32, rng: &mut impl Rng) -> Option<u16> {
    let candidate = &state.instance.candidates[batch as usize];
    let serving = needy(state, rng).filter(|_| rng.random_bool(0.5))?;
    let days = servings.days(serving, candidate.site);
    let from = candidate.pulls.start.min(candidate.cuts.start).max(days.start);
    any(&(from..candidate.pulls.end.max(candidate.cuts.end).min(days.end)), rng)
}

/// All parts of the batch before, as many days later.
fn as_before(state: &State, before: u32, batch: u32, rng: &mut impl Rng) -> Option<Vec<Change>> {
    let later = |lot: &Lot| {
        let path = alike(state.instance, before, batch, &lot.path, rng)?;
        Some(Change { candidate: batch, path, plants: lot.plants })
    };
    state.lots(before).iter().map(later).collect()
}

/// Leaves out sowings at the ends of a row that do not pay.
fn trim(state: &mut State, row: &Row) {
    for at_end in [true, false] {
        loop {
            let sown = state.rhythm.as_ref().map_or(&[][..], |rhythm| rhythm.sown(row.series));
            let end = if at_end { sown.last() } else { sown.first() };
            let batch =
                end.copied().zip(state.rhythm.as_ref()).map(|(end, rhythm)| Rhythm::candidate(rhythm, end));
            let Some(batch) = batch else { return };
            let mut changes = Vec::new();
            state.clear(batch, &mut changes);
            if !state.attempt(&changes, |points| points < 0.0) {
                break;
            }
        }
    }
}
