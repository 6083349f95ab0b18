//! Stretches of class in which a site has nothing to do, where every site should have something.

use super::figures::Figures;
use super::subject::Subject;
use crate::domain::calendar::{DateSpan, days_between, minus_days, plus_days};
use crate::domain::growth::Way;
use crate::domain::ids::SiteId;
use crate::domain::site::{Site, Tank};
use crate::domain::term::{SowWish, Stage, WantedCrop, WayWish};
use chrono::NaiveDate;
use std::collections::BTreeSet;

/// How many there are, given the days with work at each site. They begin when the plan was last made anew, and do not count
/// where no batch could be begun, moved or harvested for the first time.
pub(super) fn idle(subject: &Subject<'_>, work: &BTreeSet<(&SiteId, NaiveDate)>) -> u32 {
    if subject.term.rules.idle_price() == 0.0 {
        return 0;
    }
    let of_site = |site: &Site| {
        let stretches = site.stretches(subject.plan.replanned.unwrap_or(subject.term.start));
        let idle = stretches.iter().filter(|span| !span.days().any(|day| work.contains(&(&site.id, day))));
        idle.filter(|span| could_work(subject, site, **span)).count() as u32
    };
    subject.term.sites.iter().map(of_site).sum()
}

fn could_work(subject: &Subject<'_>, site: &Site, span: DateSpan) -> bool {
    let crops = subject.term.crops.iter();
    crops.map(|wanted| Here { subject, site, wanted, figures: Figures::new(&wanted.crop, site) }).any(
        |here| {
            here.starts().any(|start| here.works(start, span))
                || here.standing().any(|day| span.contains(day))
        },
    )
}

/// How a batch begins: the day, the day of its sowing, and whether it waits in the nursery.
type Start = (NaiveDate, NaiveDate, bool);

/// A crop at a site.
struct Here<'s, 'a> {
    subject: &'s Subject<'a>,
    site: &'s Site,
    wanted: &'s WantedCrop,
    figures: Figures<'s>,
}

impl Here<'_, '_> {
    fn starts(&self) -> impl Iterator<Item = Start> {
        let (site, wanted) = (self.site, self.wanted);
        let fits = |tank: &Tank| {
            wanted.may_stand_in(&site.id, &tank.id)
                && wanted.crop.tolerates(tank.ph, tank.ec)
                && tank.lid.room_for(wanted.crop.spacing.value.cm()).is_some()
        };
        let grows = wanted.may_begin_at(&site.id) && site.tanks.iter().any(fits);
        let nursery = wanted.sow != SowWish::InCups;
        let cups = wanted.sow != SowWish::Nursery && wanted.crop.in_cups.is_some();
        let sown = site.class_days.iter().flat_map(move |day| {
            [(nursery, true), (cups, false)].map(|(may, waits)| may.then_some((*day, *day, waits)))
        });
        let bought = self.subject.term.arrivals.iter().filter(|arrival| {
            (&arrival.site, &arrival.crop) == (&site.id, &wanted.crop.id) && site.meets_on(arrival.date)
        });
        let bought = bought.map(|arrival| (arrival.date, minus_days(arrival.date, arrival.days), true));
        sown.flatten().chain(bought).filter(move |(begins, ..)| grows && !self.subject.is_past(*begins))
    }

    /// Whether a batch that begins so can come to anything, and means work in a stretch.
    fn works(&self, start: Start, span: DateSpan) -> bool {
        let moves = self.moves(start);
        let firsts = self.firsts(start.1);
        let ripens =
            |(day, way): &(NaiveDate, Way)| *way == Way::WholeHead || self.again(*day).next().is_some();
        !moves.is_empty()
            && firsts.iter().any(ripens)
            && (span.contains(start.0)
                || moves.iter().any(|day| span.contains(*day))
                || firsts.iter().any(|(day, _)| span.contains(*day)))
    }

    /// Class days on which its plants may come into a tank.
    fn moves(&self, (begins, born, waits): Start) -> Vec<NaiveDate> {
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
        self.site.class_days.iter().copied().filter(fit).collect()
    }

    /// Class days on which plants of an age may be harvested for the first time, and how.
    fn firsts(&self, born: NaiveDate) -> Vec<(NaiveDate, Way)> {
        let pulled = self.figures.first_harvest(Way::WholeHead).filter(|_| self.wanted.way != WayWish::Cut);
        let may_cut = self.wanted.way != WayWish::WholeHead && self.figures.harvests() > 1;
        let cut = self.figures.first_harvest(Way::Cut).filter(|_| may_cut);
        let ways = [(pulled, Way::WholeHead), (cut, Way::Cut)];
        let on = |day: &NaiveDate| {
            let age = days_between(born, *day);
            ways.map(|(fit, way)| fit.is_some_and(|fit| fit.allow(age)).then_some((*day, way)))
        };
        self.site.class_days.iter().flat_map(on).flatten().collect()
    }

    /// Class days on which plants may be harvested again after a cut.
    fn again(&self, cut: NaiveDate) -> impl Iterator<Item = NaiveDate> {
        let fit = self.figures.regrowth();
        let days = self.site.class_days.iter().copied();
        days.filter(move |day| fit.is_some_and(|fit| fit.allow(days_between(cut, *day))))
    }

    /// Days on which something could first be done to plants that stand at the start.
    fn standing(&self) -> impl Iterator<Item = NaiveDate> {
        // Once the plan is under way, what stood at its start is harvested as it says.
        let begins = self.subject.plan.replanned.is_none();
        let own = self.subject.term.standing.iter().filter(move |standing| {
            begins && (&standing.site, &standing.crop) == (&self.site.id, &self.wanted.crop.id)
        });
        own.flat_map(|standing| {
            let firsts = || self.firsts(standing.sown).into_iter().map(|(day, _)| day);
            match &standing.stage {
                Stage::Nursery => {
                    firsts().chain(self.moves((standing.sown, standing.sown, true))).collect::<Vec<_>>()
                }
                Stage::Tank { cuts, .. } => {
                    cuts.last().map_or_else(|| firsts().collect(), |cut| self.again(*cut).collect())
                }
            }
        })
    }
}
