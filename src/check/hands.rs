//! Work fits into the minutes of a class, and no class sows too many batches in a day.

use super::exceeds;
use super::subject::Subject;
use super::violation::{Findings, Rule, Violation, list, verb};
use crate::domain::ids::{BatchId, SiteId};
use chrono::NaiveDate;
use std::collections::BTreeMap;

type Days<'a, T> = BTreeMap<(&'a SiteId, NaiveDate), T>;

pub(super) fn check(subject: &Subject<'_>, found: &mut Findings) {
    minutes(subject, found);
    sowings(subject, found);
}

fn minutes(subject: &Subject<'_>, found: &mut Findings) {
    let price = subject.term.rules.minutes;
    let mut minutes_used: Days<'_, f64> = BTreeMap::new();
    for known in &subject.batches {
        let mut spend = |day, minutes| *minutes_used.entry((&known.site.id, day)).or_default() += minutes;
        if known.batch.origin.is_sown() {
            spend(known.batch.sown, f64::from(known.batch.plugs) * price.sow);
        }
        for part in &known.parts {
            let plants = f64::from(part.part.plants);
            if part.is_transplanted() {
                spend(part.part.transplant, plants * price.transplant);
            }
            for harvest in &part.part.harvests {
                spend(harvest.date, plants * price.harvest);
            }
        }
    }
    for ((site, day), minutes) in minutes_used {
        let limit = subject.term.site(site).and_then(|site| site.minutes_a_day);
        if let Some(limit) = limit.filter(|limit| exceeds(minutes, *limit, 1e-6)) {
            let message = format!("work takes {minutes:.1} minutes, but the class has {limit:.1}");
            found.push(Violation::new(Rule::Minutes, message).on(day).at(site));
        }
    }
}

fn sowings(subject: &Subject<'_>, found: &mut Findings) {
    let mut sown: Days<'_, Vec<&BatchId>> = BTreeMap::new();
    for known in subject.batches.iter().filter(|known| known.batch.origin.is_sown()) {
        sown.entry((&known.site.id, known.batch.sown)).or_default().push(&known.batch.id);
    }
    for ((site, day), batches) in sown {
        let limit = subject.term.site(site).and_then(|site| site.sowings_a_day);
        if let Some(limit) = limit.filter(|limit| batches.len() as u64 > u64::from(*limit)) {
            let message = format!(
                "the class can sow {limit} a day, but {} {} planned: {}",
                batches.len(),
                verb(batches.len() as u64, "is", "are"),
                list(&batches),
            );
            found.push(Violation::new(Rule::Sowings, message).on(day).at(site));
        }
    }
}
