//! Days, ages, harvests, batches and estimates.

use super::plan::{CUTS, HEADS, OLD_HEADS, OLD_SEEDLINGS};
use super::{after, also, chard, last_harvest, oakleaf, only, part, planned, reason};
use crate::support::crops::{days, figure};
use crate::support::day;
use sowtide::check::Rule;
use sowtide::domain::growth::Way;
use sowtide::domain::plan::{Harvest, Plan, Shortfall};
use sowtide::domain::term::{Term, WayWish};

#[test]
fn class_days() {
    // Nobody looks in between them either, so seedlings are left alone, too.
    also(Rule::ClassDays, "the nearest class days are Thu 17 Sep 2026 and Thu 24 Sep 2026", |term, _| {
        term.sites[0].class_days.retain(|class| *class != day("2026-09-21"));
    });
    only(Rule::ClassDays, "the harvest lies outside the term", |term, plan| {
        // Days after the end are no visits.
        term.end = day("2026-11-11");
        plan.facts.cost -= 0.1;
    });
}

#[test]
fn ages() {
    only(Rule::NurseryAge, "14 days after sowing; they are fit after 15 to 21 days", |term, _| {
        oakleaf(term).nursery = figure(days(15, 15, 21));
    });
    only(Rule::NurseryAge, "fit after 7 to 13 days", |term, _| {
        oakleaf(term).nursery = figure(days(7, 10, 13));
    });
    only(
        Rule::FirstHarvest,
        "pulled 35 days after sowing; here it can be pulled after 36 to 49 days",
        |term, _| {
            oakleaf(term).whole_head = Some(figure(days(36, 42, 56)));
        },
    );
    only(Rule::FirstHarvest, "after 21 to 41 days", |term, _| {
        // Past the usual day by more than a plant holds.
        oakleaf(term).whole_head = Some(figure(days(21, 34, 56)));
    });
    only(
        Rule::FirstHarvest,
        "cut 28 days after sowing; here it can be cut after 29 to 35 days",
        |term, _| {
            chard(term).first_cut = Some(figure(days(29, 28, 35)));
        },
    );
    only(
        Rule::Regrowth,
        "again 14 days after the cut on Thu 8 Oct 2026; it needs 7 to 13 days",
        |term, _| {
            if let Some(regrowth) = &mut chard(term).regrowth {
                regrowth.interval = figure(days(7, 13, 13));
            }
        },
    );
    only(Rule::Regrowth, "again 42 days after sowing; it is past its best after 41", |term, _| {
        if let Some(regrowth) = &mut chard(term).regrowth {
            regrowth.until = Some(figure(41));
        }
    });
}

#[test]
fn the_pace_of_a_site_stretches_every_window() {
    also(Rule::FirstHarvest, "here it can be pulled after 44 to 61 days", |term, _| {
        term.sites[0].pace = 1.25;
    });
    also(Rule::NurseryAge, "they are fit after 20 to 42 days", |term, _| {
        term.sites[0].pace = 2.0;
    });
    also(Rule::Regrowth, "it needs 14 to 42 days", |term, plan| {
        term.sites[0].pace = 2.0;
        last_harvest(plan, CUTS).date = day("2026-10-19");
    });
}

#[test]
fn harvest_comes_after_transplanting() {
    only(Rule::FirstHarvest, "harvested on the day on which they come into", |term, plan| {
        oakleaf(term).nursery = figure(days(10, 14, 35));
        term.sites[0].minutes_a_day = None;
        part(plan, HEADS).transplant = day("2026-10-12");
        // One visit less, and eight holes for 21 days less.
        plan.facts.cost -= 0.1 + 8.0 * 21.0 * 0.005;
    });
}

#[test]
fn no_past_is_so_strange_that_plants_are_moved_before_they_are_sown_or_harvested_before_they_are_moved() {
    let past = |change: fn(&mut Plan)| {
        move |_: &mut Term, plan: &mut Plan| {
            plan.replanned = Some(plan.servings.last().unwrap().date);
            change(plan);
        }
    };
    also(
        Rule::Order,
        "moved into a tank before the batch begins",
        past(|plan| {
            let sown = plan.batches[HEADS].sown;
            part(plan, HEADS).transplant = sown.pred_opt().unwrap();
        }),
    );
    also(
        Rule::Order,
        "harvested before they come into their tank",
        past(|plan| {
            let pulled = last_harvest(plan, HEADS).date;
            part(plan, HEADS).transplant = pulled.succ_opt().unwrap();
        }),
    );
}

#[test]
fn harvests_in_order() {
    only(Rule::HarvestOrder, "harvest number 2 of these plants, not 3", |_, plan| {
        last_harvest(plan, CUTS).number = 3;
    });
    only(Rule::HarvestOrder, "2 harvests are planned, but a plant of chard gives 1 harvest", |term, _| {
        if let Some(regrowth) = &mut chard(term).regrowth {
            regrowth.harvests = figure(1);
        }
    });
    also(Rule::HarvestOrder, "list them by date", |_, plan| {
        part(plan, CUTS).harvests.reverse();
    });
}

#[test]
fn all_but_the_last_are_cuts() {
    // Plants that are never pulled go on drawing water, too.
    also(Rule::HarvestWays, "the last harvest is a cut", |_, plan| {
        // Half of what pulling gives.
        let last = last_harvest(plan, CUTS);
        last.way = Way::Cut;
        last.arithmetic.taken = 0.5;
        last.grams = 57.6;
        last.serves[0].grams = 57.6;
        *planned(plan, "2026-10-22") = 57.6;
        plan.facts.short_grams += 57.6;
        plan.facts.cost += 57.6 * 0.3;
    });
    also(Rule::HarvestWays, "pulled here but harvested again", |_, plan| {
        part(plan, CUTS).harvests[0].way = Way::WholeHead;
    });
    also(Rule::HarvestWays, "never harvested", |_, plan| {
        part(plan, CUTS).harvests.clear();
    });
}

#[test]
fn wishes() {
    only(Rule::WayWish, "the term asks for whole heads", |term, _| {
        term.crops[1].way = WayWish::WholeHead;
    });
    only(Rule::WayWish, "the term asks for a cut", |term, _| {
        term.crops[1].way = WayWish::Cut;
    });
}

#[test]
fn sizes_and_plugs() {
    only(Rule::BatchSize, "6 plants; the smallest batch is 7", |term, _| {
        term.rules.smallest_batch = 7;
    });
    also(Rule::BatchSize, "no plants", |_, plan| {
        part(plan, HEADS).plants = 0;
    });
    only(Rule::Plugs, "9 plugs are listed for 6 plants; it should be 10", |_, plan| {
        plan.batches[CUTS].plugs = 9;
        plan.facts.cost -= 0.02;
    });
    also(Rule::Plugs, "12 plugs are listed for 6 plants; it should be 10", |_, plan| {
        plan.batches[CUTS].plugs = 12;
    });
    only(Rule::Plugs, "3 seeds go into a plug; for chard it should be 2", |_, plan| {
        plan.batches[CUTS].seeds_per_plug = 3;
    });
    only(Rule::Plugs, "1 seed goes into a plug; for chard it should be 2", |_, plan| {
        plan.batches[CUTS].seeds_per_plug = 1;
    });
    only(Rule::Plugs, "it should be 3, as many as stand", |_, plan| {
        plan.batches[OLD_SEEDLINGS].plugs = 5;
    });
}

#[test]
fn estimates() {
    let heads = |plan: &mut Plan, change: fn(&mut Harvest)| change(last_harvest(plan, HEADS));
    only(Rule::Estimate, "grow for 35 days, not 36", |_, plan| {
        heads(plan, |harvest| harvest.arithmetic.days = 36);
    });
    only(Rule::Estimate, "grams standing in a plant should be 48, not 60", |_, plan| {
        last_harvest(plan, CUTS).arithmetic.standing_grams = 60.0;
    });
    only(Rule::Estimate, "share taken should be 1, not 0.5", |_, plan| {
        heads(plan, |harvest| harvest.arithmetic.taken = 0.5);
    });
    only(Rule::Estimate, "share surviving", |_, plan| {
        heads(plan, |harvest| harvest.arithmetic.survival = 0.9);
    });
    only(Rule::Estimate, "yield factor should be 1, not 2", |_, plan| {
        heads(plan, |harvest| harvest.arithmetic.yield_factor = 2.0);
    });
    only(Rule::Estimate, "ready to eat should be 0.5, not 1", |_, plan| {
        heads(plan, |harvest| harvest.arithmetic.ready_to_eat = 1.0);
    });
    only(Rule::Estimate, "should be 0.8, not NaN", |_, plan| {
        heads(plan, |harvest| harvest.arithmetic.survival = f64::NAN);
    });
    only(Rule::Estimate, "8 plants give 320.00 g ready to eat, not 321.00 g", |_, plan| {
        heads(plan, |harvest| harvest.grams = 321.0);
        plan.facts.surplus_grams += 1.0;
        plan.facts.cost += 0.01;
    });
}

#[test]
fn slow_sites_and_plants_that_rest_yield_less() {
    assert_eq!(
        after(|term, plan| {
            // At 42 days plants in the annex are as far as others at 35, and give half the mass.
            (term.sites[1].pace, term.sites[1].yield_factor) = (1.2, 0.5);
            for (batch, plants) in [(OLD_HEADS, 2.0), (OLD_SEEDLINGS, 3.0)] {
                let harvest = last_harvest(plan, batch);
                (harvest.arithmetic.standing_grams, harvest.arithmetic.yield_factor) = (100.0, 0.5);
                harvest.grams = plants * 20.0;
                harvest.serves[0].grams = plants * 20.0;
            }
            *planned(plan, "2026-09-17") = 40.0;
            *planned(plan, "2026-10-15") = 380.0;
            *reason(plan, "2026-10-15") = Some(Shortfall::Search);
            // 72 g less in September; in October 20 g less, which is mild, and no surplus of 88 g.
            plan.facts.short_grams += 92.0;
            plan.facts.surplus_grams -= 88.0;
            plan.facts.cost += 72.0 * 0.3 + 20.0 * 0.1 - 88.0 * 0.01;
        }),
        []
    );
    assert_eq!(
        after(|term, plan| {
            // Plants that rest for as long as that stand as the cut left them: 60 g x 0.5.
            if let Some(regrowth) = &mut chard(term).regrowth {
                regrowth.lag = figure(14.0);
            }
            let harvest = last_harvest(plan, CUTS);
            harvest.arithmetic.standing_grams = 30.0;
            harvest.grams = 72.0;
            harvest.serves[0].grams = 72.0;
            *planned(plan, "2026-10-22") = 72.0;
            plan.facts.short_grams += 43.2;
            plan.facts.cost += 43.2 * 0.3;
        }),
        []
    );
}
