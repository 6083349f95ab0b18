//! Tanks are empty often enough to be cleaned.

use super::subject::Subject;
use super::violation::{Findings, Rule, Violation, count, say};
use crate::domain::calendar::plus_days;
use crate::domain::site::{Site, Tank};
use chrono::NaiveDate;

/// Plants in a tank: the day they come and the day they leave.
type Stay = (NaiveDate, NaiveDate);

pub(super) fn check(subject: &Subject<'_>, found: &mut Findings) {
    let Some(weeks) = subject.term.rules.clean_every else { return };
    for site in &subject.term.sites {
        for tank in &site.tanks {
            let stays = stays(subject, site, tank);
            for (came, emptied) in stretches(site, &stays) {
                let due = due(subject, site, (came, plus_days(came, 7 * weeks)), &stays);
                if emptied > due {
                    let message = format!(
                        "tank {} has plants from {} to {}; it should be empty on a class day by {}, so that it can be cleaned \
                         every {}",
                        tank.id,
                        say(came),
                        say(emptied),
                        say(due),
                        count(weeks, "week"),
                    );
                    found.push(Violation::new(Rule::Cleaning, message).on(due).at(&site.id));
                }
            }
        }
    }
}

fn stays(subject: &Subject<'_>, site: &Site, tank: &Tank) -> Vec<Stay> {
    let here = subject.parts().filter(|(known, _)| known.site.id == site.id).map(|(_, part)| part.part);
    let planted = here.filter(|part| part.tank == tank.id && !part.lost_in_nursery());
    let mut stays: Vec<Stay> = planted.filter_map(|part| Some((part.transplant, part.leaves()?))).collect();
    stays.sort_unstable();
    stays
}

/// From the day on which plants come into an empty tank to the first class day on which none of them stays, or the day on
/// which the last of them leaves.
fn stretches(site: &Site, stays: &[Stay]) -> Vec<Stay> {
    let mut found: Vec<Stay> = Vec::new();
    for (from, leaves) in stays {
        match found.last_mut().filter(|(_, until)| meets(site, *from, *until)) {
            Some((_, until)) => *until = (*until).max(*leaves),
            None => found.push((*from, *leaves)),
        }
    }
    found
}

/// Whether plants that come on `from` meet others that leave on `until`, with no class day between.
fn meets(site: &Site, from: NaiveDate, until: NaiveDate) -> bool {
    let empty = |day: &NaiveDate| (until..=from).contains(day);
    from < until || !site.class_days.iter().any(empty)
}

/// The day by which the tank should be empty: the last class day within the limit. Plants that stood there when the plan was
/// made are not thrown away for that; then it is when the last of them leaves, or the first class day after.
fn due(subject: &Subject<'_>, site: &Site, (came, limit): Stay, stays: &[Stay]) -> NaiveDate {
    let made = subject.plan.replanned.unwrap_or(subject.term.start).max(subject.term.start);
    let days = &site.class_days;
    let within = days.iter().rev().find(|day| came < **day && **day <= limit);
    let next = || days.iter().find(|day| **day > came && **day >= made).copied();
    let in_time = within.copied().filter(|day| *day >= made).or_else(next).unwrap_or(NaiveDate::MAX);
    let stood = stays.iter().filter(|(from, leaves)| *from < made && *leaves > made);
    let kept = stood.map(|(_, leaves)| *leaves).max().filter(|_| came < made);
    kept.map_or(in_time, |leaves| leaves.max(in_time))
}
