//! What serving days are promised: planned with a reserve, and kept when the term is played.

use crate::properties::plan;
use crate::support::build::{TermBuilder, site, tank, wanted};
use crate::support::crops::{cutter, head};
use chrono::Weekday::{Mon, Thu, Wed};
use sowtide::check::{Rule, check};
use sowtide::domain::ids::BatchId;
use sowtide::domain::journal::Journal;
use sowtide::domain::luck::Trouble;
use sowtide::domain::odds::Odds;
use sowtide::domain::plan::{Batch, Plan};
use sowtide::domain::term::Term;
use sowtide::insight::odds::{Luck, odds};
use sowtide::replan::{self, Outcome, Steady};
use sowtide::schedule::{Options, Watch};

/// Two rooms with more holes than the target needs.
fn roomy(sure: f64) -> Term {
    let mut term = TermBuilder::default()
        .weeks(16)
        .site(site("hall").meets(&[Mon, Thu]).tank(tank("a", 6, 6)).tank(tank("b", 6, 6)).nursery(80, 5))
        .site(site("annex").meets(&[Mon, Wed]).tank(tank("a", 6, 6)).tank(tank("b", 4, 6)).nursery(80, 5))
        .serves(Thu, 900.0)
        .crop(wanted(head("round")))
        .crop(wanted(cutter("chard")))
        .build();
    term.rules.tolerance = 0.02;
    // The first days cannot be reached at all.
    let date = term.start + chrono::Days::new(56);
    term.servings.retain(|serving| serving.date >= date);
    term.promise(sure);
    term
}

fn played(term: &Term, plan: &Plan) -> Odds {
    odds(term, plan, None, Luck { runs: 4_000, seed: 3, threads: 2, trouble: Trouble::default() })
}

fn planned(sure: f64) -> (Term, Plan) {
    let term = roomy(sure);
    let plan = plan(&term, 1, 400).unwrap();
    assert_eq!(check(&term, &plan), []);
    (term, plan)
}

/// The formula the plan is made by and the playing of the term know nothing of each other but the crop figures.
#[test]
fn what_is_promised_is_kept_when_the_term_is_played() {
    for sure in [0.8, 0.9] {
        let (term, plan) = planned(sure);
        let odds = played(&term, &plan);
        assert!(!odds.days.is_empty());
        for day in &odds.days {
            let reached = day.reached.share;
            assert!(reached > sure - 0.08, "{sure} promised, {reached} kept: {day:?}");
        }
    }
}

#[test]
fn without_a_promise_about_half_of_the_days_fail() {
    let (term, plan) = planned(0.0);
    let odds = played(&term, &plan);
    let mean = odds.days.iter().map(|day| day.reached.share).sum::<f64>() / odds.days.len() as f64;
    assert!((0.3..0.65).contains(&mean), "{mean}");
}

/// Spare plugs are sown for a promise, and the checker knows how many there may be.
#[test]
fn a_promise_brings_spare_seedlings() {
    let (term, mut plan) = planned(0.8);
    let spare = |batch: &Batch| {
        let crop = &term.crop(&batch.crop).unwrap().crop;
        batch.plugs - crop.plugs_for(batch.plants(), 0.0)
    };
    let spare: u32 = plan.batches.iter().map(spare).sum();
    assert!(spare >= plan.batches.len() as u32, "{spare} spare");
    plan.batches[0].plugs *= 2;
    let rules: Vec<Rule> = check(&term, &plan).iter().map(|violation| violation.rule).collect();
    assert!(rules.contains(&Rule::Plugs), "{rules:?}");
}

/// A plan without a reserve does not pass for one with it.
#[test]
fn points_for_a_promise_that_is_not_kept_cannot_be_left_out() {
    let (mut term, plan) = planned(0.0);
    term.promise(0.9);
    let found = check(&term, &plan);
    assert!(found.iter().any(|violation| violation.rule == Rule::Totals), "{found:?}");
}

/// What was sown before anything was promised stays as it was sown when the term is planned again with a promise.
#[test]
fn a_promise_that_comes_later_sows_nothing_in_the_past() {
    let (mut term, first) = planned(0.0);
    let today = term.servings[3].date;
    term.promise(0.9);
    let journal = Journal::default();
    let price = Steady::Usual.price(&term.rules.weights);
    let watch = Watch { stop: &|| false, report: &|_| {}, threads: 2 };
    let options = Options {
        seed: 1,
        effort: Some(300),
        until_stopped: false,
        term_id: "0123456789abcdef".to_owned(),
        made: "2026-09-01T08:30:00Z".parse().unwrap(),
    };
    let outcome = replan::replan(&term, &first, &journal, (today, price), &options, &watch).unwrap();
    let Outcome::New(again) = outcome else { panic!("a promise is news") };
    assert_eq!(check(&term, &again.plan), []);
    let past = |plan: &Plan| -> Vec<(BatchId, u32)> {
        let sown = plan.batches.iter().filter(|batch| batch.sown < today);
        sown.map(|batch| (batch.id.clone(), batch.plugs)).collect()
    };
    assert!(!past(&first).is_empty());
    assert_eq!(past(&again.plan), past(&first));
}

/// Where tanks and crops are limited, too, planner and checker agree on what could be served from where.
#[test]
fn promises_go_with_limits_to_tanks_and_crops() {
    for (one_tank, of_a_crop, seed) in [(0.3, 0.6, 1), (0.25, 0.5, 2), (0.4, 0.55, 3)] {
        let mut term = roomy(0.8);
        term.rules.one_tank_at_most = one_tank;
        term.crops[1].at_most = of_a_crop;
        let plan = plan(&term, seed, 200).unwrap();
        assert_eq!(check(&term, &plan), [], "{one_tank} {of_a_crop}");
    }
}

/// A serving that was changed by hand to more than its harvest is told, promise or not.
#[test]
fn serving_more_than_is_harvested_is_told() {
    let (term, mut plan) = planned(0.8);
    let harvest =
        plan.batches.iter_mut().flat_map(|batch| &mut batch.parts).flat_map(|part| &mut part.harvests);
    for served in harvest.flat_map(|harvest| &mut harvest.serves) {
        served.grams *= 1e6;
    }
    let rules: Vec<Rule> = check(&term, &plan).iter().map(|violation| violation.rule).collect();
    assert!(rules.contains(&Rule::Serves), "{rules:?}");
}
