//! Going on with a plan under way: its batches are booked as they are, what cannot be any more is mended, and then
//! the search goes on from there.

use super::super::instance::{Candidate, Day, Index, Instance, Path};
use super::super::options::ScheduleError;
use super::super::under_way::{OldPart, Rest};
use super::super::watch::Watch;
use super::anneal::{Annealing, COLD, WALKERS, Walker, anneal, hurry, steps_a_round, walkers};
use super::around::Counted;
use super::change::Change;
use super::dates;
use super::found::Found;
use super::habit::{Habit, Start};
use super::moves::Servings;
use super::series;
use super::settle;
use super::state::State;
use crate::domain::task_numbers::TaskKind;
use chrono::NaiveDate;

/// Missing grams that a step may cost at the beginning: enough to find ways round what failed, measured by the stability
/// bench.
const HOT_GRAMS: f64 = 30.0;

/// A plan under way.
pub(in crate::schedule) struct Going<'a> {
    /// As it stands: what was lost is lost.
    pub(in crate::schedule) rest: &'a Rest,
    /// As people have it in their calendars.
    pub(in crate::schedule) known: &'a Rest,
    /// Tasks in those calendars that were done before their day, by candidate.
    pub(in crate::schedule) early: Vec<Vec<(TaskKind, Index)>>,
    /// Points for a task of those calendars that changes.
    pub(in crate::schedule) price: f64,
    /// Serving days as people have them, with the grams that were short.
    pub(in crate::schedule) counted_on: Vec<(NaiveDate, f64)>,
    /// By site: whether what happened is about it.
    pub(in crate::schedule) concerned: Vec<bool>,
    /// Whether nothing happened but that something was lost.
    pub(in crate::schedule) only_losses: bool,
}

/// What becomes of the plan if nothing is done but what must be.
pub(in crate::schedule) fn left(
    instance: &Instance,
    going: &Going,
    seed: u64,
    watch: &Watch,
) -> Result<Found, ScheduleError> {
    let habit = habit(instance, going);
    let mut begun = begun(instance, going);
    begun.keep_to(&habit);
    finish(begun, going, &Servings::new(instance, &[]), (seed, 0), watch)
}

/// What the search makes of it.
pub(in crate::schedule) fn resume(
    instance: &Instance,
    going: &Going,
    (seed, effort, until_stopped): (u64, u64, bool),
    watch: &Watch,
) -> Result<Found, ScheduleError> {
    let servings = Servings::new(instance, &[]);
    let mut habit = habit(instance, going);
    let mut begun = begun(instance, going);
    habit.begin_at(begun.all_lots().to_vec());
    begun.keep_to(&habit);
    let counted = Counted::new(instance, going);
    if going.only_losses && !counted.is_missed(&begun) {
        return finish(begun, going, &servings, (seed, 0), watch);
    }
    begun.hold_met();
    if going.only_losses {
        begun.keep_few();
    }
    let steps = steps_a_round(effort, 1);
    let heat = (HOT_GRAMS * instance.net.term.rules.weights.short, COLD);
    let mut best = begun.clone();
    // Other sites are asked only where a day would be missed without them.
    let alone: Vec<bool> = going.concerned.iter().map(|concerned| !concerned).collect();
    let near = alone.contains(&true);
    best.leave_alone(alone);
    let walks = 1 + u64::from(near);
    let (mut walk, mut enough) = (0, false);
    while (walk == 0 || walk < walks && !enough || until_stopped) && !(watch.stop)() {
        let from = if walk < walks { best.clone() } else { begun.clone() };
        let schedule = Annealing { heat, steps, walk, walks, plant: None };
        anneal(walkers(&from, (seed, walk)), &mut best, &servings, &schedule, watch);
        walk += u64::from(!(watch.stop)());
        enough |= near && !counted.is_missed(&best);
        if !enough {
            best.leave_alone(vec![false; going.concerned.len()]);
        }
        begun.leave_alone(best.left_alone().to_vec());
    }
    if walk == 0 {
        hurry(&mut best, &servings, seed, None);
    }
    dates::polish(&mut best);
    let found = finish(best, going, &servings, (seed, steps / 4), watch)?;
    Ok(Found { stopped: walk == 0, ..found })
}

/// The plan under way as far as it can go on: everything that grows or was to be sown is booked. What has no room or no day
/// any more takes the nearest path that has; plants without any are counted as lost today, batches not yet sown are left
/// out.
fn begun<'g>(instance: &'g Instance<'g>, going: &Going) -> State<'g> {
    let mut living = living(instance, going.rest);
    let mut begun = loop {
        let mut begun = State::new(instance);
        // What is given up holds its room until today, and those that were booked before it may have taken that.
        if !grow(&mut begun, going.rest, &mut living) || begun.ledger.sound() {
            break begun;
        }
    };
    // More may have been recorded in a tank than has room there. What is given up takes that room until the tank has rested.
    begun.ledger.pardon();
    sow_again(&mut begun, going.rest);
    begun
}

/// Plants of a part that are alive, as far as is known so far.
struct Living<'r> {
    candidate: u32,
    part: &'r OldPart,
    given_up: i32,
}

fn living<'r>(instance: &Instance, rest: &'r Rest) -> Vec<Living<'r>> {
    let of_batch = |(number, parts): (usize, &'r Vec<OldPart>)| {
        let own = &instance.candidates[number];
        let parts = parts.iter().filter(move |part| own.given && gone(instance, own, part).is_none());
        parts.map(move |part| Living { candidate: number as u32, part, given_up: 0 })
    };
    rest.parts.iter().enumerate().flat_map(of_batch).collect()
}

/// The path of a part whose plants were lost, or pulled on a day that is past.
fn gone(instance: &Instance, own: &Candidate, part: &OldPart) -> Option<Path> {
    let past_days = instance.net.sites[own.site].past_days;
    part.planned.filter(|path| path.lost.is_some() || usize::from(path.last()) < past_days)
}

fn finish(
    state: State,
    going: &Going,
    servings: &Servings,
    (seed, steps): (u64, u64),
    watch: &Watch,
) -> Result<Found, ScheduleError> {
    let mut walker = Walker::new(state, seed.wrapping_add(WALKERS as u64));
    let batches = settle::settle(&mut walker, servings, steps, Some(going.rest), watch)?;
    walker.state.let_go();
    let (taken, points) = (walker.state.taken(), walker.state.points());
    Ok(Found { batches, taken, points, stopped: false })
}

fn habit(instance: &Instance, going: &Going) -> Habit {
    let start = |candidate: &Candidate| Start {
        sown: candidate.sow_index,
        in_tank: candidate.in_tank() || !candidate.start.waits(),
        open: instance.net.sites[candidate.site].past_days as Index,
        elsewhere: !going.concerned[candidate.site],
    };
    let starts = instance.candidates.iter().map(start).collect();
    Habit::new(going.price, starts, &going.known.habits(), going.early.clone())
}

/// Books everything that grows, after what is gone or given up already; returns whether more of it had to be given up.
fn grow(state: &mut State, rest: &Rest, living: &mut [Living]) -> bool {
    for (number, parts) in rest.parts.iter().enumerate() {
        let own = &state.instance.candidates[number];
        for part in parts.iter().filter(|_| own.given) {
            if let Some(path) = gone(state.instance, own, part) {
                state.book(&Change { candidate: number as u32, path, plants: part.plants });
            }
        }
    }
    for one in living.iter() {
        give_up(state, one, one.given_up);
    }
    state.settle();
    let mut more = false;
    // Plants in tanks cannot wait; those that go on as planned come before those that must look for a way.
    for stands in [true, false] {
        let here = living.iter_mut().filter(|one| one.part.stands == stands);
        let astray: Vec<&mut Living> = here.filter(|one| !go_on(state, one)).collect();
        for one in astray {
            let left = redirect(state, one);
            give_up(state, one, left);
            one.given_up += left;
            more |= left > 0;
        }
    }
    more
}

/// Books the batches that are still to be sown.
fn sow_again(state: &mut State, rest: &Rest) {
    // Sown one after the other, batches are out of rhythm for a while.
    state.pause_rhythm(true);
    for (number, parts) in rest.parts.iter().enumerate() {
        if !state.instance.candidates[number].given {
            sow(state, number as u32, parts);
        }
    }
    state.pause_rhythm(false);
    series::even_out(state);
}

/// Books the living plants of a part as they were planned, if that can still be.
fn go_on(state: &mut State, one: &Living) -> bool {
    let (candidate, plants) = (one.candidate, one.part.plants - one.given_up);
    let own = &state.instance.candidates[candidate as usize];
    let allowed = one.part.planned.filter(|path| state.instance.allows(own, path));
    plants == 0 || allowed.is_some_and(|path| state.attempt(&[Change { candidate, path, plants }], |_| true))
}

/// Books the living plants of a part on other paths, the nearest first; returns how many find none.
fn redirect(state: &mut State, one: &Living) -> i32 {
    let mut left = one.part.plants - one.given_up;
    for path in ways_on(state.instance, one) {
        let mut plants = left;
        while plants > 0 && !state.attempt(&[Change { candidate: one.candidate, path, plants }], |_| true) {
            plants /= 2;
        }
        left -= plants;
        if left == 0 {
            break;
        }
    }
    left
}

/// Every way on from what is past with at most two more harvests, the nearest to the plan first.
fn ways_on(instance: &Instance, one: &Living) -> Vec<Path> {
    let (own, part) = (&instance.candidates[one.candidate as usize], one.part);
    let site = &instance.net.sites[own.site];
    let done = part.past.harvests();
    let mut harvests: Vec<Vec<Index>> = Vec::new();
    let mut add = |more: &[Index]| harvests.push([done, more].concat());
    let next = match done.last() {
        Some(cut) => instance.regrowths(own, *cut),
        None if own.cuts_before > 0 => own.cuts.clone(),
        None => {
            own.pulls.clone().for_each(|day| add(&[day]));
            own.cuts.clone()
        }
    };
    // No harvest is made up for days that are past.
    for day in next.filter(|day| usize::from(*day) >= site.past_days) {
        if !done.is_empty() || own.cuts_before > 0 {
            add(&[day]);
        }
        instance.regrowths(own, day).for_each(|last| add(&[day, last]));
    }
    let starts: Vec<(u16, Index)> = if part.stands {
        vec![(part.past.tank, part.past.moved)]
    } else {
        let days = || own.transplants.clone();
        instance.yields(own).tanks.iter().flat_map(|tank| days().map(|day| (*tank, day))).collect()
    };
    let mut paths: Vec<Path> = starts
        .iter()
        .flat_map(|(tank, moved)| harvests.iter().map(|days| Path::new(*tank, *moved, days)))
        .filter(|path| usize::from(path.last()) >= site.past_days && instance.allows(own, path))
        .collect();
    paths.sort_by_key(|path| distance(instance, own, part, path));
    paths
}

/// How far a path is from the planned one: days, and the same again as a week for another tank.
fn distance(instance: &Instance, own: &Candidate, part: &OldPart, path: &Path) -> Day {
    let days = &instance.net.sites[own.site].class_days;
    let moved = days[usize::from(path.moved)] - days[usize::from(part.habit.moved).min(days.len() - 1)];
    let leaves = instance.leaves(own, path) - part.leaves;
    moved.abs() + leaves.abs() + if path.tank == part.past.tank { 0 } else { 7 }
}

/// Counts plants as lost today for which there is no way on.
fn give_up(state: &mut State, &Living { candidate, part, .. }: &Living, plants: i32) {
    let own = &state.instance.candidates[candidate as usize];
    let (Some(today), true) = (state.instance.net.today, plants > 0) else { return };
    let site = &state.instance.net.sites[own.site];
    let path = if part.stands {
        let tank = &site.tanks[usize::from(part.past.tank)];
        let from = if own.in_tank() { 0 } else { site.class_days[usize::from(part.past.moved)] };
        part.past.lost(tank.gone_by(from, today), false)
    } else {
        let open = site.past_days as Index;
        Path::new(part.past.tank, open, &[]).lost(today, true)
    };
    state.book(&Change { candidate, path, plants });
    state.settle();
}

/// Books a batch that is still to be sown: as planned, or as much of it as can still be.
fn sow(state: &mut State, candidate: u32, parts: &[OldPart]) {
    let instance = state.instance;
    let own = &instance.candidates[candidate as usize];
    let changes: Vec<Change> = parts
        .iter()
        .filter_map(|part| part.planned.map(|path| Change { candidate, path, plants: part.plants }))
        .filter(|change| instance.allows(own, &change.path))
        .collect();
    if state.attempt(&changes, |_| true) {
        return;
    }
    // Where all parts together find no room, one of them may.
    let _ = changes.iter().any(|change| state.attempt(&[*change], |_| true));
}
