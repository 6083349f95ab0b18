//! Serving days and shares.

use super::plan::{HEADS, LATE_HEADS, OLD_HEADS};
use super::{after, last_harvest, oakleaf, only, planned, reason};
use crate::support::crops::figure;
use crate::support::day;
use sowtide::check::Rule;
use sowtide::domain::plan::{Plan, Served, Shortfall};
use sowtide::domain::term::Term;

#[test]
fn serves() {
    only(Rule::Serves, "cannot serve Thu 15 Oct 2026; oakleaf keeps for 2 days", |term, _| {
        oakleaf(term).shelf_life = figure(2);
    });
    only(Rule::Serves, "320.00 g of this harvest are served, but it gives 310.00 g", |term, plan| {
        // 31/32 of the heads survive here, and the estimate says so; what is served does not.
        oakleaf(term).tank_survival = figure(0.775);
        for (batch, grams) in [(OLD_HEADS, 108.5), (HEADS, 310.0), (LATE_HEADS, 434.0)] {
            let harvest = last_harvest(plan, batch);
            harvest.grams = grams;
            harvest.arithmetic.survival = 0.775;
        }
        plan.facts.surplus_grams -= 14.0;
        plan.facts.cost -= 0.14;
    });
    only(Rule::Serves, "Fri 13 Nov 2026 is not a serving day", |_, plan| {
        last_harvest(plan, LATE_HEADS).serves.push(Served { date: day("2026-11-13"), grams: 0.0 });
    });
    only(Rule::Serves, "-5 g on Thu 12 Nov 2026 cannot be", |_, plan| {
        let serves = &mut last_harvest(plan, LATE_HEADS).serves;
        serves[0].grams = 405.0;
        serves.push(Served { grams: -5.0, ..serves[0] });
    });
}

#[test]
fn serving_days_add_up() {
    only(Rule::Planned, "399.00 g are planned, but the harvests bring 400.00 g", |_, plan| {
        *planned(plan, "2026-11-12") = 399.0;
    });
    only(Rule::Planned, "0.02 g are planned, but the harvests bring 0.00 g", |_, plan| {
        *planned(plan, "2026-09-10") = 0.02;
    });
    only(Rule::Planned, ": 0.00 g are planned, but the harvests bring 112.00 g", |_, plan| {
        *planned(plan, "2026-09-17") = -0.001;
    });
    only(Rule::Planned, "more than the target of 400.00 g", |_, plan| {
        last_harvest(plan, LATE_HEADS).serves[0].grams = 410.0;
        *planned(plan, "2026-11-12") = 410.0;
        plan.facts.surplus_grams -= 10.0;
        plan.facts.cost -= 0.1;
    });
    only(Rule::Planned, "the target is 500.00 g in the plan, but 400.00 g in the term", |_, plan| {
        plan.servings[0].target = 500.0;
    });
    only(Rule::Planned, "leaves out this serving day", |_, plan| {
        plan.servings.remove(0);
    });
    only(Rule::Planned, "more than once", |_, plan| {
        plan.servings.push(plan.servings[0].clone());
    });
    only(Rule::Planned, "it is not a serving day", |_, plan| {
        plan.servings[0].date = day("2026-09-11");
    });
}

#[test]
fn shares() {
    only(Rule::CropShare, "oakleaf covers 320.00 g; it may cover 300.00 g, 75 % of the target", |term, _| {
        term.crops[0].at_most = 0.75;
    });
    only(Rule::TankShare, "tank a carries 400.00 g; one tank may carry 360.00 g, 90 %", |term, _| {
        term.rules.one_tank_at_most = 0.9;
    });
}

#[test]
fn nothing_is_served_before_it_is_harvested() {
    only(Rule::Serves, "this harvest cannot serve Thu 5 Nov 2026", |_, plan| {
        last_harvest(plan, LATE_HEADS).serves[0].date = day("2026-11-05");
        *planned(plan, "2026-11-05") = 400.0;
        *planned(plan, "2026-11-12") = 0.0;
        *reason(plan, "2026-11-05") = None;
        *reason(plan, "2026-11-12") = Some(Shortfall::Search);
    });
}

#[test]
fn short_days_have_a_reason() {
    only(
        Rule::Reasons,
        "Thu 22 Oct 2026: 284.80 g are missing on this day, but no reason is given; put its \"shortfall:\" back",
        |_, plan| *reason(plan, "2026-10-22") = None,
    );
    // What nobody would notice needs none.
    assert_eq!(
        after(|_, plan| {
            last_harvest(plan, LATE_HEADS).serves[0].grams = 398.6;
            *planned(plan, "2026-11-12") = 398.6;
            plan.facts.short_grams += 1.4;
            plan.facts.surplus_grams += 1.4;
            plan.facts.cost += 1.4 * (0.1 + 0.01);
        }),
        []
    );
}

#[test]
fn nothing_is_left_over_that_a_short_day_could_have() {
    let fewer = |plan: &mut Plan| {
        last_harvest(plan, LATE_HEADS).serves[0].grams = 390.0;
        *planned(plan, "2026-11-12") = 390.0;
        *reason(plan, "2026-11-12") = Some(Shortfall::Holes);
        plan.facts.short_grams += 10.0;
        plan.facts.surplus_grams += 10.0;
        plan.facts.cost += 10.0 * (0.1 + 0.01);
    };
    only(
        Rule::Serves,
        "58.00 g of this harvest serve no day, but 10.00 g of them could be served on Thu 12 Nov 2026, which is short",
        |_, plan| fewer(plan),
    );
    // A limit on the crop, or on the tank, leaves the day short.
    let limited = |change: fn(&mut Term)| {
        after(|term, plan| {
            fewer(plan);
            change(term);
        })
    };
    let of_crop = limited(|term| term.crops[0].at_most = 0.975);
    let of_tank = limited(|term| term.rules.one_tank_at_most = 0.975);
    for found in [of_crop, of_tank] {
        assert!(found.iter().all(|violation| violation.rule != Rule::Serves), "{found:#?}");
    }
}

#[test]
fn only_short_days_have_a_reason() {
    let blamed = |date: &'static str| {
        move |_: &mut Term, plan: &mut Plan| *reason(plan, date) = Some(Shortfall::Holes)
    };
    assert_eq!(after(blamed("2026-10-22")), []);
    only(
        Rule::Reasons,
        "Thu 15 Oct 2026: a reason is given why this day is short, but it gets all that is wanted; take its \"shortfall:\" out",
        blamed("2026-10-15"),
    );
}
