//! Whether a single plant of a crop, sown at a site on a day, could be raised and served, however much room there is.

use super::figures::Figures;
use super::subject::Subject;
use crate::domain::calendar::{days_between, plus_days};
use crate::domain::growth::Way;
use crate::domain::plan::Origin;
use crate::domain::site::{Site, Tank};
use crate::domain::term::{WantedCrop, WayWish};
use chrono::NaiveDate;

/// A crop at a site, in one way of sowing.
pub(super) struct Sowing<'a> {
    pub(super) subject: &'a Subject<'a>,
    pub(super) site: &'a Site,
    pub(super) wanted: &'a WantedCrop,
    pub(super) origin: Origin,
}

impl Sowing<'_> {
    /// Whether a plant sown on a day can be harvested so that some of it is eaten, at its first or second harvest.
    pub(super) fn can_be_served(&self, sown: NaiveDate) -> bool {
        let tanks: Vec<&Tank> = self.site.tanks.iter().filter(|tank| self.may_stand(tank)).collect();
        let mut stays = self.moves(sown).into_iter().flat_map(|moved| self.stays(sown, moved));
        stays.any(|(moved, harvests)| {
            let leaves = harvests.iter().map(|(day, _)| *day).max().unwrap_or(moved);
            tanks.iter().any(|tank| tank.out_during(moved, leaves).is_none()) && self.is_eaten(&harvests)
        })
    }

    fn figures(&self) -> Figures<'_> {
        Figures::new(&self.wanted.crop, self.site)
    }

    fn may_stand(&self, tank: &Tank) -> bool {
        let crop = &self.wanted.crop;
        self.wanted.may_stand_in(&self.site.id, &tank.id)
            && crop.tolerates(tank.ph, tank.ec)
            && tank
                .lid
                .room_for(crop.spacing.value.cm())
                .is_some_and(|room| !tank.lid.places(room).is_empty())
    }

    /// Days on which seedlings may come into a tank.
    fn moves(&self, sown: NaiveDate) -> Vec<NaiveDate> {
        let in_cups = self.origin == Origin::InCups;
        let fit = |moved: NaiveDate| {
            let right_age = self.figures().nursery().allow(days_between(sown, moved));
            let tender_until = if in_cups { plus_days(sown, self.figures().seedling_days()) } else { moved };
            (if in_cups { moved == sown } else { right_age }) && self.is_looked_after(sown, tender_until)
        };
        self.classes().filter(|day| fit(*day)).collect()
    }

    /// Whether seedlings that are there from one day until another are never left alone for too long.
    fn is_looked_after(&self, from: NaiveDate, until: NaiveDate) -> bool {
        let too_long = |alone| alone > self.site.nursery.unattended_days;
        !self.site.absences().iter().any(|gap| too_long(gap.alone) && from <= gap.leave && gap.leave < until)
    }

    /// Every stay in a tank with one harvest, or with a cut and one more.
    fn stays(&self, sown: NaiveDate, moved: NaiveDate) -> Vec<(NaiveDate, Vec<(NaiveDate, bool)>)> {
        let figures = self.figures();
        let ripe = |way: Way, day: NaiveDate| {
            let fits = figures.first_harvest(way).is_some_and(|fit| fit.allow(days_between(sown, day)));
            fits && day > moved && days_between(moved, day) >= figures.tank_days()
        };
        let mut all = Vec::new();
        for first in self.classes() {
            if self.wanted.way != WayWish::Cut && ripe(Way::WholeHead, first) {
                all.push((moved, vec![(first, true)]));
            }
            if self.wanted.way == WayWish::WholeHead || figures.harvests() < 2 || !ripe(Way::Cut, first) {
                continue;
            }
            let again = |day: &NaiveDate| {
                let grown = figures.regrowth().is_some_and(|fit| fit.allow(days_between(first, *day)));
                grown && figures.oldest().is_none_or(|oldest| days_between(sown, *day) <= oldest)
            };
            all.extend(self.classes().filter(again).map(|day| (moved, vec![(first, false), (day, false)])));
        }
        all
    }

    /// Whether one of the harvests, of heads never cut or of leaves, keeps until greens are eaten.
    fn is_eaten(&self, harvests: &[(NaiveDate, bool)]) -> bool {
        let crop = &self.wanted.crop;
        harvests.iter().any(|(day, heads)| {
            let keeps = if *heads { crop.shelf_life.value } else { crop.cut_shelf_life.value };
            let last = plus_days(*day, keeps);
            self.subject.term.servings.iter().any(|serving| (*day..=last).contains(&serving.date))
        })
    }

    /// Class days of the term.
    fn classes(&self) -> impl Iterator<Item = NaiveDate> {
        self.site.class_days.iter().copied().filter(|day| self.subject.in_term(*day))
    }
}
