//! Crops that share a tank: what that costs, and that none is put there where the user does not want it.

use super::subject::{Known, KnownPart, Subject};
use super::violation::{Findings, Rule, Violation};
use crate::domain::ids::CropId;
use crate::domain::site::{Site, Tank};
use crate::domain::term::OneCropTanks;
use chrono::NaiveDate;
use std::collections::BTreeSet;

/// Crops beyond the first that tanks hold after class days to come, added up over the days.
pub(super) fn further(subject: &Subject<'_>) -> usize {
    days(subject).map(|(_, _, here)| crops(&here).len().saturating_sub(1)).sum()
}

pub(super) fn check(subject: &Subject<'_>, found: &mut Findings) {
    if subject.term.rules.one_crop_tanks != OneCropTanks::Always {
        return;
    }
    let from = subject.plan.replanned.unwrap_or(subject.term.start);
    let mut told = BTreeSet::new();
    for (tank, day, here) in days(subject) {
        if crops(&here).len() < 2 {
            continue;
        }
        let new = here.iter().filter(|(_, part)| !part.stood_in_tank && part.part.transplant >= from);
        for (known, _) in new {
            if !told.insert((&known.batch.id, &tank.id)) {
                continue;
            }
            let others =
                here.iter().map(|(other, _)| *other).find(|other| other.batch.crop != known.batch.crop);
            let message = format!(
                "tank {} is to hold one crop at a time, but has {} beside {}; take one of them to another tank, or make \
                 one-crop-tanks under \"rules:\" prefer",
                tank.id,
                known.wanted.crop.name,
                others.map_or("others", |other| &other.wanted.crop.name),
            );
            found.push(Violation::new(Rule::OneCrop, message).on(day).at(&known.site.id).of(&known.batch.id));
        }
    }
}

/// A batch and a part of it.
type Planted<'s, 'a> = (&'s Known<'a>, &'s KnownPart<'a>);

/// What stands in each tank after each class day of the term that is not past.
fn days<'s, 'a>(
    subject: &'s Subject<'a>,
) -> impl Iterator<Item = (&'s Tank, NaiveDate, Vec<Planted<'s, 'a>>)> {
    subject.term.sites.iter().flat_map(move |site| {
        site.tanks.iter().flat_map(move |tank| {
            let planted: Vec<Planted<'s, 'a>> = planted(subject, site, tank).collect();
            let days = site.class_days.iter().filter(|day| subject.in_term(**day) && !subject.is_past(**day));
            days.map(move |day| {
                let stands = |(_, part): &&Planted<'s, 'a>| {
                    part.part.transplant <= *day && part.part.leaves().is_some_and(|leaves| leaves > *day)
                };
                (tank, *day, planted.iter().filter(stands).copied().collect())
            })
        })
    })
}

fn planted<'s, 'a>(
    subject: &'s Subject<'a>,
    site: &'s Site,
    tank: &'s Tank,
) -> impl Iterator<Item = Planted<'s, 'a>> {
    subject.parts().filter(move |(known, part)| {
        known.site.id == site.id && part.part.tank == tank.id && !part.part.lost_in_nursery()
    })
}

fn crops<'s>(here: &[Planted<'s, '_>]) -> BTreeSet<&'s CropId> {
    here.iter().map(|(known, _)| &known.batch.crop).collect()
}
