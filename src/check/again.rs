//! What a plan says of being made again cannot be otherwise: it decides which days count as past.

use super::subject::Subject;
use super::violation::{Findings, Rule, Violation, say};

pub(super) fn check(subject: &Subject<'_>, found: &mut Findings) {
    let Some(from) = subject.plan.replanned else { return };
    let mut complain = |message| found.push(Violation::new(Rule::PlannedAgain, message));
    let (day, end) = (say(from), say(subject.term.end));
    if from > subject.term.end {
        complain(format!(
            "the plan says that the rest of the term was planned again from {day} on, but the term ends on {end}; put the \
             right day after \"replanned:\", or take that line out if the term was never planned again"
        ));
    }
    let facts = &subject.plan.facts;
    if facts.cost_bound.is_some() || facts.short_bound_grams.is_some() {
        complain(format!(
            "the plan says that the rest of the term was planned again from {day} on, but has bounds, which only a plan of a \
             whole term has; take the line \"replanned:\" out, or else \"cost-bound:\" and \"short-bound-grams:\""
        ));
    }
}
