//! The stretches in which tanks are never empty: what befalls a tank befalls all that stands in it meanwhile.

use crate::domain::calendar::days_between;
use crate::domain::ids::{SiteId, TankId};
use crate::domain::luck::Trouble;
use crate::domain::plan::{Batch, Part, Plan};
use crate::domain::term::Term;
use chrono::NaiveDate;
use std::collections::BTreeMap;

/// A stretch in which a tank is never empty.
pub(super) struct Cycle {
    /// Days of the term, from today on; the last one not included.
    pub(super) days: (i64, i64),
    /// Chances of it: less for a stretch that has begun.
    pub(super) trouble: Trouble,
}

/// A stretch: from when until when, and its number.
struct Stretch {
    begins: NaiveDate,
    ends: NaiveDate,
    number: usize,
}

/// All stretches of a plan.
pub(super) struct Stays<'p> {
    pub(super) cycles: Vec<Cycle>,
    tanks: BTreeMap<(&'p SiteId, &'p TankId), Vec<Stretch>>,
}

impl<'p> Stays<'p> {
    pub(super) fn new(term: &Term, plan: &'p Plan, from: NaiveDate, trouble: Trouble) -> Self {
        let mut stays: BTreeMap<_, Vec<(NaiveDate, NaiveDate)>> = BTreeMap::new();
        for batch in &plan.batches {
            for part in batch.parts.iter().filter(|part| !part.lost_in_nursery()) {
                let leaves = part.leaves().unwrap_or(term.end);
                stays.entry((&batch.site, &part.tank)).or_default().push((part.transplant, leaves));
            }
        }
        let mut cycles = Vec::new();
        let mut number = |(begins, ends): (NaiveDate, NaiveDate)| {
            let left =
                days_between(from.max(begins), ends).max(0) as f64 / days_between(begins, ends).max(1) as f64;
            let day = |date: NaiveDate| days_between(term.start, date);
            cycles.push(Cycle {
                days: (day(from.max(begins)), day(ends)),
                trouble: Trouble { suffers: trouble.suffers * left, lost: trouble.lost * left },
            });
            Stretch { begins, ends, number: cycles.len() - 1 }
        };
        let tanks =
            stays.into_iter().map(|(tank, days)| (tank, joined(days).into_iter().map(&mut number).collect()));
        let tanks = tanks.collect();
        Self { cycles, tanks }
    }

    /// The number of the stretch in which a part stands in its tank.
    pub(super) fn cycle_of(&self, batch: &Batch, part: &Part) -> Option<usize> {
        let stretches = self.tanks.get(&(&batch.site, &part.tank))?;
        let holds = |stretch: &&Stretch| stretch.begins <= part.transplant && part.transplant < stretch.ends;
        stretches.iter().find(holds).map(|stretch| stretch.number)
    }
}

/// Stays that overlap, as one.
fn joined(mut days: Vec<(NaiveDate, NaiveDate)>) -> Vec<(NaiveDate, NaiveDate)> {
    days.sort_unstable();
    let mut whole: Vec<(NaiveDate, NaiveDate)> = Vec::new();
    for (begins, ends) in days {
        match whole.last_mut() {
            Some(last) if begins < last.1 => last.1 = last.1.max(ends),
            _ => whole.push((begins, ends)),
        }
    }
    whole
}
