//! What people already have in their calendars, and what it costs to change it.
//!
//! A task of a batch is one entry in people's calendars: its kind, its day, and how many plants in which tanks. One
//! that moves, comes, goes or says something else costs the price once. Which task is which is counted as
//! [`crate::domain::same_tasks`] tells it: what is on a day of the old plan is the task of that day; of the others as
//! many as there are on both sides have moved.

use super::super::instance::{Index, Lot};
use crate::domain::task_numbers::TaskKind;
use std::cmp::Ordering;

/// Some plants of a task people have in their calendars. All that agree in kind and day make one task.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Entry {
    kind: TaskKind,
    day: Index,
    /// 0 for sowing.
    tank: u16,
    /// Whether a harvest is the last.
    last: bool,
    plants: i32,
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
    /// Whether its site has no part in what happened.
    pub(super) elsewhere: bool,
}

/// How many times as much a changed task costs at a site without a part in what happened: at the usual price, about a serving.
const ELSEWHERE: f64 = 3.0;

/// The tasks still to come by candidate, and the price of changing one.
pub(super) struct Habit {
    price: f64,
    starts: Vec<Start>,
    entries: Vec<Vec<Entry>>,
    /// Tasks among them that were done before their day, and so do not move to another one.
    early: Vec<Vec<(TaskKind, Index)>>,
    /// Where the search begins: what was planned, as far as it can still be. By candidate.
    home: Vec<Vec<Lot>>,
    /// Candidates with plants there.
    homes: Vec<u32>,
}

impl Habit {
    /// For so many points a task. `old` are the parts people know of and `early` their tasks that were done before
    /// their day, by candidate.
    pub(super) fn new(
        price: f64,
        starts: Vec<Start>,
        old: &[Vec<Lot>],
        early: Vec<Vec<(TaskKind, Index)>>,
    ) -> Self {
        let entries = starts.iter().zip(old).map(|(start, lots)| entries(*start, lots)).collect();
        Self { price, starts, entries, early, home: Vec::new(), homes: Vec::new() }
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
        let (old, start) = (&self.entries[candidate], self.starts[candidate]);
        if self.price == 0.0 || (old.is_empty() && lots.is_empty()) {
            return 0.0;
        }
        let price = self.price * if start.elsewhere { ELSEWHERE } else { 1.0 };
        price * f64::from(difference(old, &entries(start, lots), &self.early[candidate]))
    }
}

/// The entries that lots still bring, sorted, each once.
fn entries(start: Start, lots: &[Lot]) -> Vec<Entry> {
    let mut all: Vec<Entry> = Vec::with_capacity(lots.len() * 4);
    let mut add = |kind, day, tank, last, plants| {
        if day >= start.open {
            all.push(Entry { kind, day, tank, last, plants });
        }
    };
    for Lot { path, plants } in lots {
        if let Some(sown) = start.sown {
            add(TaskKind::Sow, sown, 0, false, *plants);
        }
        if !start.in_tank && !path.lost_in_nursery() {
            add(TaskKind::Transplant, path.moved, path.tank, false, *plants);
        }
        for (position, day) in path.harvests().iter().enumerate() {
            add(TaskKind::Harvest, *day, path.tank, position + 1 == path.harvests().len(), *plants);
        }
    }
    all.sort_unstable();
    all.dedup_by(|next, kept| {
        let same = (next.kind, next.day, next.tank, next.last) == (kept.kind, kept.day, kept.tank, kept.last);
        kept.plants += if same { next.plants } else { 0 };
        same
    });
    all
}

/// Tasks that differ.
fn difference(old: &[Entry], new: &[Entry], early: &[(TaskKind, Index)]) -> u32 {
    let of = |entries: &[Entry], kind: TaskKind| {
        let from = entries.partition_point(|entry| entry.kind < kind);
        from..entries.partition_point(|entry| entry.kind <= kind)
    };
    let kinds = TaskKind::ALL.iter();
    kinds.map(|kind| of_kind(&old[of(old, *kind)], &new[of(new, *kind)], early)).sum()
}

/// Tasks of one kind that differ.
fn of_kind(old: &[Entry], new: &[Entry], early: &[(TaskKind, Index)]) -> u32 {
    let mut before = old.chunk_by(|one, next| one.day == next.day).peekable();
    let mut after = new.chunk_by(|one, next| one.day == next.day).peekable();
    let (mut altered, mut gone, mut come) = (0, 0, 0);
    loop {
        let order = match (before.peek(), after.peek()) {
            (None, None) => return altered + gone.max(come),
            (Some(_), None) => Ordering::Less,
            (None, Some(_)) => Ordering::Greater,
            (Some(one), Some(other)) => one[0].day.cmp(&other[0].day),
        };
        let one = before.next_if(|_| order.is_le());
        let other = after.next_if(|_| order.is_ge());
        match (one, other) {
            (Some(one), None) if early.contains(&(one[0].kind, one[0].day)) => altered += 1,
            (Some(_), None) => gone += 1,
            (None, _) => come += 1,
            (Some(one), Some(other)) => altered += u32::from(one != other),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::super::instance::Path;
    use super::*;
    use crate::domain::calendar::plus_days;
    use crate::domain::growth::Way;
    use crate::domain::ids::{BatchId, CropId, SiteId, TankId};
    use crate::domain::plan::{Arithmetic, Batch, Harvest, Origin, Part};
    use crate::domain::same_tasks::same_tasks;
    use chrono::NaiveDate;
    use proptest::collection::btree_set;
    use proptest::prelude::*;
    use std::collections::{BTreeMap, BTreeSet};

    fn lot(plants: i32, moved: Index, harvests: &[Index]) -> Lot {
        Lot { path: Path::new(0, moved, harvests), plants }
    }

    fn habit(open: Index, old: Vec<Lot>) -> Habit {
        with_early(open, old, Vec::new())
    }

    fn with_early(open: Index, old: Vec<Lot>, early: Vec<(TaskKind, Index)>) -> Habit {
        Habit::new(
            2.0,
            vec![Start { sown: Some(3), in_tank: false, open, elsewhere: false }],
            &[old],
            vec![early],
        )
    }

    #[test]
    fn what_stays_costs_nothing() {
        let old = vec![lot(6, 8, &[14]), lot(4, 8, &[16])];
        assert_eq!(habit(0, old.clone()).price(0, &old).to_string(), "0");
        // Sown and moved already: only the harvests count.
        assert_eq!(habit(10, old.clone()).price(0, &[lot(10, 8, &[14])]).to_string(), "4");
    }

    #[test]
    fn every_change_costs() {
        let old = vec![lot(10, 8, &[14])];
        assert_eq!(habit(0, old.clone()).price(0, &[]).to_string(), "6");
        assert_eq!(habit(0, Vec::new()).price(0, &old).to_string(), "6");
        assert_eq!(habit(0, old.clone()).price(0, &[lot(10, 8, &[15])]).to_string(), "2");
        // Half the plants at all three tasks; a cut more.
        assert_eq!(habit(0, old.clone()).price(0, &[lot(5, 8, &[14])]).to_string(), "6");
        assert_eq!(habit(0, old).price(0, &[lot(10, 8, &[14, 18])]).to_string(), "4");
    }

    #[test]
    fn a_harvest_more_leaves_the_others_alone() {
        let old = vec![lot(4, 8, &[14]), lot(4, 8, &[16]), lot(4, 8, &[18])];
        let with = |days: [Index; 3]| days.map(|day| lot(4, 8, &[day]));
        let more = [old.clone(), vec![lot(2, 8, &[12])]].concat();
        assert_eq!(habit(10, old.clone()).price(0, &more).to_string(), "2");
        assert_eq!(habit(10, old.clone()).price(0, &with([12, 16, 18])).to_string(), "2");
        assert_eq!(habit(10, old.clone()).price(0, &with([12, 13, 18])).to_string(), "4");
        // What was done before its day has not moved to any later one.
        let early = || with_early(10, old.clone(), vec![(TaskKind::Harvest, 14)]);
        assert_eq!(early().price(0, &with([9, 16, 18])).to_string(), "2");
        assert_eq!(early().price(0, &with([20, 16, 18])).to_string(), "4");
    }

    /// The number of calendar entries that change if harvests of single plants move from some days to others.
    fn changed(old: &BTreeSet<Index>, new: &BTreeSet<Index>) -> usize {
        let batch = |days: &BTreeSet<Index>| {
            let part = |(day, hole): (&Index, u32)| part(hole, plus_days(NaiveDate::MIN, u32::from(*day)));
            Batch { parts: days.iter().zip(1..).map(part).collect(), ..empty() }
        };
        let same = same_tasks(&batch(old), &batch(new), None);
        let harvests = same.iter().filter(|((kind, _), _)| *kind == TaskKind::Harvest);
        let kept = harvests.clone().filter(|(now, then)| now == then).count();
        old.len() + new.len() - harvests.count() - kept
    }

    proptest! {
        #[test]
        fn changes_are_counted_as_calendars_change(
            old in btree_set(9..20 as Index, 1..6), new in btree_set(9..20 as Index, 1..6),
        ) {
            let lots = |days: &BTreeSet<Index>| -> Vec<Lot> { days.iter().map(|day| lot(1, 8, &[*day])).collect() };
            // As many plants are sown and moved, whatever is harvested when.
            let others = u32::from(old.len() != new.len()) * 2;
            let counted = difference(
                &entries(Start { sown: Some(3), in_tank: false, open: 0, elsewhere: false }, &lots(&old)),
                &entries(Start { sown: Some(3), in_tank: false, open: 0, elsewhere: false }, &lots(&new)),
                &[],
            );
            prop_assert_eq!((counted - others) as usize, changed(&old, &new));
        }
    }

    fn part(hole: u32, date: NaiveDate) -> Part {
        let harvest = Harvest {
            date,
            way: Way::WholeHead,
            number: 1,
            grams: 0.0,
            arithmetic: Arithmetic::default(),
            serves: Vec::new(),
        };
        Part {
            plants: 1,
            tank: TankId::new("a"),
            transplant: NaiveDate::MIN,
            holes: vec![hole],
            kept_empty: Vec::new(),
            cuts_before: 0,
            lost: None,
            harvests: vec![harvest],
        }
    }

    fn empty() -> Batch {
        Batch {
            id: BatchId::new("b001"),
            crop: CropId::new("oakleaf"),
            site: SiteId::new("hall"),
            sown: NaiveDate::MIN,
            origin: Origin::Sown,
            plugs: 1,
            seeds_per_plug: 1,
            parts: Vec::new(),
            task_numbers: BTreeMap::new(),
        }
    }
}
