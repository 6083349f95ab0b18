//! What it means for serving days that work was put off, or done on another day than planned.

use crate::domain::journal::{Entry, Journal, What};
use crate::domain::plan::{Batch, Plan};
use crate::domain::term::Term;
use crate::replan::weighed::prospects;
use crate::report::words::short_day;
use chrono::NaiveDate;

/// Grams that are worth a word: a portion, about (common practice, no source).
const NOTICEABLE_GRAMS: f64 = 50.0;

/// Serving days that get noticeably more or less now. Of the journals, the first is without the entries.
pub(super) fn served_otherwise(
    (term, plan): (&Term, &Plan),
    [before, after]: [&Journal; 2],
    entries: &[Entry],
    today: NaiveDate,
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
            differs
                .then(|| format!("{} {:.2} kg (was {:.2} kg)", short_day(*day), now / 1000.0, then / 1000.0))
        })
        .collect();
    (!told.is_empty()).then(|| format!("By that, serving days get: {}.", told.join(", ")))
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
