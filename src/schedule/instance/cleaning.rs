//! How long a tank may go on without being empty on a class day, so that it can be drained, scrubbed and refilled.
//!
//! Which days these are is left to the search. The linear program knows nothing of the rule, so its bound holds with it
//! and without it.

use super::network::{Day, Network, SiteNet, StandingNet, StandingPlace};
use super::ripe::Ripe;
use crate::domain::calendar::days_between;
use crate::domain::plan::Plan;
use crate::domain::term::Term;
use chrono::NaiveDate;
use std::ops::RangeInclusive;

/// Stretches of class days, by index, such as those in each of which a tank must be empty once.
pub(crate) type Stretches = Vec<RangeInclusive<usize>>;

/// The stretches of all tanks, by site.
pub(crate) fn stretches(net: &Network, under_way: Option<&Plan>) -> Vec<Vec<Stretches>> {
    let tanks = |site: &SiteNet| 0..site.tanks.len();
    (0..net.sites.len())
        .map(|site| {
            tanks(&net.sites[site]).map(|tank| Tank::new(net, site, tank).stretches(under_way)).collect()
        })
        .collect()
}

struct Tank<'a, 't> {
    net: &'a Network<'t>,
    site: &'a SiteNet<'t>,
    /// Site and tank.
    index: (usize, usize),
    today: Day,
}

impl<'a, 't> Tank<'a, 't> {
    fn new(net: &'a Network<'t>, site: usize, tank: usize) -> Self {
        Self { net, site: &net.sites[site], index: (site, tank), today: net.today.unwrap_or(0) }
    }

    /// From each day on which it may have been empty to the last class day within the limit, or to the first on which it
    /// can still be emptied.
    fn stretches(&self, under_way: Option<&Plan>) -> Stretches {
        let Some(weeks) = self.net.term.rules.clean_every else { return Vec::new() };
        let days = &self.site.class_days;
        let before = |day: Day| days.partition_point(|other| *other < day);
        let free = self.free_from(under_way);
        let stood = self.standing().map(|(_, _, moved, _)| moved).min();
        let came = stood.filter(|day| *day < 0).into_iter().chain(days.iter().copied());
        came.filter_map(|came| {
            let due = came + 7 * weeks as Day;
            let first = before(came + 1);
            let last = before(due + 1).max(before(free) + 1).checked_sub(1)?.max(first);
            (last + 1 < days.len()).then_some(first..=last)
        })
        .collect()
    }

    /// First day on which the tank can be empty: plants that stand there are kept until they can be harvested.
    fn free_from(&self, under_way: Option<&Plan>) -> Day {
        let stand = match under_way {
            Some(plan) => self.carried(plan),
            None => {
                self.standing().map(|(crop, sown, moved, cuts)| (crop, sown, moved, cuts.to_vec())).collect()
            }
        };
        let free = stand.into_iter().filter_map(|(crop, sown, moved, cuts)| {
            self.harvested(crop, (sown, moved), cuts.last().copied())
        });
        free.fold(self.today, Day::max)
    }

    /// Plants that stood in the tank before the term: crop, days of sowing and moving, cuts.
    fn standing(&self) -> impl Iterator<Item = (usize, Day, Day, &[Day])> {
        let here = self.net.standing.iter().filter(|standing| standing.site == self.index.0);
        here.filter_map(|standing| match &standing.place {
            StandingPlace::Tank { tank, transplanted, cuts } if *tank == self.index.1 => {
                Some((standing.crop, standing.sown, *transplanted, cuts.as_slice()))
            }
            _ => None,
        })
    }

    /// The same for plants of a plan that stand in the tank today.
    fn carried(&self, plan: &Plan) -> Vec<(usize, Day, Day, Vec<Day>)> {
        let (term, today) = (self.net.term, self.today);
        let mut found = Vec::new();
        for batch in plan.batches.iter().filter(|batch| batch.site == self.site.site.id) {
            let Some(crop) = term.crops.iter().position(|wanted| wanted.crop.id == batch.crop) else {
                continue;
            };
            for part in batch.parts.iter().filter(|part| part.tank == self.site.tanks[self.index.1].tank.id) {
                let moved = day(term, part.transplant);
                let gone = part.leaves().is_some_and(|leaves| day(term, leaves) <= today);
                if !gone && moved < today {
                    let before = self.net.standing.iter().filter(|standing| {
                        standing.standing.batch == batch.id && standing.consists_of(self.net, part)
                    });
                    let before = before.filter_map(StandingNet::last_cut);
                    let harvests = part.harvests.iter().map(|harvest| day(term, harvest.date));
                    let cuts = before.chain(harvests.filter(|day| *day < today)).collect();
                    found.push((crop, day(term, batch.born()), moved, cuts));
                }
            }
        }
        found
    }

    /// First day from today on which plants can be pulled, given their last cut.
    fn harvested(&self, crop: usize, (sown, moved): (Day, Day), cut: Option<Day>) -> Option<Day> {
        let again = |cut: Day| {
            self.site.regrowths(crop, cut, Ripe::Usual).iter().copied().find(|day| *day >= self.today)
        };
        if let Some(cut) = cut {
            return again(cut);
        }
        let ready = moved + self.site.fields[crop].tank_days;
        let ripe = |day: &Day| *day >= self.today.max(ready);
        let pulled = self.site.first_pulls(crop, sown, Ripe::Usual).iter().copied().filter(ripe);
        let cut = self.site.first_cuts(crop, sown, Ripe::Usual).iter().copied().filter(ripe);
        pulled.chain(cut.filter_map(again)).min()
    }
}

fn day(term: &Term, date: NaiveDate) -> Day {
    days_between(term.start, date) as Day
}
