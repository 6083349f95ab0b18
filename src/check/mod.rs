//! The independent checker: replays a finished plan and tells everything that cannot be so.
//!
//! A solver is never trusted. This part knows the data types of [`crate::domain`] and nothing of how
//! plans are made; windows, yields and costs are worked out here a second time from the crop figures.
//! So a mistake in the planner, and a slip of a person who edited a plan, both come to light.
//!
//! One file holds one group of rules. A new rule is a function that adds to `Findings`, called from
//! [`check`].

mod again;
mod arithmetic;
mod cleaning;
mod days;
mod facts;
mod figures;
mod growing;
mod hands;
mod harvests;
mod holes;
mod lost;
mod mass_factors;
mod mixing;
mod names;
mod numbers;
mod nursery;
mod only_in;
mod origins;
mod possible;
mod promise;
mod put_off;
mod rhythm;
mod servings;
mod size;
mod standing;
mod subject;
mod turns;
mod violation;
mod water;

use crate::domain::plan::Plan;
use crate::domain::term::Term;
use subject::Subject;
use violation::Findings;

pub use violation::{Rule, Violation};

/// Grams by which sums may differ: plans may be rounded to a hundredth of a gram.
const GRAMS: f64 = 0.01;

/// Replays `plan` day by day against `term`. The result is sorted by date, violations that belong to no
/// day come last; a sound plan gives none. Rules about what should be done hold from the day on which the plan was last
/// made anew: what is past happened, whether it should have or not.
///
/// Masses are checked against what the plan itself counts crops and batches with.
pub fn check(term: &Term, plan: &Plan) -> Vec<Violation> {
    let mut term = term.clone();
    term.count_with(&plan.mass_factors);
    let subject = Subject::new(&term, plan);
    let mut found = Findings::default();
    names::check(&subject, &mut found);
    numbers::check(&subject, &mut found);
    standing::check(&subject, &mut found);
    origins::check(&subject, &mut found);
    days::check(&subject, &mut found);
    growing::check(&subject, &mut found);
    harvests::check(&subject, &mut found);
    size::check(&subject, &mut found);
    nursery::check(&subject, &mut found);
    holes::check(&subject, &mut found);
    only_in::check(&subject, &mut found);
    mixing::check(&subject, &mut found);
    rhythm::check(&subject, &mut found);
    lost::check(&subject, &mut found);
    cleaning::check(&subject, &mut found);
    water::check(&subject, &mut found);
    hands::check(&subject, &mut found);
    arithmetic::check(&subject, &mut found);
    servings::check(&subject, &mut found);
    facts::check(&subject, &mut found);
    again::check(&subject, &mut found);
    put_off::check(&subject, &mut found);
    mass_factors::check(&subject, &mut found);
    found.retain(|violation| {
        // Work outside the term is nobody's past.
        let is_past = violation.date.is_some_and(|day| subject.in_term(day) && subject.is_past(day));
        !(violation.rule.tells_what_to_do() && is_past)
    });
    found.sorted()
}

/// Whether two figures agree within a share of the larger one. Not-a-number agrees with nothing.
fn agree(found: f64, right: f64, share: f64) -> bool {
    (found - right).abs() <= share * found.abs().max(right.abs())
}

/// Whether `found` exceeds `limit` by more than `slack`. Not-a-number exceeds everything.
fn exceeds(found: f64, limit: f64, slack: f64) -> bool {
    found.is_nan() || found > limit + slack
}
