//! What weighed harvests say, in sentences.

use super::look::Look;
use super::words::{and, counted, crop_name, percent, site_name};
use crate::domain::plan::{Batch, Plan};
use crate::domain::term::Term;
use crate::domain::weighed::{Outlook, Weighed};

/// Shares that differ by less are not worth a sentence each.
const NOTICEABLE_SHARE: f64 = 0.05;

/// A paragraph for each crop at a site that was weighed and is to be counted with noticeably more or less than its figures
/// say, and one for all others; empty if nothing was weighed.
pub fn told(term: &Term, plan: &Plan, outlook: &Outlook, look: &Look) -> String {
    let (differ, others): (Vec<&Weighed>, Vec<&Weighed>) =
        outlook.weighed().partition(|weighed| differs(weighed.factor));
    let mut text: String =
        differ.iter().map(|weighed| look.wrap(&sentence(term, plan, outlook, weighed))).collect();
    if !others.is_empty() {
        let places = others.iter().map(|weighed| {
            format!("{} in {}", crop_name(term, &weighed.crop), site_name(term, &weighed.site))
        });
        let verb = if others.len() == 1 { "weighs" } else { "weigh" };
        let all = format!("{} {verb} about what the figures say.", and(&places.collect::<Vec<_>>()));
        text.push_str(&look.wrap(&all));
    }
    text
}

/// What holds for the crop of a batch at its site, and for what `stands` of the batch, if that differs noticeably from their
/// figures.
pub(super) fn of_batch(
    (term, plan): (&Term, &Plan),
    outlook: &Outlook,
    batch: &Batch,
    stands: bool,
) -> Option<String> {
    let own = outlook.of(batch).filter(|own| own.plants > 0)?;
    let factor = outlook.factor(batch);
    let rest = || format!(" The rest of {} is counted on with {}.", batch.id, percent(factor));
    match (differs(own.factor), stands && differs(factor)) {
        (false, false) => None,
        (true, false) => Some(sentence(term, plan, outlook, own)),
        (_, true) => Some(sentence(term, plan, outlook, own) + &rest()),
    }
}

fn differs(factor: f64) -> bool {
    (factor - 1.0).abs() >= NOTICEABLE_SHARE
}

fn sentence(term: &Term, plan: &Plan, outlook: &Outlook, weighed: &Weighed) -> String {
    let own = |batch: &&Batch| (&batch.site, &batch.crop) == (&weighed.site, &weighed.crop);
    let counted_on = plan.batches.iter().filter(own).find(|batch| !outlook.batches.contains_key(&batch.id));
    let planned = counted_on.map(|batch| plan.counts_with(batch));
    let by_plan = planned
        .filter(|planned| differs(weighed.factor / planned))
        .map(|planned| format!("; the plan counts on {}", percent(planned)));
    format!(
        "{} in {} weighs {} of what its figures say ({} weighed). What is still to come can be counted on with {}{}.",
        crop_name(term, &weighed.crop),
        site_name(term, &weighed.site),
        percent(weighed.share()),
        counted(weighed.plants, "plant"),
        percent(weighed.factor),
        by_plan.unwrap_or_default(),
    )
}
