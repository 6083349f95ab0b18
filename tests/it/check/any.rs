//! The checker on terms of every kind and on plans that make no sense.

use super::plan::{plan, term};
use crate::support::any::any_term;
use chrono::NaiveDate;
use proptest::collection::vec;
use proptest::prelude::*;
use sowtide::check::{Rule, check};
use sowtide::domain::plan::{Plan, Serving};
use sowtide::domain::term::Term;

/// No batches at all, so that every gram is missing.
fn empty(term: &Term) -> Plan {
    let mut empty = plan();
    empty.batches.clear();
    empty.servings = term
        .servings
        .iter()
        .map(|wanted| Serving {
            date: wanted.date,
            target: wanted.grams,
            planned: 0.0,
            shortfall: None,
        })
        .collect();
    let rules = &term.rules;
    // 0.15 of a target counts as mild. Kinds and shares that are missing are mild, too.
    let kinds = f64::from(rules.kinds) * rules.kind_from;
    let shares: f64 = term.crops.iter().map(|wanted| wanted.at_least).sum();
    let points = (0.15 + kinds + shares) * 0.1 + 0.85 * 0.3;
    empty.facts.short_grams = term.target_grams();
    empty.facts.surplus_grams = 0.0;
    empty.facts.cost = term.target_grams() * points;
    empty
}

/// Dates at and beyond all ends.
fn any_day() -> impl Strategy<Value = NaiveDate> {
    prop_oneof![
        Just(NaiveDate::MIN),
        Just(NaiveDate::MAX),
        (0..400_u64).prop_map(|days| term().start + chrono::Days::new(days)),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn doing_nothing_breaks_no_rule_but_forgets_what_stands(term in any_term()) {
        let found = check(&term, &empty(&term));
        let forgotten = found.iter().filter(|violation| violation.rule == Rule::Standing).count();
        prop_assert_eq!(forgotten, term.standing.len());
        prop_assert_eq!(found.len(), forgotten, "{:?}", found);
    }

    #[test]
    fn any_plan_can_be_checked(
        days in vec(any_day(), 16),
        counts in vec(prop_oneof![0..50_u32, Just(u32::MAX)], 16),
        grams in vec(prop_oneof![any::<f64>(), Just(f64::NAN)], 8),
    ) {
        let (term, mut plan) = (term(), plan());
        let (mut days, mut counts) = (days.into_iter().cycle(), counts.into_iter().cycle());
        let mut grams = grams.into_iter().cycle();
        for batch in &mut plan.batches {
            batch.sown = days.next().unwrap();
            batch.plugs = counts.next().unwrap();
            for part in &mut batch.parts {
                part.plants = counts.next().unwrap();
                part.cuts_before = counts.next().unwrap();
                part.transplant = days.next().unwrap();
                part.holes[0] = counts.next().unwrap();
                for harvest in &mut part.harvests {
                    harvest.date = days.next().unwrap();
                    harvest.number = counts.next().unwrap();
                    harvest.grams = grams.next().unwrap();
                    harvest.serves[0].grams = grams.next().unwrap();
                }
            }
        }
        prop_assert!(!check(&term, &plan).is_empty());
    }
}
