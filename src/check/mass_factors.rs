//! What a plan counts masses with can be meant: it decides what every harvest is said to give.

use super::subject::Subject;
use super::violation::{Findings, Rule, Violation};
use crate::domain::plan::MassFactor;
use crate::domain::weighed::FACTORS;
use std::collections::BTreeSet;

pub(super) fn check(subject: &Subject<'_>, found: &mut Findings) {
    let plan = subject.plan;
    let mut seen = BTreeSet::new();
    for counted in &plan.mass_factors {
        let MassFactor { site, crop, batch, factor } = counted;
        let mut complain = |message: String| {
            let violation = Violation::new(Rule::MassFactors, message).at(site);
            found.push(match batch {
                Some(batch) => violation.of(batch),
                None => violation,
            });
        };
        if !FACTORS.contains(factor) {
            let (least, most) = (FACTORS.start(), FACTORS.end());
            complain(format!(
                "under mass-factors:, {crop} counts {factor} times its mass; nothing outside {least} to {most} is counted with"
            ));
        }
        if !seen.insert((site, crop, batch)) {
            complain(format!("{crop} is named twice under mass-factors:; leave one of them out"));
        }
        let is_strange = subject.term.site(site).is_none()
            || subject.term.crop(crop).is_none()
            || batch.as_ref().is_some_and(|id| {
                !plan
                    .batches
                    .iter()
                    .any(|known| known.id == *id && known.site == *site && known.crop == *crop)
            });
        if is_strange {
            complain(format!(
                "the plan counts {crop}{} with another mass, which neither term nor plan have here; plan the rest of the term again",
                batch.as_ref().map_or_else(String::new, |batch| format!(" of batch {batch}"))
            ));
        }
    }
    if !plan.mass_factors.is_empty() && plan.replanned.is_none() {
        let message =
            "the plan counts with what was weighed, but was never planned again; take \"mass-factors:\" out";
        found.push(Violation::new(Rule::MassFactors, message));
    }
}
