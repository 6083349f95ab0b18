//! What the journal says that a plan does not know yet.

use crate::check;
use crate::domain::ids::SiteId;
use crate::domain::journal::{Entry, Journal, Kind, What};
use crate::domain::plan::Plan;
use crate::domain::term::Term;
use std::collections::{BTreeMap, BTreeSet};

/// Entries in force that a plan does not take into account, by day.
fn unknown<'j>(journal: &'j Journal, plan: &Plan) -> Vec<&'j Entry> {
    let mut entries = journal.in_force();
    entries.retain(|entry| !plan.known.knows(entry));
    entries
}

/// What a plan takes into account that one before did not: losses, lost classes and the like, but no work that was done.
pub fn causes(journal: &Journal, before: &Plan, after: &Plan) -> Vec<Entry> {
    let new = unknown(journal, before).into_iter();
    new.filter(|entry| after.known.knows(entry) && !tells_of_work(entry)).cloned().collect()
}

/// Whether an entry tells of work, or is a note. Work that was done otherwise than planned shows in what stands.
fn tells_of_work(entry: &Entry) -> bool {
    matches!(entry.what.kind(), Kind::Sown | Kind::Transplanted | Kind::Harvested | Kind::Note)
}

/// Sites that the news is about: where something was recorded that nobody planned, where what stands is not what was planned, and where the plan
/// breaks a rule of the term as it is now. All of them if that is none: then the term file asks for something else.
pub(super) fn concerned(term: &Term, plan: &Plan, standing: &Plan, journal: &Journal) -> BTreeSet<SiteId> {
    let unknown = unknown(journal, plan);
    let entries = unknown.iter().filter(|entry| !tells_of_work(entry));
    let recorded = |site: &SiteId| {
        let of_batch =
            |entry: &&Entry| plan.batches.iter().find(|batch| Some(&batch.id) == entry.what.batch());
        entries.clone().any(|entry| match of_batch(entry) {
            Some(batch) => batch.site == *site,
            None => entry.concerns(site),
        })
    };
    let stands_otherwise = |site: &SiteId| {
        let here = |plan: &Plan| {
            plan.batches.iter().filter(|batch| batch.site == *site).cloned().collect::<Vec<_>>()
        };
        here(plan) != here(standing)
    };
    let broken: Vec<Option<SiteId>> = check::check(term, plan).into_iter().map(|found| found.site).collect();
    let breaks = |site: &SiteId| broken.iter().any(|found| found.as_ref().is_none_or(|own| own == site));
    let all = || term.sites.iter().map(|site| site.id.clone());
    let concerned: BTreeSet<SiteId> =
        all().filter(|site| recorded(site) || stands_otherwise(site) || breaks(site)).collect();
    if concerned.is_empty() { all().collect() } else { concerned }
}

/// Whether something was recorded, and nothing that a plan could gain by.
pub(super) fn only_losses(plan: &Plan, journal: &Journal) -> bool {
    let new = || journal.entries().iter().filter(|entry| !plan.known.knows(entry));
    let gains = |entry: &Entry| {
        let other = matches!(entry.what.kind(), Kind::TankBack | Kind::ClassAdded | Kind::TargetChanged);
        other || entry.what == What::Withdrawn || entry.replaces.is_some()
    };
    new().next().is_some() && !new().any(gains)
}

/// Why a plan is made again, in a few words: what the journal says that the old plan does not know.
pub fn news(journal: &Journal, old: &Plan) -> String {
    let mut counts: BTreeMap<Kind, u32> = BTreeMap::new();
    for entry in unknown(journal, old) {
        *counts.entry(entry.what.kind()).or_default() += 1;
    }
    let told: Vec<String> = counts
        .into_iter()
        .filter_map(|(kind, count)| {
            let what = match kind {
                Kind::Lost => "loss|losses",
                Kind::CameUp => "count of seedlings|counts of seedlings",
                Kind::Behind => "batch behind|batches behind",
                Kind::Measured => "measuring|measurings",
                Kind::PutOff => "task put off|tasks put off",
                Kind::TankOut => "tank out of use|tanks out of use",
                Kind::TankBack => "tank back in use|tanks back in use",
                Kind::ClassLost => "class day lost|class days lost",
                Kind::ClassAdded => "class day added|class days added",
                Kind::TargetChanged => "target changed|targets changed",
                Kind::Sown | Kind::Transplanted | Kind::Harvested | Kind::Note | Kind::Withdrawn => {
                    return None;
                }
            };
            let (one, many) = what.split_once('|')?;
            Some(format!("{count} {}", if count == 1 { one } else { many }))
        })
        .collect();
    if told.is_empty() {
        "work done otherwise than planned".to_owned()
    } else {
        format!("after {}", told.join(", "))
    }
}
