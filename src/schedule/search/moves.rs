//! Steps of the search: each is a handful of plants taken from some paths and put on others.

use super::super::instance::{Candidate, Hint, Index, Instance, Lot, Path};
use super::change::Change;
use super::dates::{join, redate};
use super::draw::{some_batch, some_lot, some_lot_at};
use super::guide::Guide;
use super::paths::{Wish, near, random, shifted};
use super::state::State;
use super::swap::swap_tanks;
use rand::Rng;
use rand::seq::IndexedRandom;
use std::ops::Range;

/// Where to look for harvests for a serving.
pub(super) struct Servings {
    /// Class days on which a harvest first serves it: by serving, then site.
    days: Vec<Vec<Range<Index>>>,
    guide: Guide,
}

impl Servings {
    pub(super) fn new(instance: &Instance, hints: &[Hint]) -> Self {
        let net = instance.net;
        let days = net
            .servings
            .iter()
            .enumerate()
            .map(|(number, serving)| {
                let after = number.checked_sub(1).map_or(-1, |before| net.servings[before].day);
                let index = |days: &[i32], limit: i32| days.partition_point(|day| *day <= limit) as Index;
                net.sites
                    .iter()
                    .map(|site| index(&site.class_days, after)..index(&site.class_days, serving.day))
                    .collect()
            })
            .collect();
        Self { days, guide: Guide::new(instance, hints) }
    }

    /// Class days of a site on which a harvest first serves the serving.
    pub(super) fn days(&self, serving: usize, site: usize) -> Range<Index> {
        self.days[serving][site].clone()
    }
}

/// How often the linear program is asked where to look.
const GUIDED: f64 = 0.7;
/// Most paths drawn for one to be tried.
const DRAWS: usize = 3;

/// Proposes a step with single batches and parts.
pub(super) fn propose(state: &State, servings: &Servings, rng: &mut impl Rng, changes: &mut Vec<Change>) {
    let _ = match rng.random_range(0..100) {
        0..15 => resize(state, rng, changes),
        15..35 => alter(state, rng, changes),
        35..50 => transfer(state, rng, changes),
        50..52 => swap_tanks(state, rng, changes),
        52..58 => begin(state, servings, rng, changes),
        58..59 => drop_batch(state, rng, changes),
        59..65 => shift_batch(state, rng, changes),
        65..66 => merge_batches(state, rng, changes),
        66..84 => redate(state, rng, changes),
        84..91 => join(state, rng, changes),
        _ => replace(state, servings, rng, changes),
    };
}

fn smallest(state: &State) -> i32 {
    state.instance.net.term.rules.smallest_batch.max(1) as i32
}

/// Takes plants off a part; off the whole batch, where it would become too small.
fn take(state: &State, (batch, lot): (u32, Lot), plants: i32, changes: &mut Vec<Change>) -> i32 {
    if !state.given(batch) && state.plants(batch) - plants < smallest(state) {
        state.clear(batch, changes);
        return state.plants(batch);
    }
    changes.push(Change { candidate: batch, path: lot.path, plants: -plants });
    plants
}

/// A few plants: one most often.
pub(super) fn few(rng: &mut impl Rng) -> i32 {
    match rng.random_range(0..10) {
        0..5 => 1,
        5..7 => 2,
        7..9 => 3,
        _ => rng.random_range(4..9),
    }
}

fn resize(state: &State, rng: &mut impl Rng, changes: &mut Vec<Change>) -> Option<()> {
    let (batch, lot) = some_lot(state, rng)?;
    if state.given(batch) {
        return None;
    }
    let plants = few(rng);
    if rng.random_bool(0.5) {
        changes.push(Change { candidate: batch, path: lot.path, plants });
    } else {
        take(state, (batch, lot), plants.min(lot.plants), changes);
    }
    Some(())
}

/// Some or all plants of a part take another path; or new plants join the batch on one.
pub(super) fn alter(state: &State, rng: &mut impl Rng, changes: &mut Vec<Change>) -> Option<()> {
    let (batch, lot) = some_lot(state, rng)?;
    let candidate = &state.instance.candidates[batch as usize];
    let path = near(state.instance, candidate, &lot.path, rng)?;
    if !state.given(batch) && rng.random_bool(0.15) {
        changes.push(Change { candidate: batch, path, plants: few(rng) });
        return Some(());
    }
    if state.given(batch) && !state.instance.keeps_past(candidate, &lot.path, &path) {
        return None;
    }
    let plants = if rng.random_bool(0.5) { lot.plants } else { few(rng).min(lot.plants) };
    changes.push(Change { candidate: batch, path: lot.path, plants: -plants });
    changes.push(Change { candidate: batch, path, plants });
    Some(())
}

/// Plants leave one part, and others join another part, at the same site or at another one.
pub(super) fn transfer(state: &State, rng: &mut impl Rng, changes: &mut Vec<Change>) -> Option<()> {
    let (from, lot) = some_lot(state, rng)?;
    let (to, other) = if rng.random_bool(0.7) {
        some_lot_at(state, state.instance.candidates[from as usize].site, rng)?
    } else {
        some_lot(state, rng)?
    };
    let plants = if rng.random_bool(0.2) { lot.plants } else { few(rng).min(lot.plants) };
    if from == to && lot.path != other.path {
        let candidate = &state.instance.candidates[from as usize];
        if state.given(from) && !state.instance.keeps_past(candidate, &lot.path, &other.path) {
            return None;
        }
        changes.push(Change { candidate: from, path: lot.path, plants: -plants });
        changes.push(Change { candidate: to, path: other.path, plants });
        return Some(());
    }
    if from == to || state.given(from) || state.given(to) {
        return None;
    }
    let taken = take(state, (from, lot), plants, changes);
    let more = match rng.random_range(0..4) {
        0 => taken,
        1 => few(rng),
        _ => in_exchange(state, (from, &lot.path, taken), (to, &other.path)),
    };
    changes.push(Change { candidate: to, path: other.path, plants: more });
    Some(())
}

/// Plants on another path that yield about as much as those taken away.
fn in_exchange(state: &State, (from, old, plants): (u32, &Path, i32), (to, new): (u32, &Path)) -> i32 {
    let ratio = state.worth(from, old) / state.worth(to, new).max(0.1);
    ((f64::from(plants) * ratio).round() as i32).clamp(1, 500)
}

/// A new batch (or new plants in one) whose first harvest serves a day in need.
fn begin(state: &State, servings: &Servings, rng: &mut impl Rng, changes: &mut Vec<Change>) -> Option<()> {
    let serving = needy(state, rng)?;
    let (candidate, path) = needed(state, servings, serving, None, rng)?;
    let short = state.need(serving);
    let plants = if short > 1.0 && rng.random_bool(0.5) {
        state.sized(candidate, &path, short)
    } else {
        size(state, rng)
    };
    changes.push(Change { candidate, path, plants });
    Some(())
}

/// A likely size for a new part.
fn size(state: &State, rng: &mut impl Rng) -> i32 {
    let smallest = smallest(state);
    if rng.random_bool(0.3) { smallest } else { smallest + rng.random_range(0..16) }
}

/// A candidate and path whose first harvest serves a serving; with `site`, at that site.
pub(super) fn needed<R: Rng>(
    state: &State,
    servings: &Servings,
    serving: usize,
    site: Option<usize>,
    rng: &mut R,
) -> Option<(u32, Path)> {
    let instance = state.instance;
    let draw = |rng: &mut R| {
        let hint = guided(rng).then(|| servings.guide.draw(serving, site, instance, rng)).flatten();
        if let Some(Hint { candidate, day, pulled, .. }) = hint {
            let wish = Wish { day: Some(day), pulled: Some(pulled) };
            let own = &instance.candidates[candidate as usize];
            let path = random(instance, own, wish, rng)?;
            return instance.allows(own, &path).then_some((candidate, path));
        }
        let site = site.unwrap_or_else(|| rng.random_range(0..instance.net.sites.len()));
        let day = super::paths::any(&servings.days(serving, site), rng)?;
        ripe_path(instance, site, day, rng)
    };
    thriftiest(state, draw, rng)
}

/// Whether to ask the linear program where to look.
fn guided(rng: &mut impl Rng) -> bool {
    rng.random_bool(GUIDED)
}

/// The one of a few draws that costs the fewest points for a gram.
fn thriftiest<R: Rng>(
    state: &State,
    mut draw: impl FnMut(&mut R) -> Option<(u32, Path)>,
    rng: &mut R,
) -> Option<(u32, Path)> {
    let draws = (0..rng.random_range(1..=DRAWS)).filter_map(|_| draw(rng)).collect::<Vec<_>>();
    draws.into_iter().min_by(|one, other| {
        let cost = |(candidate, path): &(u32, Path)| state.thrift(*candidate, path);
        cost(one).total_cmp(&cost(other))
    })
}

/// A candidate at a site, of any crop, and a path whose first harvest falls on a day.
fn ripe_path(instance: &Instance, site: usize, day: Index, rng: &mut impl Rng) -> Option<(u32, Path)> {
    let crop = rng.random_range(0..instance.net.term.crops.len());
    let ripe = instance.ripe_on(site, crop, day);
    let number = *ripe.choose(rng)?;
    let candidate = &instance.candidates[number as usize];
    let path = random(instance, candidate, Wish { day: Some(day), pulled: None }, rng)?;
    instance.allows(candidate, &path).then_some((number, path))
}

/// A serving, those in need of greens more likely than others.
pub(super) fn needy(state: &State, rng: &mut impl Rng) -> Option<usize> {
    let servings = state.short().len();
    if servings == 0 {
        return None;
    }
    if rng.random_bool(0.6) {
        let total: f64 = state.needs().sum();
        if total > 0.1 {
            let mut left = rng.random_range(0.0..total);
            for (serving, grams) in state.needs().enumerate() {
                left -= grams;
                if left <= 0.0 {
                    return Some(serving);
                }
            }
        }
    }
    Some(rng.random_range(0..servings))
}

fn drop_batch(state: &State, rng: &mut impl Rng, changes: &mut Vec<Change>) -> Option<()> {
    let batch = some_batch(state, rng)?;
    if state.given(batch) {
        return None;
    }
    state.clear(batch, changes);
    Some(())
}

/// The whole batch is sown on a neighbouring day; its other days stay, or go with it.
fn shift_batch(state: &State, rng: &mut impl Rng, changes: &mut Vec<Change>) -> Option<()> {
    let instance = state.instance;
    let batch = some_batch(state, rng)?;
    let from = &instance.candidates[batch as usize];
    let old_day = from.sow_index.filter(|_| !from.given)?;
    let far = rng.random_range(1..4);
    let later = rng.random_bool(0.5);
    let new_day = shifted(old_day, far, later)?;
    // Now and then another crop takes the place.
    let crop =
        if rng.random_bool(0.3) { rng.random_range(0..instance.net.term.crops.len()) } else { from.crop };
    let day = *instance.net.sites[from.site].class_days.get(usize::from(new_day))?;
    let to_number = instance.begun(from.site, crop, from.start.shifted(day))?;
    let to = &instance.candidates[to_number as usize];
    let along = rng.random_bool(0.5);
    let moved = |lot: &Lot| {
        let path = if along {
            let shifted = |day: Index| shifted(day, far, later);
            let harvests: Option<Vec<Index>> = lot.path.harvests().iter().map(|day| shifted(*day)).collect();
            Path::new(lot.path.tank, shifted(lot.path.moved)?, &harvests?)
        } else {
            let moved = lot.path.moved.max(to.transplants.start).min(to.transplants.end.checked_sub(1)?);
            lot.path.moved_on(moved)
        };
        instance.allows(to, &path).then_some(Change { candidate: to_number, path, plants: lot.plants })
    };
    let moved: Option<Vec<Change>> = state.lots(batch).iter().map(moved).collect();
    let moved = moved?;
    state.clear(batch, changes);
    changes.extend(moved);
    Some(())
}

/// All plants of a batch join a part of another one at the same site.
fn merge_batches(state: &State, rng: &mut impl Rng, changes: &mut Vec<Change>) -> Option<()> {
    let (batch, old) = some_lot(state, rng)?;
    let (other, lot) = some_lot_at(state, state.instance.candidates[batch as usize].site, rng)?;
    if batch == other || state.given(batch) || state.given(other) {
        return None;
    }
    state.clear(batch, changes);
    let plants = in_exchange(state, (batch, &old.path, state.plants(batch)), (other, &lot.path));
    changes.push(Change { candidate: other, path: lot.path, plants });
    Some(())
}

/// A part (or some of its plants) makes room for new plants in the same tank.
fn replace(state: &State, servings: &Servings, rng: &mut impl Rng, changes: &mut Vec<Change>) -> Option<()> {
    let (batch, lot) = some_lot(state, rng)?;
    let old: &Candidate = &state.instance.candidates[batch as usize];
    if state.given(batch) {
        return None;
    }
    let (candidate, path) = if rng.random_bool(0.5) {
        needed(state, servings, needy(state, rng)?, Some(old.site), rng)?
    } else {
        instead(state, old, &lot, rng)?
    };
    let there = path.in_tank(lot.path.tank);
    let fits = state.instance.allows(&state.instance.candidates[candidate as usize], &there);
    let path = if fits { there } else { path };
    let plants = if rng.random_bool(0.5) { lot.plants } else { few(rng).min(lot.plants) };
    let taken = take(state, (batch, lot), plants, changes);
    if candidate == batch {
        return forget(changes);
    }
    let more = if rng.random_bool(0.5) {
        in_exchange(state, (batch, &lot.path, taken), (candidate, &path))
    } else {
        taken + rng.random_range(-2..=2)
    };
    let missing = if state.plants(candidate) > 0 { 1 } else { smallest(state) };
    changes.push(Change { candidate, path, plants: more.max(missing) });
    Some(())
}

/// Another crop whose first harvest falls on the day of the part's last harvest.
fn instead(state: &State, old: &Candidate, lot: &Lot, rng: &mut impl Rng) -> Option<(u32, Path)> {
    let day = lot.path.harvests()[rng.random_range(0..lot.path.harvests().len())];
    thriftiest(state, |rng| ripe_path(state.instance, old.site, day, rng), rng)
}

fn forget(changes: &mut Vec<Change>) -> Option<()> {
    changes.clear();
    None
}
