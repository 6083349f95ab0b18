//! How a batch can begin at a site: sown in the nursery, sown straight into cups, or bought.

use super::network::{AbsenceNet, Day, Network, SiteNet};
use super::ripe::Ripe;
use crate::domain::calendar::days_between;
use crate::domain::plan::{Batch, Origin, Plan};
use crate::domain::term::{Arrival, SowWish};

/// How and when a batch begins.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Start {
    /// Day of sowing, or on which bought seedlings come.
    pub(crate) begins: Day,
    /// Day from which its age counts.
    pub(crate) born: Day,
    pub(crate) origin: Origin,
    /// How many batches before it in the plan under way begin the very same way: two trays of a crop may really be sown on
    /// one day.
    pub(crate) twin: usize,
}

/// A batch sown before today.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Grown {
    pub(crate) site: usize,
    pub(crate) crop: usize,
    pub(crate) start: Start,
}

impl Start {
    /// Of a batch that is sown on a day, or was.
    pub(crate) fn sown(day: Day, origin: Origin) -> Self {
        Self { begins: day, born: day, origin, twin: 0 }
    }

    /// Of seedlings that come on a day with an age.
    pub(crate) fn bought(day: Day, days: u32) -> Self {
        Self { begins: day, born: day - days as Day, origin: Origin::Bought { days }, twin: 0 }
    }

    /// The same on another day.
    pub(crate) fn shifted(&self, day: Day) -> Self {
        Self { begins: day, born: self.born + day - self.begins, twin: 0, ..*self }
    }

    /// Whether its plants wait in nursery cells before they come into a tank.
    pub(crate) fn waits(&self) -> bool {
        self.origin != Origin::InCups
    }

    pub(crate) fn laid(&self) -> bool {
        self.origin.is_sown()
    }
}

impl Network<'_> {
    /// The offer that seedlings of a start come from.
    pub(crate) fn offer(&self, site: usize, crop: usize, start: &Start) -> Option<&Arrival> {
        let Origin::Bought { days } = start.origin else { return None };
        let (site, crop) = (&self.sites[site].site.id, &self.term.crops[crop].crop.id);
        let date = self.date(start.begins);
        self.term.arrivals.iter().find(|arrival| {
            (&arrival.site, &arrival.crop, arrival.date, arrival.days) == (site, crop, date, days)
        })
    }

    /// Whether bought seedlings are those of a batch that came on another day than was offered.
    pub(crate) fn came_early(&self, grown: &[Grown], own: &Grown) -> bool {
        let same = |other: &&Grown| {
            (other.site, other.crop, other.start.born) == (own.site, own.crop, own.start.born)
                && other.start.origin.is_bought()
                && self.offer(other.site, other.crop, &other.start).is_none()
        };
        own.start.origin.is_bought() && grown.iter().any(|other| same(&other))
    }

    /// Every way to begin a batch of a crop at a site with anything to come of it.
    pub(crate) fn starts(&self, site: usize, crop: usize) -> Vec<Start> {
        let (own, wanted) = (&self.sites[site], &self.term.crops[crop]);
        let here = |arrival: &&Arrival| {
            (&arrival.site, &arrival.crop) == (&own.site.id, &wanted.crop.id)
                && own.site.meets_on(arrival.date)
        };
        let offered = self.term.arrivals.iter().filter(here);
        let bought = offered
            .map(|arrival| Start::bought(days_between(self.term.start, arrival.date) as Day, arrival.days));
        let sown = |origin: Origin| move |day: &Day| Start::sown(*day, origin);
        let nursery = own.class_days.iter().filter(|_| wanted.sow != SowWish::InCups).map(sown(Origin::Sown));
        let cups = wanted.sow != SowWish::Nursery && wanted.crop.in_cups.is_some();
        let in_cups = own.class_days.iter().filter(|_| cups).map(sown(Origin::InCups));
        nursery.chain(in_cups).chain(bought).filter(|start| own.ripens(crop, start)).collect()
    }
}

impl Grown {
    /// The batch of a plan under way that began so.
    pub(super) fn batch<'p>(&self, net: &Network, plan: &'p Plan) -> Option<&'p Batch> {
        let (site, crop) = (&net.sites[self.site].site.id, &net.term.crops[self.crop].crop.id);
        let sown = net.date(self.start.begins);
        let mut same = plan.batches.iter().filter(|batch| {
            (&batch.site, &batch.crop, batch.sown, batch.origin) == (site, crop, sown, self.start.origin)
        });
        same.nth(self.start.twin)
    }
}

impl SiteNet<'_> {
    /// Class days on which plants of a start may come into a tank: seedlings of the right age that were not left alone
    /// longer than the nursery can stand.
    pub(crate) fn moves(&self, crop: usize, start: &Start) -> Vec<Day> {
        let window = &self.fields[crop].nursery;
        let mut too_long = self.left_alone(start.begins);
        if !start.waits() {
            // What comes up in a cup is as tender as in the nursery.
            let young_until = start.begins + *window.start() as Day;
            let endangered = too_long.any(|gap| gap.leave < young_until);
            return if endangered { Vec::new() } else { vec![start.begins] };
        }
        let back = too_long.map(|gap| gap.back).min();
        // Bought seedlings are kept apart at first.
        let first = (start.born + *window.start() as Day).max(start.begins + 1);
        let days = self.class_days_in(first, start.born + *window.end() as Day).iter().copied();
        days.take_while(|day| back.is_none_or(|back| *day < back)).collect()
    }

    /// Absences in which seedlings that are there since a day are left alone for too long.
    fn left_alone(&self, since: Day) -> impl Iterator<Item = &AbsenceNet> {
        let endurance = self.site.nursery.unattended_days as Day;
        let there = move |gap: &&AbsenceNet| gap.back > since.max(0) && since <= gap.leave;
        self.absences.iter().filter(move |gap| gap.alone > endurance).filter(there)
    }

    /// Whether anything can come of it.
    fn ripens(&self, crop: usize, start: &Start) -> bool {
        let cuts = || self.first_cuts(crop, start.born, Ripe::Usual).iter();
        let field = &self.fields[crop];
        field.begins
            && field.open.contains(&true)
            && !self.moves(crop, start).is_empty()
            && (!self.first_pulls(crop, start.born, Ripe::Usual).is_empty()
                || cuts().any(|cut| !self.regrowths(crop, *cut, Ripe::Usual).is_empty()))
    }
}
