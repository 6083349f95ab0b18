//! Seedlings fit into the nursery and are never left alone for longer than they last.

use super::subject::{Known, Subject};
use super::violation::{Findings, Rule, Violation, count, list, say};
use crate::domain::plan::Origin;
use crate::domain::site::Site;
use chrono::NaiveDate;
use std::collections::BTreeSet;

pub(super) fn check(subject: &Subject<'_>, found: &mut Findings) {
    for site in &subject.term.sites {
        let batches: Vec<&Known<'_>> =
            subject.batches.iter().filter(|known| known.site.id == site.id).collect();
        cells(site, &batches, subject.term.start, found);
        left_alone(site, &batches, found);
    }
}

/// Cells fill up only on the days batches are sown, so these days (and the first one, for what stands
/// there already) tell whether they ever overflow.
fn cells(site: &Site, batches: &[&Known<'_>], start: NaiveDate, found: &mut Findings) {
    let days: BTreeSet<NaiveDate> = batches.iter().map(|known| known.batch.sown.max(start)).collect();
    for day in days {
        let loads: Vec<(&Known<'_>, u64)> = batches
            .iter()
            .map(|known| (*known, cells_on(known, day)))
            .filter(|(_, cells)| *cells > 0)
            .collect();
        let needed: u64 = loads.iter().map(|(_, cells)| cells).sum();
        if needed > u64::from(site.nursery.cells) {
            let who = list(loads.iter().map(|(known, _)| &known.batch.id));
            let message = format!(
                "seedlings need {}, but the nursery has {}; there are batches {who}",
                count(needed, "cell"),
                site.nursery.cells
            );
            found.push(Violation::new(Rule::NurseryCells, message).on(day).at(&site.id));
        }
    }
}

/// Cells a batch takes on a day: plants that stood there already take one each, others the plugs they
/// were sown in, with all spare ones until the last plant has moved.
fn cells_on(known: &Known<'_>, day: NaiveDate) -> u64 {
    let waiting = known
        .parts
        .iter()
        .filter(|part| known.batch.sown <= day && day < part.part.transplant)
        .map(|part| u64::from(part.part.plants))
        .sum();
    match waiting {
        0 => 0,
        waiting if known.batch.origin != Origin::Sown => waiting,
        waiting => known.figures().plugs(waiting) + known.spare_plugs(0.0),
    }
}

fn left_alone(site: &Site, batches: &[&Known<'_>], found: &mut Findings) {
    for absence in site.absences() {
        if absence.alone <= site.nursery.unattended_days {
            continue;
        }
        for known in batches {
            let seedlings = known
                .parts
                .iter()
                .filter(|part| !part.part.lost_in_nursery())
                .any(|part| known.batch.sown <= absence.leave && part.part.transplant >= absence.back);
            if seedlings {
                let message = format!(
                    "seedlings stay in the nursery until {}, {} of it without anybody there; they last {}",
                    say(absence.back),
                    count(absence.alone, "day"),
                    count(site.nursery.unattended_days, "day"),
                );
                found.push(
                    Violation::new(Rule::LeftAlone, message)
                        .on(absence.leave)
                        .at(&site.id)
                        .of(&known.batch.id),
                );
            }
        }
    }
}
