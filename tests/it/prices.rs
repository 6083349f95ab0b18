//! Prices steer the search: what is made dear gets rare.

use crate::properties::plan;
use crate::support::build::{TermBuilder, site, tank, wanted};
use crate::support::crops::{cutter, head};
use chrono::Weekday::{Fri, Tue};
use sowtide::check::check;
use sowtide::domain::calendar::days_between;
use sowtide::domain::plan::{Part, Plan};
use sowtide::domain::term::{Term, Weights};
use std::collections::BTreeSet;

/// Two tanks of one room, with more holes than it takes.
fn term() -> Term {
    TermBuilder::default()
        .weeks(12)
        .site(site("hall").meets(&[Tue, Fri]).tank(tank("a", 4, 6)).tank(tank("b", 4, 6)).nursery(60, 5))
        .serves(Fri, 400.0)
        .crop(wanted(head("round")))
        .crop(wanted(cutter("leafy")))
        .build()
}

fn parts(plan: &Plan) -> impl Iterator<Item = &Part> {
    plan.batches.iter().flat_map(|batch| &batch.parts)
}

/// Days on which each batch is moved or harvested.
fn tasks(plan: &Plan) -> f64 {
    let of_batch = |parts: &[Part]| {
        let harvests = parts.iter().flat_map(|part| &part.harvests).map(|harvest| harvest.date);
        let moves = parts.iter().map(|part| part.transplant);
        harvests.collect::<BTreeSet<_>>().len() + moves.collect::<BTreeSet<_>>().len()
    };
    plan.batches.iter().map(|batch| of_batch(&batch.parts)).sum::<usize>() as f64
}

fn hole_days(plan: &Plan) -> f64 {
    let of_part = |part: &Part| {
        let holes = part.holes.len() + part.kept_empty.len();
        holes as i64 * part.leaves().map_or(0, |leaves| days_between(part.transplant, leaves))
    };
    parts(plan).map(of_part).sum::<i64>() as f64
}

/// Gram-days from harvest to serving.
fn stored(plan: &Plan) -> f64 {
    let harvests = parts(plan).flat_map(|part| &part.harvests);
    let waits = harvests.flat_map(|harvest| {
        harvest.serves.iter().map(|served| served.grams * days_between(harvest.date, served.date) as f64)
    });
    waits.sum()
}

#[track_caller]
fn gets_rare(price: fn(&mut Weights) -> &mut f64, dear: f64, count: fn(&Plan) -> f64) {
    let counted = |points: f64| -> f64 {
        let mut term = term();
        let weights = &mut term.rules.weights;
        *price(weights) = points;
        weights.stale = weights.stale.max(weights.stored);
        let of_seed = |seed| {
            let plan = plan(&term, seed, 30).unwrap();
            assert_eq!(check(&term, &plan), []);
            count(&plan)
        };
        (1..3).map(of_seed).sum()
    };
    let (free, dear) = (counted(0.0), counted(dear));
    assert!(dear < free, "{free} where it is free, {dear} where it is dear");
}

#[test]
fn dear_things_get_rare() {
    gets_rare(|weights| &mut weights.sowing, 20.0, |plan| plan.batches.len() as f64);
    gets_rare(|weights| &mut weights.task, 10.0, tasks);
    gets_rare(|weights| &mut weights.further_tank, 10.0, |plan| parts(plan).count() as f64);
    gets_rare(|weights| &mut weights.hole_day, 0.1, hole_days);
    gets_rare(|weights| &mut weights.stored, 0.1, stored);
    gets_rare(|weights| &mut weights.surplus, 0.5, |plan| plan.facts.surplus_grams);
}
