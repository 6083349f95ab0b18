//! The checker on terms of every kind and on plans that make no sense.

use super::plan::{plan, term};
use crate::support::any::{any_term, class_within, tank_for};
use crate::support::few;
use chrono::NaiveDate;
use proptest::collection::vec;
use proptest::prelude::*;
use sowtide::check::{Rule, check};
use sowtide::domain::calendar::{days_between, plus_days};
use sowtide::domain::growth::{Growing, Way};
use sowtide::domain::lid::Spot;
use sowtide::domain::plan::{Arithmetic, Batch, Harvest, Origin, Part, Plan, Serving, Shortfall};
use sowtide::domain::term::{Stage, Standing, Term};
use std::collections::{BTreeMap, BTreeSet};

/// No batches at all, so that every gram is missing.
fn empty(term: &Term) -> Plan {
    let mut empty = plan();
    empty.batches.clear();
    empty.servings = term
        .servings
        .iter()
        .map(|wanted| {
            let (date, target) = (wanted.date, wanted.grams);
            Serving { date, target, planned: 0.0, shortfall: Some(Shortfall::Search) }
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

/// Nothing sown, and what stands pulled as soon as may be; the domain's own formulas say what it gives.
fn pulled(term: &Term) -> Plan {
    let mut plan = empty(term);
    let mut visits = BTreeSet::new();
    for standing in &term.standing {
        let (site, crop) = (term.site(&standing.site).unwrap(), &term.crop(&standing.crop).unwrap().crop);
        let part = pulled_part(term, standing);
        let harvest = &part.harvests[0];
        let from = part.transplant.max(term.start);
        let free = plus_days(harvest.date, term.rules.turnover_days);
        let holes = part.holes.len() + part.kept_empty.len();
        plan.facts.surplus_grams += harvest.grams;
        plan.facts.cost += harvest.grams * 0.01 + holes as f64 * days_between(from, free) as f64 * 0.005;
        visits.extend([part.transplant, harvest.date].map(|day| (&site.id, day)));
        plan.batches.push(Batch {
            id: standing.batch.clone(),
            crop: crop.id.clone(),
            site: site.id.clone(),
            sown: standing.sown,
            origin: Origin::Standing,
            plugs: standing.plants,
            seeds_per_plug: crop.seeds_per_plug.value,
            parts: vec![part],
            task_numbers: BTreeMap::new(),
        });
    }
    let in_term = visits.iter().filter(|(_, day)| *day >= term.start).count();
    plan.facts.cost += in_term as f64 * 0.1;
    plan
}

fn pulled_part(term: &Term, standing: &Standing) -> Part {
    let site = term.site(&standing.site).unwrap();
    let wanted = term.crop(&standing.crop).unwrap();
    let crop = &wanted.crop;
    let growing = Growing::new(crop, site);
    let (tank, transplant, cut) = match &standing.stage {
        Stage::Nursery => (tank_for(site, wanted, standing.plants, false).unwrap(), site.class_days[0], None),
        Stage::Tank { tank, transplanted, cuts, .. } => {
            (site.tank(tank).unwrap(), *transplanted, cuts.first().copied())
        }
    };
    let (since, window) = match cut {
        Some(cut) => (cut, growing.regrowth_window()),
        None => (standing.sown, growing.pull_window()),
    };
    let date = class_within(site, since, &window.unwrap()).unwrap();
    let days = u32::try_from(days_between(since, date)).unwrap();
    let days_in = |from, to| u32::try_from(days_between(from, to)).unwrap();
    let mut stand = growing.planted(days_in(standing.sown, transplant));
    if let Some(cut) = cut {
        stand = growing.cut(growing.later(stand, days_in(transplant, cut)));
    }
    let standing_grams = growing.grams(growing.later(stand, days_in(cut.unwrap_or(transplant), date)));
    let room = tank.lid.room_for(crop.spacing.value.cm()).unwrap();
    let places: Vec<Spot> = tank.lid.spots(room).into_iter().take(standing.plants as usize).collect();
    Part {
        plants: standing.plants,
        tank: tank.id.clone(),
        transplant,
        holes: places.iter().map(|place| place.hole).collect(),
        kept_empty: places.into_iter().flat_map(|place| place.kept_empty).collect(),
        cuts_before: u32::from(cut.is_some()),
        lost: None,
        harvests: vec![Harvest {
            date,
            way: Way::WholeHead,
            number: 1 + u32::from(cut.is_some()),
            grams: f64::from(standing.plants) * growing.expected(standing_grams, Way::WholeHead),
            arithmetic: Arithmetic {
                days,
                standing_grams,
                taken: 1.0,
                survival: crop.tank_survival.value,
                yield_factor: site.yield_factor,
                ready_to_eat: crop.ready_to_eat.value,
            },
            serves: Vec::new(),
        }],
    }
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
    #![proptest_config(few(256))]

    #[test]
    fn doing_nothing_breaks_no_rule_but_forgets_what_stands(mut term in any_term()) {
        // What a site without work costs, and a promise that is not kept, other tests tell.
        term.rules.every_site = false;
        term.promise(0.0);
        let found = check(&term, &empty(&term));
        let forgotten = found.iter().filter(|violation| violation.rule == Rule::Standing).count();
        prop_assert_eq!(forgotten, term.standing.len());
        prop_assert_eq!(found.len(), forgotten, "{:?}", found);
    }

    #[test]
    fn what_stands_can_always_be_pulled(mut term in any_term()) {
        // Seedlings that are moved at once may stay longer than a tank may go without cleaning.
        term.rules.clean_every = None;
        // What tasks, plants told apart or past their prime, sites without work and promises that are not kept cost, other tests tell.
        let weights = &mut term.rules.weights;
        (weights.task, weights.further_tank, weights.scant, weights.idle) = (0.0, 0.0, 0.0, 0.0);
        (weights.split, weights.overmature, weights.unsure) = (0.0, 0.0, 0.0);
        let mut found = check(&term, &pulled(&term));
        // None of it is served.
        found.retain(|violation| violation.rule != Rule::Serves);
        prop_assert_eq!(found, []);
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
