//! Paths a batch's plants can take: drawn at random, or altered a little.

use super::super::instance::{Candidate, Index, Instance, MOST_HARVESTS, Path};
use rand::Rng;
use rand::seq::IndexedRandom;
use std::ops::Range;

/// How often plants stay in the nursery as long as they may, and where cells are fewer than holes.
const LATE: f64 = 0.6;
const LATE_IN_FEW_CELLS: f64 = 0.3;

/// A random member of a range, if there is one.
pub(super) fn any(range: &Range<Index>, rng: &mut impl Rng) -> Option<Index> {
    (!range.is_empty()).then(|| rng.random_range(range.clone()))
}

/// The class day so many others later, or before it; it may lie beyond the term's last one.
pub(super) fn shifted(day: Index, far: Index, later: bool) -> Option<Index> {
    if later { day.checked_add(far) } else { day.checked_sub(far) }
}

/// What is wanted of a path's first harvest.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Wish {
    /// The day.
    pub(super) day: Option<Index>,
    /// Whether the plants are pulled (or else cut) on it.
    pub(super) pulled: Option<bool>,
}

/// A random path of the candidate that has the first harvest wished for.
pub(super) fn random(
    instance: &Instance,
    candidate: &Candidate,
    wish: Wish,
    rng: &mut impl Rng,
) -> Option<Path> {
    let yields = instance.yields(candidate);
    let tank = match candidate.fixed_tank {
        Some(tank) => tank,
        None => *yields.tanks.choose(rng)?,
    };
    // Late transplanting saves room in tanks, so it is tried more often.
    let late = if instance.net.few_cells { LATE_IN_FEW_CELLS } else { LATE };
    let moved = if rng.random_bool(late) && !candidate.transplants.is_empty() {
        candidate.transplants.end - 1
    } else {
        any(&candidate.transplants, rng)?
    };
    let harvests = harvests(instance, candidate, wish, rng)?;
    Some(Path::new(tank, moved, &harvests))
}

fn harvests(
    instance: &Instance,
    candidate: &Candidate,
    Wish { day: first, pulled }: Wish,
    rng: &mut impl Rng,
) -> Option<Vec<Index>> {
    let yields = instance.yields(candidate);
    let fits = |range: &Range<Index>| first.map_or(!range.is_empty(), |day| range.contains(&day));
    let can_pull = pulled != Some(false) && fits(&candidate.pulls) && candidate.cuts_before == 0;
    let can_cut = pulled != Some(true) && fits(&candidate.cuts);
    let begin = |range: &Range<Index>, rng: &mut _| first.or_else(|| any(range, rng));
    if can_pull && (!can_cut || (!yields.must_cut() && rng.random_bool(0.5))) {
        return Some(vec![begin(&candidate.pulls, rng)?]);
    }
    if !can_cut {
        return None;
    }
    let mut days = vec![begin(&candidate.cuts, rng)?];
    // Plants cut before may be pulled at once; others are cut now and pulled later.
    let mut go_on = candidate.cuts_before == 0 || rng.random_bool(0.5);
    while go_on
        && days.len() < MOST_HARVESTS
        && candidate.cuts_before as usize + days.len() < yields.harvests as usize
    {
        match any(&instance.regrowths(candidate, days[days.len() - 1]), rng) {
            Some(day) => days.push(day),
            None => break,
        }
        go_on = rng.random_bool(0.5);
    }
    (candidate.cuts_before > 0 || days.len() > 1).then_some(days)
}

/// A path near another one; not always allowed.
pub(super) fn near(
    instance: &Instance,
    candidate: &Candidate,
    path: &Path,
    rng: &mut impl Rng,
) -> Option<Path> {
    let step = |day: Index, rng: &mut dyn rand::RngCore| {
        let far = 1 + Index::from(rng.next_u32().is_multiple_of(4));
        shifted(day, far, !rng.next_u32().is_multiple_of(2))
    };
    let harvests = path.harvests();
    let changed = match rng.random_range(0..10) {
        0..=2 => {
            let position = rng.random_range(0..harvests.len());
            path.with_harvest(position, step(harvests[position], rng)?)
        }
        3 => {
            let from = rng.random_range(0..harvests.len());
            let later = rng.random_bool(0.5);
            let mut changed = *path;
            for (position, day) in harvests.iter().enumerate().skip(from) {
                changed = changed.with_harvest(position, shifted(*day, 1, later)?);
            }
            changed
        }
        4 | 5 => path.moved_on(any(&candidate.transplants, rng)?),
        6 => path.in_tank(*instance.yields(candidate).tanks.choose(rng)?),
        7 => path.longer(any(&instance.regrowths(candidate, path.last()), rng)?)?,
        8 => path.shorter()?,
        _ => random(instance, candidate, Wish::default(), rng)?,
    };
    (changed != *path && instance.allows(candidate, &changed)).then_some(changed)
}
