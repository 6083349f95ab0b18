//! Stretches of class in which a site has nothing to do, where every site should have something.

use super::possible::{Here, Start};
use super::subject::Subject;
use crate::domain::calendar::DateSpan;
use crate::domain::growth::Way;
use crate::domain::ids::SiteId;
use crate::domain::plan::Origin;
use crate::domain::site::Site;
use crate::domain::term::{SowWish, Stage};
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
    subject.term.crops.iter().map(|wanted| Here::new(subject, site, wanted)).any(|here| {
        starts(&here).any(|start| works(&here, start, span)) || standing(&here).any(|day| span.contains(day))
    })
}

/// Every way in which a batch can still begin.
fn starts(here: &Here<'_, '_>) -> impl Iterator<Item = Start> {
    let Here { subject, site, wanted, .. } = *here;
    let grows = wanted.may_begin_at(&site.id) && site.tanks.iter().any(|tank| here.may_stand(tank));
    let nursery = wanted.sow != SowWish::InCups;
    let cups = wanted.sow != SowWish::Nursery && wanted.crop.in_cups.is_some();
    let sown = here.classes().flat_map(move |day| {
        [(nursery, Origin::Sown), (cups, Origin::InCups)]
            .map(|(may, origin)| may.then_some(Start::sown(day, origin)))
    });
    let bought = subject.term.arrivals.iter().filter(|arrival| {
        (&arrival.site, &arrival.crop) == (&site.id, &wanted.crop.id) && site.meets_on(arrival.date)
    });
    let all = sown.flatten().chain(bought.map(Start::bought));
    all.filter(move |start| grows && !subject.is_past(start.begins))
}

/// Whether a batch that begins so can come to anything, and means work in a stretch.
fn works(here: &Here<'_, '_>, start: Start, span: DateSpan) -> bool {
    let moves = here.moves(start);
    let firsts = here.firsts(start.born);
    let ripens = |(day, way): &(NaiveDate, Way)| *way == Way::WholeHead || here.again(*day).next().is_some();
    !moves.is_empty()
        && firsts.iter().any(ripens)
        && (span.contains(start.begins)
            || moves.iter().any(|day| span.contains(*day))
            || firsts.iter().any(|(day, _)| span.contains(*day)))
}

/// Days on which something could first be done to plants that stand at the start.
fn standing(here: &Here<'_, '_>) -> impl Iterator<Item = NaiveDate> {
    // Once the plan is under way, what stood at its start is harvested as it says.
    let begins = here.subject.plan.replanned.is_none();
    let own = here.subject.term.standing.iter().filter(move |standing| {
        begins && (&standing.site, &standing.crop) == (&here.site.id, &here.wanted.crop.id)
    });
    own.flat_map(|standing| {
        let firsts = || here.firsts(standing.sown).into_iter().map(|(day, _)| day);
        match &standing.stage {
            Stage::Nursery => {
                let seedlings = Start::sown(standing.sown, Origin::Standing);
                firsts().chain(here.moves(seedlings)).collect::<Vec<_>>()
            }
            Stage::Tank { cuts, .. } => {
                cuts.last().map_or_else(|| firsts().collect(), |cut| here.again(*cut).collect())
            }
        }
    })
}
