//! Holes that plants keep: those they stand in, and those they were to get.

use super::super::instance::{Index, Lot, Path};
use super::super::under_way::OldPart;
use super::state::State;
use crate::domain::term::Stage;

/// Holes for one part.
#[derive(Debug, Clone, Default)]
pub(super) struct Kept {
    /// Its plants stand in them.
    pub(super) fixed: Vec<u32>,
    /// Its plants should get them if they are free.
    pub(super) wished: Vec<u32>,
    /// Whether the part goes on as it was planned.
    pub(super) as_planned: bool,
}

/// Holes that the term file tells for plants which stand at the start, by part.
pub(super) fn told(state: &State, candidate: u32) -> Vec<Kept> {
    let standing = state.instance.candidates[candidate as usize].standing;
    let mut known = match standing.map(|number| &state.instance.net.standing[number].standing.stage) {
        Some(Stage::Tank { holes, .. }) => holes.clone(),
        _ => Vec::new(),
    };
    let lots = state.lots(candidate).iter();
    lots.map(|lot| Kept { fixed: take(&mut known, lot.plants as usize), ..Kept::default() }).collect()
}

fn take(holes: &mut Vec<u32>, plants: usize) -> Vec<u32> {
    holes.drain(..holes.len().min(plants)).collect()
}

/// Holes of a candidate's parts when a plan is made anew.
///
/// First every part that goes on as it was takes its holes; what is left goes to parts with the same past.
pub(super) fn holes(state: &State, candidate: u32, old: &[OldPart]) -> Vec<Kept> {
    let own = &state.instance.candidates[candidate as usize];
    let open = state.instance.net.sites[own.site].past_days as Index;
    let lots = state.lots(candidate);
    let stands = |path: &Path| !path.lost_in_nursery() && (own.in_tank() || path.moved < open);
    let mut pools: Vec<(&OldPart, Vec<u32>)> = old.iter().map(|part| (part, part.holes.clone())).collect();
    let mut kept = vec![Kept::default(); lots.len()];
    let as_planned = |part: &OldPart, lot: &Lot| part.planned == Some(lot.path);
    let like_it = |part: &OldPart, lot: &Lot| {
        let (old, new) = (&part.past, &lot.path);
        let same_past = (old.tank, old.moved) == (new.tank, new.moved)
            && old.harvests_before(open) == new.harvests_before(open);
        part.stands == stands(new) && if part.stands { same_past } else { old.tank == new.tank }
    };
    for (lot, kept) in lots.iter().zip(&mut kept) {
        kept.as_planned = old.iter().any(|part| as_planned(part, lot));
    }
    for fits in [&as_planned as &dyn Fn(&OldPart, &Lot) -> bool, &like_it] {
        for (lot, kept) in lots.iter().zip(&mut kept) {
            let into = if stands(&lot.path) { &mut kept.fixed } else { &mut kept.wished };
            for (_, pool) in pools.iter_mut().filter(|(part, _)| fits(part, lot)) {
                into.extend(take(pool, (lot.plants as usize).saturating_sub(into.len())));
            }
        }
    }
    kept
}
