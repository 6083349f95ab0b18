//! What a plan says of being made again cannot be otherwise: it decides which days count as past.

use super::subject::Subject;
use super::violation::{Findings, Rule, Violation, say};

pub(super) fn check(subject: &Subject<'_>, found: &mut Findings) {
    let facts = &subject.plan.facts;
    let is_bounded = facts.cost_bound.is_some() || facts.short_bound_grams.is_some();
    if let Some(from) = subject.plan.replanned.filter(|_| is_bounded) {
        let message = format!(
            "the plan says that the rest of the term was planned again from {} on, but has bounds, which only a plan of a \
             whole term has; take the line \"replanned:\" out, or else \"cost-bound:\" and \"short-bound-grams:\"",
            say(from)
        );
        found.push(Violation::new(Rule::PlannedAgain, message));
    }
}
