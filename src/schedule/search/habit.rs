//! What people already have in their calendars, and what it costs to change it.
//!
//! A task of a batch is told by its kind and day (and the tank, for transplanting). One that appears or goes costs
//! the whole price; one that keeps its day but not its size costs half of it and a share of the other half, so
//! that every change costs and a small one less than a large one.

use super::super::ground::{Index, Path};
use super::state::Lot;
use std::cmp::Ordering;

/// A task people have in their calendars.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Task {
    kind: Kind,
    day: Index,
    /// Meaningful for transplanting only.
    tank: u16,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Kind {
    Sow,
    Transplant,
    Harvest,
}

/// What is known of a batch when its tasks are listed.
#[derive(Debug, Clone, Copy)]
pub(super) struct Start {
    /// Day it is sown on, unless it stood before the term.
    pub(super) sown: Option<Index>,
    /// Whether its plants stood in a tank before the term.
    pub(super) in_tank: bool,
    /// First day that is not past.
    pub(super) open: Index,
}

/// The tasks still to come by candidate, and the price of changing one.
pub(super) struct Habit {
    price: f64,
    starts: Vec<Start>,
    tasks: Vec<Vec<(Task, i32)>>,
    /// Where the search begins: what was planned, as far as it can still be. By candidate.
    home: Vec<Vec<Lot>>,
    /// Candidates with plants there.
    homes: Vec<u32>,
}

impl Habit {
    /// For so many points a task. `old` are the parts people know of, by candidate.
    pub(super) fn new(price: f64, starts: Vec<Start>, old: &[Vec<Lot>]) -> Self {
        let tasks = starts.iter().zip(old).map(|(start, lots)| tasks(*start, lots)).collect();
        Self { price, starts, tasks, home: Vec::new(), homes: Vec::new() }
    }

    /// Notes where the search begins.
    pub(super) fn begin_at(&mut self, home: Vec<Vec<Lot>>) {
        self.homes = (0..home.len() as u32).filter(|number| !home[*number as usize].is_empty()).collect();
        self.home = home;
    }

    /// Candidates with plants where the search begins.
    pub(super) fn homes(&self) -> &[u32] {
        &self.homes
    }

    /// The parts of a candidate where the search begins.
    pub(super) fn home(&self, candidate: u32) -> &[Lot] {
        &self.home[candidate as usize]
    }

    /// Points for the tasks of a candidate that differ.
    pub(super) fn price(&self, candidate: usize, lots: &[Lot]) -> f64 {
        let (old, start) = (&self.tasks[candidate], self.starts[candidate]);
        if self.price == 0.0 || (old.is_empty() && lots.is_empty()) {
            return 0.0;
        }
        self.price * difference(old, &tasks(start, lots))
    }
}

/// The tasks that lots still bring, sorted, and their plants.
fn tasks(start: Start, lots: &[Lot]) -> Vec<(Task, i32)> {
    let mut all: Vec<(Task, i32)> = Vec::with_capacity(lots.len() * 4);
    let mut add = |kind, day, tank, plants| {
        if day >= start.open {
            all.push((Task { kind, day, tank }, plants));
        }
    };
    for Lot { path, plants } in lots {
        if let Some(sown) = start.sown {
            add(Kind::Sow, sown, 0, *plants);
        }
        if !start.in_tank && !path.lost_in_nursery() {
            add(Kind::Transplant, path.moved, path.tank, *plants);
        }
        for day in Path::harvests(path) {
            add(Kind::Harvest, *day, 0, *plants);
        }
    }
    all.sort_unstable_by_key(|(task, _)| *task);
    all.dedup_by(|next, kept| {
        let same = next.0 == kept.0;
        kept.1 += if same { next.1 } else { 0 };
        same
    });
    all
}

/// Tasks that differ: 1 for one that appears or goes, 0.5 to 1 for one that changes its size.
fn difference(old: &[(Task, i32)], new: &[(Task, i32)]) -> f64 {
    let (mut i, mut j, mut sum) = (0, 0, 0.0);
    while let (Some((one, before)), Some((other, after))) = (old.get(i), new.get(j)) {
        match one.cmp(other) {
            Ordering::Less => (i, sum) = (i + 1, sum + 1.0),
            Ordering::Greater => (j, sum) = (j + 1, sum + 1.0),
            Ordering::Equal => {
                if before != after {
                    sum += 0.5 + 0.5 * f64::from((before - after).abs()) / f64::from(*before.max(after));
                }
                (i, j) = (i + 1, j + 1);
            }
        }
    }
    sum + (old.len() - i + new.len() - j) as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lot(plants: i32, moved: Index, harvests: &[Index]) -> Lot {
        Lot { path: Path::new(0, moved, harvests), plants }
    }

    fn habit(open: Index, old: Vec<Lot>) -> Habit {
        Habit::new(2.0, vec![Start { sown: Some(3), in_tank: false, open }], &[old])
    }

    #[test]
    fn what_stays_costs_nothing() {
        let old = vec![lot(6, 8, &[14]), lot(4, 8, &[16])];
        assert_eq!(habit(0, old.clone()).price(0, &old).to_string(), "0");
        // Sown and moved already: only the harvests count.
        assert_eq!(habit(10, old.clone()).price(0, &[lot(10, 8, &[14])]).to_string(), "3.4");
    }

    #[test]
    fn every_change_costs() {
        let old = vec![lot(10, 8, &[14])];
        assert_eq!(habit(0, old.clone()).price(0, &[]).to_string(), "6");
        assert_eq!(habit(0, Vec::new()).price(0, &old).to_string(), "6");
        assert_eq!(habit(0, old.clone()).price(0, &[lot(10, 8, &[15])]).to_string(), "4");
        // Half the plants at all three tasks.
        assert_eq!(habit(0, old).price(0, &[lot(5, 8, &[14])]).to_string(), "4.5");
    }
}
