//! Before the search: plants that already stand are put on some path that keeps every limit.

use super::super::instance::{Candidate, Index, Path};
use super::super::options::ScheduleError;
use super::change::Change;
use super::state::State;

/// Puts all standing plants on paths; in tanks first, because they cannot wait.
pub(super) fn standing(state: &mut State) -> Result<(), ScheduleError> {
    let instance = state.instance;
    let mut candidates: Vec<u32> = (0..instance.candidates.len() as u32)
        .filter(|number| instance.candidates[*number as usize].standing.is_some())
        .collect();
    candidates.sort_by_key(|number| !instance.candidates[*number as usize].in_tank());
    for number in candidates {
        let candidate = &instance.candidates[number as usize];
        let Some(standing) = candidate.standing.map(|standing| instance.net.standing[standing].standing)
        else {
            continue;
        };
        let mut left = standing.plants as i32;
        for path in paths(state, candidate) {
            let mut plants = left;
            while plants > 0 && !state.attempt(&[Change { candidate: number, path, plants }], |_| true) {
                plants /= 2;
            }
            left -= plants;
            if left == 0 {
                break;
            }
        }
        if left > 0 {
            return Err(ScheduleError::Standing { batch: standing.batch.clone(), plants: left as u32 });
        }
    }
    Ok(())
}

/// Every path with at most two harvests (three, where cut plants must be cut again), soonest first. Each is
/// listed often enough that all plants can be shared out over several.
fn paths(state: &State, candidate: &Candidate) -> Vec<Path> {
    let instance = state.instance;
    let tanks = match candidate.fixed_tank {
        Some(tank) => vec![tank],
        None => instance.yields(candidate).tanks.clone(),
    };
    let mut days: Vec<Vec<Index>> = candidate.pulls.clone().map(|day| vec![day]).collect();
    for cut in candidate.cuts.clone() {
        days.push(vec![cut]);
        days.extend(instance.regrowths(candidate, cut).map(|pull| vec![cut, pull]));
    }
    days.sort_by_key(|days| days.last().copied());
    let mut paths = Vec::new();
    for harvests in &days {
        for tank in &tanks {
            for moved in candidate.transplants.clone() {
                let path = Path::new(*tank, moved, harvests);
                if instance.allows(candidate, &path) {
                    paths.extend([path; 3]);
                }
            }
        }
    }
    paths
}
