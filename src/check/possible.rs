//! What a batch of a crop at a site could come to, however much room there is.

use super::figures::Figures;
use super::subject::Subject;
use crate::domain::calendar::{days_between, minus_days, plus_days};
use crate::domain::growth::Way;
use crate::domain::plan::Origin;
use crate::domain::site::{Site, Tank};
use crate::domain::term::{Arrival, WantedCrop, WayWish};
use chrono::NaiveDate;

/// A crop at a site.
pub(super) struct Here<'s, 'a> {
    pub(super) subject: &'s Subject<'a>,
    pub(super) site: &'s Site,
    pub(super) wanted: &'s WantedCrop,
    pub(super) figures: Figures<'s>,
}

/// How a batch begins.
#[derive(Debug, Clone, Copy)]
pub(super) struct Start {
    /// The day.
    pub(super) begins: NaiveDate,
    /// The day of its sowing.
    pub(super) born: NaiveDate,
    /// Whether it waits in the nursery.
    pub(super) waits: bool,
}

impl Start {
    pub(super) fn sown(day: NaiveDate, origin: Origin) -> Self {
        Self { begins: day, born: day, waits: origin != Origin::InCups }
    }

    pub(super) fn bought(arrival: &Arrival) -> Self {
        Self { begins: arrival.date, born: minus_days(arrival.date, arrival.days), waits: true }
    }
}

impl<'s, 'a> Here<'s, 'a> {
    pub(super) fn new(subject: &'s Subject<'a>, site: &'s Site, wanted: &'s WantedCrop) -> Self {
        Self { subject, site, wanted, figures: Figures::new(&wanted.crop, site) }
    }

    /// Class days of the term.
    pub(super) fn classes(&self) -> impl Iterator<Item = NaiveDate> + use<'s, 'a> {
        let subject = self.subject;
        self.site.class_days.iter().copied().filter(move |day| subject.in_term(*day))
    }

    /// Whether plants may be put into a tank.
    pub(super) fn may_stand(&self, tank: &Tank) -> bool {
        self.wanted.places_in(&self.site.id, tank) > 0
    }

    /// Class days on which the plants of a batch may come into a tank.
    pub(super) fn moves(&self, Start { begins, born, waits }: Start) -> Vec<NaiveDate> {
        let there = begins.max(self.subject.term.start);
        let absences = self.site.absences();
        let alone = || {
            absences.iter().filter(|gap| {
                gap.alone > self.site.nursery.unattended_days && gap.back > there && begins <= gap.leave
            })
        };
        if !waits {
            let young_until = plus_days(begins, self.figures.seedling_days());
            return if alone().any(|gap| gap.leave < young_until) { Vec::new() } else { vec![begins] };
        }
        let fit = |day: &NaiveDate| {
            *day > begins
                && self.figures.nursery().allow(days_between(born, *day))
                && alone().all(|gap| *day < gap.back)
        };
        self.classes().filter(fit).collect()
    }

    /// Class days on which plants of an age may be harvested for the first time, and how.
    pub(super) fn firsts(&self, born: NaiveDate) -> Vec<(NaiveDate, Way)> {
        let pulled = self.figures.first_harvest(Way::WholeHead).filter(|_| self.wanted.way != WayWish::Cut);
        let may_cut = self.wanted.way != WayWish::WholeHead && self.figures.harvests() > 1;
        let cut = self.figures.first_harvest(Way::Cut).filter(|_| may_cut);
        let ways = [(pulled, Way::WholeHead), (cut, Way::Cut)];
        let on = |day: NaiveDate| {
            let age = days_between(born, day);
            ways.map(|(fit, way)| fit.is_some_and(|fit| fit.allow(age)).then_some((day, way)))
        };
        self.classes().flat_map(on).flatten().collect()
    }

    /// Class days on which plants may be harvested again after a cut.
    pub(super) fn again(&self, cut: NaiveDate) -> impl Iterator<Item = NaiveDate> {
        let fit = self.figures.regrowth();
        self.classes().filter(move |day| fit.is_some_and(|fit| fit.allow(days_between(cut, *day))))
    }

    /// Whether a single plant of a batch could be harvested so that some of it is eaten, at its first or second harvest.
    pub(super) fn can_be_served(&self, start: Start) -> bool {
        let tanks: Vec<&Tank> = self.site.tanks.iter().filter(|tank| self.may_stand(tank)).collect();
        let harvests = self.harvests(start.born);
        self.moves(start).into_iter().any(|moved| {
            harvests.iter().any(|(first, last, is_eaten)| {
                let stood = *first > moved && days_between(moved, *first) >= self.figures.tank_days();
                *is_eaten && stood && tanks.iter().any(|tank| tank.out_during(moved, *last).is_none())
            })
        })
    }

    /// First and last day of every single harvest, and of every cut with one harvest more, and whether greens of it are eaten.
    fn harvests(&self, born: NaiveDate) -> Vec<(NaiveDate, NaiveDate, bool)> {
        let mut all = Vec::new();
        for (first, way) in self.firsts(born) {
            if way == Way::WholeHead {
                all.push((first, first, self.is_eaten(first, self.wanted.crop.shelf_life.value)));
                continue;
            }
            let young = |day: &NaiveDate| {
                self.figures.oldest().is_none_or(|oldest| days_between(born, *day) <= oldest)
            };
            let eaten = |day: NaiveDate| self.is_eaten(day, self.wanted.crop.cut_shelf_life.value);
            let again = self.again(first).filter(young);
            all.extend(again.map(|last| (first, last, eaten(first) || eaten(last))));
        }
        all
    }

    /// Whether greens harvested on a day keep until some are eaten.
    fn is_eaten(&self, day: NaiveDate, keeps: u32) -> bool {
        let last = plus_days(day, keeps);
        self.subject.term.servings.iter().any(|serving| (day..=last).contains(&serving.date))
    }
}
