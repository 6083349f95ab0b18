//! After the search: every plant gets its hole. Where plants of different room share a lid, enough holes
//! may be free without a fitting place among them; then room is taken out of use there and the search
//! goes on a little with what is left.

use super::super::holes::{Placed, Stay, place};
use super::super::instance::{Index, Path};
use super::super::options::ScheduleError;
use super::super::under_way::Rest;
use super::super::watch::{Phase, Progress, Watch};
use super::anneal::{COLD, Walker};
use super::change::Change;
use super::found::{FoundBatch, FoundPart};
use super::keep::{self, Kept};
use super::moves::Servings;
use super::series;
use super::state::State;
use crate::domain::ids::BatchId;
use crate::domain::lid::{Room, Spot};
use std::collections::BTreeMap;

/// Times to go on searching with what room is left; after that, plants without a place are given up and not
/// replaced.
const TRIES: usize = 12;

/// A part by candidate and number among its parts.
type PartKey = (u32, usize);

pub(super) fn settle(
    walker: &mut Walker,
    servings: &Servings,
    steps: u64,
    rest: Option<&Rest>,
    watch: &Watch,
) -> Result<Vec<FoundBatch>, ScheduleError> {
    (watch.report)(Progress { phase: Phase::Holes, done: 0.0, short_grams: None, points: None });
    let mut tries = TRIES;
    loop {
        let placed = place_all(&walker.state, rest);
        let misfits: Vec<(PartKey, u32)> = placed
            .iter()
            .filter(|(_, (_, missing))| *missing > 0)
            .map(|(key, (_, missing))| (*key, *missing))
            .collect();
        if misfits.is_empty() {
            return Ok(batches(&walker.state, &placed));
        }
        give_up(&mut walker.state, &misfits, tries > 0)?;
        if tries > 0 {
            walker.walk(servings, COLD, steps, watch.stop);
            tries -= 1;
        }
    }
}

/// Spots of each part, and how many of its plants have none.
type Spots = BTreeMap<PartKey, (Vec<Spot>, u32)>;

fn place_all(state: &State, rest: Option<&Rest>) -> Spots {
    let net = state.instance.net;
    let mut by_tank: BTreeMap<(usize, u16), Vec<(PartKey, Stay)>> = BTreeMap::new();
    let mut active = state.active().to_vec();
    active.sort_unstable();
    for candidate in active {
        let site = state.instance.candidates[candidate as usize].site;
        let kept = match rest {
            Some(rest) => keep::holes(state, candidate, &rest.parts[candidate as usize]),
            None => keep::told(state, candidate),
        };
        for (number, (lot, kept)) in state.lots(candidate).iter().zip(kept).enumerate() {
            if lot.path.lost_in_nursery() {
                continue;
            }
            let Kept { fixed, wished, as_planned } = kept;
            let stay = Stay { holes: fixed, wished, as_planned, ..stay(state, candidate, number) };
            // Slot 0 is the time before the first class day: even plants that are pulled on that very day have
            // stood beside all others until then.
            let in_tank = state.instance.candidates[candidate as usize].in_tank();
            let days = if in_tank { 0 } else { stay.days.start + 1 }..stay.days.end + 1;
            let stay = Stay { days, ..stay };
            by_tank.entry((site, lot.path.tank)).or_default().push(((candidate, number), stay));
        }
    }
    let mut all = Spots::new();
    for ((site, tank), stays) in by_tank {
        let site = &net.sites[site];
        let (keys, stays): (Vec<PartKey>, Vec<Stay>) = stays.into_iter().unzip();
        let Placed { places, missing } =
            place(&site.tanks[usize::from(tank)].tank.lid, site.class_days.len() + 1, &stays);
        for (key, found) in keys.into_iter().zip(places.into_iter().zip(missing)) {
            all.insert(key, found);
        }
    }
    all
}

fn stay(state: &State, candidate: u32, number: usize) -> Stay {
    let instance = state.instance;
    let lot = state.lots(candidate)[number];
    let own = &instance.candidates[candidate as usize];
    let site = &instance.net.sites[own.site];
    let leaves = instance.leaves(own, &lot.path);
    let open = site.class_days.get(site.past_days).copied();
    let turnover = instance.net.term.rules.turnover_days as i32;
    // Where the rest is over, others may have come sooner than planned.
    let over = site.past_days > 0 && open.is_none_or(|open| leaves + turnover <= open);
    let rest = if over { 0 } else { turnover };
    let end = site.class_days.partition_point(|day| *day < leaves + rest);
    Stay {
        plants: lot.plants as u32,
        spacing_cm: site.fields[own.crop].wanted.crop.spacing.value.cm(),
        room: site.fields[own.crop].room[usize::from(lot.path.tank)].unwrap_or(Room::Single),
        days: usize::from(lot.path.moved)..end,
        holes: Vec::new(),
        // Nobody can stand in the way of plants that are gone.
        open: if lot.path.lost.is_some() {
            usize::MAX
        } else {
            site.past_days + usize::from(site.past_days > 0)
        },
        wished: Vec::new(),
        as_planned: false,
        must: own.given,
    }
}

/// Drops plants without a place; with `close`, also takes their room out of use for the time they wanted
/// it, so that they do not come back. Where sowings keep a rhythm, what is then out of it goes, too, at worst the whole series. Plants that grow already are given up last: when a plan is made anew they
/// are lost, at the start of a term that fails.
fn give_up(state: &mut State, misfits: &[(PartKey, u32)], close: bool) -> Result<(), ScheduleError> {
    if misfits.iter().all(|((candidate, _), _)| state.given(*candidate)) {
        // Losing one changes the numbers of the others, but not their paths.
        let paths: Vec<Path> =
            misfits.iter().map(|((candidate, number), _)| state.lots(*candidate)[*number].path).collect();
        return misfits.iter().zip(paths).try_for_each(|(misfit, path)| lose(state, misfit, path));
    }
    let mut changes = Vec::new();
    for ((candidate, number), missing) in misfits {
        let own = &state.instance.candidates[*candidate as usize];
        if state.given(*candidate) {
            continue;
        }
        let path = state.lots(*candidate)[*number].path;
        changes.push(Change { candidate: *candidate, path, plants: -(*missing as i32) });
        if close {
            let stay = stay(state, *candidate, *number);
            let days = stay.days.start as Index..stay.days.end as Index;
            state.ledger.close_holes(own.site, path.tank, days, missing * stay.room.holes());
        }
    }
    for change in &changes {
        state.book(change);
    }
    let mut batches: Vec<u32> = changes.iter().map(|change| change.candidate).collect();
    batches.sort_unstable();
    batches.dedup();
    for batch in batches {
        if state.plants(batch) < state.instance.net.term.rules.smallest_batch as i32 {
            for lot in state.lots(batch).to_vec() {
                state.book(&Change { candidate: batch, path: lot.path, plants: -lot.plants });
            }
        }
    }
    state.settle();
    series::even_out(state);
    Ok(())
}

/// Counts plants as lost today that find no place any more.
fn lose(state: &mut State, misfit: &(PartKey, u32), path: Path) -> Result<(), ScheduleError> {
    let ((candidate, _), missing) = *misfit;
    let own = &state.instance.candidates[candidate as usize];
    let open = state.instance.net.sites[own.site].past_days as Index;
    let today = state.instance.net.today.ok_or_else(|| homeless(state, misfit))?;
    let lost = match path.lost {
        // Where they stood cannot be told any more.
        Some(loss) => Path::new(path.tank, open, &[]).lost(loss.day, true),
        None if own.in_tank() || path.moved < open => {
            Path::new(path.tank, path.moved, path.harvests_before(open)).lost(today, false)
        }
        None => Path::new(path.tank, open, &[]).lost(today, true),
    };
    state.book(&Change { candidate, path, plants: -(missing as i32) });
    state.book(&Change { candidate, path: lost, plants: missing as i32 });
    state.settle();
    Ok(())
}

fn homeless(state: &State, ((candidate, _), missing): &(PartKey, u32)) -> ScheduleError {
    let standing = state.instance.candidates[*candidate as usize].standing;
    let batch = standing.map_or_else(
        || BatchId::new(""),
        |number| state.instance.net.standing[number].standing.batch.clone(),
    );
    ScheduleError::Standing { batch, plants: *missing }
}

fn batches(state: &State, placed: &Spots) -> Vec<FoundBatch> {
    let mut active = state.active().to_vec();
    active.sort_unstable();
    active
        .into_iter()
        .map(|candidate| FoundBatch {
            candidate: candidate as usize,
            parts: state
                .lots(candidate)
                .iter()
                .enumerate()
                .map(|(number, lot)| FoundPart {
                    path: lot.path,
                    plants: lot.plants as u32,
                    places: placed.get(&(candidate, number)).map_or(Vec::new(), |(places, _)| places.clone()),
                })
                .collect(),
        })
        .collect()
}
