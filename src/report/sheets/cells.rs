//! Which cells of the nursery each batch stands in.
//!
//! The plan only counts cells. Here batches get numbered ones, in the order they are sown: the shortest row of free
//! neighbouring cells that holds all plugs, or, where none is long enough, the longest rows there are. A batch that
//! moves to the tanks in several goes keeps its lowest cells, so that the others are free again at once; this is how
//! the plan counts. An assignment depends only on batches sown before, so that it does not change when later ones
//! do.

use crate::domain::ids::{BatchId, SiteId};
use crate::domain::plan::{Batch, Origin, Plan};
use crate::domain::room::waiting;
use crate::domain::site::Site;
use crate::domain::term::Term;
use chrono::NaiveDate;
use std::collections::BTreeMap;

/// Cells of one batch.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CellStay {
    /// The cells it is sown into, sorted; fewer than its plugs only if the nursery is too small for the plan.
    pub cells: Vec<u32>,
    /// From each day on which plants leave, how many of the cells (the lowest ones) stay in use; sorted, the last is 0.
    pub left: Vec<(NaiveDate, u32)>,
}

impl CellStay {
    /// Cells in use at the end of `day`, on or after the day of sowing.
    pub fn on(&self, day: NaiveDate) -> &[u32] {
        let left = self.left.iter().rev().find(|(from, _)| *from <= day);
        match left {
            Some((_, count)) => &self.cells[..(*count as usize).min(self.cells.len())],
            None => &self.cells,
        }
    }
}

/// The cells of every batch of a site that is ever in its nursery.
pub fn cell_stays(term: &Term, plan: &Plan, site: &Site) -> BTreeMap<BatchId, CellStay> {
    let mut stays: BTreeMap<BatchId, CellStay> = BTreeMap::new();
    for batch in in_nursery(term, plan, &site.id) {
        // What stood there before the term began is there when it begins.
        let day = batch.sown.max(term.start);
        let mut free = vec![true; site.nursery.cells as usize];
        for cell in stays.values().flat_map(|stay| stay.on(day)) {
            free[*cell as usize - 1] = false;
        }
        stays.insert(batch.id.clone(), CellStay { cells: take(&free, batch.plugs), left: left(term, batch) });
    }
    stays
}

/// The batches of a site that stand in its nursery, in the order they come in.
fn in_nursery<'a>(term: &Term, plan: &'a Plan, site: &SiteId) -> Vec<&'a Batch> {
    let mut batches: Vec<&Batch> = plan
        .batches
        .iter()
        .filter(|batch| batch.site == *site)
        .filter(|batch| batch.origin != Origin::InCups)
        .filter(|batch| !batch.is_standing() || batch.parts.iter().any(|part| part.transplant >= term.start))
        .collect();
    batches.sort_by_key(|batch| (batch.sown.max(term.start), batch.sown, &batch.id));
    batches
}

fn left(term: &Term, batch: &Batch) -> Vec<(NaiveDate, u32)> {
    let mut days: Vec<NaiveDate> = batch.parts.iter().map(|part| part.transplant).collect();
    days.sort_unstable();
    days.dedup();
    days.into_iter().map(|day| (day, waiting(term, batch, day))).collect()
}

/// Numbers of `count` free cells.
fn take(free: &[bool], count: u32) -> Vec<u32> {
    let mut rows = free_rows(free);
    let fitting =
        rows.iter().filter(|(_, length)| *length >= count).min_by_key(|(first, length)| (*length, *first));
    if let Some((first, _)) = fitting {
        return (*first..*first + count).collect();
    }
    rows.sort_by_key(|(first, length)| (std::cmp::Reverse(*length), *first));
    let mut cells: Vec<u32> =
        rows.into_iter().flat_map(|(first, length)| first..first + length).take(count as usize).collect();
    cells.sort_unstable();
    cells
}

/// First cell and length of every row of free neighbouring cells.
fn free_rows(free: &[bool]) -> Vec<(u32, u32)> {
    let mut rows: Vec<(u32, u32)> = Vec::new();
    for (number, _) in (1_u32..).zip(free).filter(|(_, free)| **free) {
        match rows.last_mut() {
            Some((first, length)) if *first + *length == number => *length += 1,
            _ => rows.push((number, 1)),
        }
    }
    rows
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_tightest_row_is_taken_and_rows_are_split_only_where_they_must() {
        let free: Vec<bool> = "ooo.oo.oooo".chars().map(|c| c == 'o').collect();
        assert_eq!(free_rows(&free), [(1, 3), (5, 2), (8, 4)]);
        assert_eq!(take(&free, 2), [5, 6]);
        assert_eq!(take(&free, 3), [1, 2, 3]);
        assert_eq!(take(&free, 6), [1, 2, 8, 9, 10, 11]);
        assert_eq!(take(&free, 20).len(), 9);
    }

    #[test]
    fn a_batch_gives_up_its_highest_cells_first() {
        let day = |text: &str| text.parse().unwrap();
        let stay =
            CellStay { cells: vec![4, 5, 6, 9], left: vec![(day("2026-09-10"), 2), (day("2026-09-14"), 0)] };
        assert_eq!(stay.on(day("2026-09-09")), [4, 5, 6, 9]);
        assert_eq!(stay.on(day("2026-09-10")), [4, 5]);
        assert_eq!(stay.on(day("2026-09-30")), [0; 0]);
    }
}
