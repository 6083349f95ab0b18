//! What it means for serving days that work was put off, or done on another day than planned.

use crate::domain::journal::{Entry, Journal, What};
use crate::domain::plan::{Batch, Plan};
use crate::domain::term::Term;
use crate::replan::weighed::prospects;
use crate::report::Look;
use crate::report::words::short_day;
use chrono::NaiveDate;
use std::collections::BTreeSet;

/// Grams that are worth a word: a portion, about (common practice, no source).
const NOTICEABLE_GRAMS: f64 = 50.0;

/// Serving days that get noticeably more or less now. Of the journals, the first is without the entries.
pub(super) fn served_otherwise(
    (term, plan): (&Term, &Plan),
    [before, after]: [&Journal; 2],
    entries: &[Entry],
    today: NaiveDate,
    look: &Look,
) -> Option<String> {
    if !entries.iter().any(|entry| is_on_another_day(plan, entry)) {
        return None;
    }
    let [before, after] = [before, after].map(|journal| prospects(term, plan, journal, today).servings);
    let told: Vec<String> = after
        .iter()
        .filter_map(|(day, now)| {
            let then = before.get(day).copied().unwrap_or(0.0);
            let differs = *day >= today && (now - then).abs() >= NOTICEABLE_GRAMS;
            differs.then(|| format!("{} {} (was {})", short_day(*day), look.grams(*now), look.grams(then)))
        })
        .collect();
    (!told.is_empty()).then(|| format!("By that, serving days get: {}.", told.join(", ")))
}

/// Plants that were to come into holes of what is put off, before these are free.
pub(super) fn in_the_way(plan: &Plan, entries: &[Entry]) -> Vec<String> {
    let mut told = BTreeSet::new();
    for entry in entries {
        let What::PutOff { batch: id, until } = &entry.what else { continue };
        let Some(batch) = plan.batches.iter().find(|batch| batch.id == *id) else { continue };
        let stay = batch.parts.iter().filter(|part| part.leaves() == Some(entry.day));
        for part in stay {
            let others = plan.batches.iter().filter(|other| other.site == batch.site && other.id != *id);
            let coming = others.flat_map(|other| other.parts.iter().map(move |part| (other, part)));
            for (other, next) in coming {
                let meanwhile = (entry.day..=*until).contains(&next.transplant) && next.tank == part.tank;
                if meanwhile && next.holes.iter().any(|hole| part.holes.contains(hole)) {
                    told.insert(format!(
                        "{} was to come into holes of {id} in tank {} on {}: they are not free then.",
                        other.id,
                        part.tank,
                        short_day(next.transplant)
                    ));
                }
            }
        }
    }
    told.into_iter().collect()
}

fn is_on_another_day(plan: &Plan, entry: &Entry) -> bool {
    let batch = plan.batches.iter().find(|batch| Some(&batch.id) == entry.what.batch());
    let moved = |batch: &Batch| batch.parts.iter().any(|part| part.transplant == entry.day);
    match &entry.what {
        What::PutOff { .. } => true,
        What::Sown { .. } => batch.is_some_and(|batch| batch.sown != entry.day),
        What::Transplanted { .. } => batch.is_some_and(|batch| !moved(batch)),
        _ => false,
    }
}
