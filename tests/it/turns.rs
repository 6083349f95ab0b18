//! Every site has something to do in each stretch of class.

use crate::properties::plan;
use crate::support::build::{TermBuilder, site, tank, wanted};
use crate::support::crops::head;
use crate::support::day;
use chrono::NaiveDate;
use chrono::Weekday::Thu;
use sowtide::check::{Rule, check};
use sowtide::domain::calendar::{DateSpan, DaysOff, DaysOffKind};
use sowtide::domain::idle::WhyIdle;
use sowtide::domain::plan::Plan;
use sowtide::domain::tasks::tasks;
use sowtide::domain::term::{Location, Term};
use sowtide::insight::idle::idle;
use sowtide::schedule;

/// Two stretches of eight and seven weeks, a hall that can serve all that is wanted, and an annex where little grows.
fn term(every_site: bool) -> Term {
    TermBuilder::default()
        .site(site("hall").tank(tank("a", 4, 6)))
        .site(site("annex").grows(1.0, 0.2).tank(tank("b", 2, 4)))
        .holiday(day("2026-11-02"), day("2026-11-06"))
        .serves(Thu, 150.0)
        .crop(wanted(head("oakleaf")))
        .rules(|rules| rules.every_site = every_site)
        .build()
}

fn work(term: &Term, plan: &Plan, site: &str) -> Vec<NaiveDate> {
    let tasks = tasks(term, plan);
    tasks.iter().filter(|task| task.batch.site.as_str() == site).map(|task| task.date).collect()
}

#[test]
fn a_superfluous_site_gets_its_part_where_the_rules_ask_for_it() {
    let (without, with) = (term(false), term(true));
    let (left, shared) = (plan(&without, 1, 60).unwrap(), plan(&with, 1, 60).unwrap());
    assert_eq!((check(&without, &left), check(&with, &shared)), (vec![], vec![]));
    assert_eq!(work(&without, &left, "annex"), [], "without the rule there is nothing to show");
    let told = idle(&without, &left);
    assert_eq!(told.iter().map(|idle| idle.site.as_str()).collect::<Vec<_>>(), ["annex"]);
    let days = work(&with, &shared, "annex");
    let stretches = with.sites[1].stretches(with.start);
    assert_eq!(stretches.len(), 2);
    assert!(stretches.iter().all(|span| days.iter().any(|day| span.contains(*day))), "{days:?}");
    assert_eq!(idle(&with, &shared), []);
    let price = shared.facts.cost - left.facts.cost;
    assert!(price > 0.0 && price < 2.0 * with.rules.weights.idle, "{price} points");
}

/// The checker counts what the planner should have counted, and the exported model knows it too.
#[test]
fn idle_stretches_cost_points() {
    let (without, with) = (term(false), term(true));
    let left = plan(&without, 1, 60).unwrap();
    let found = check(&with, &left);
    assert!(found.len() == 1 && found[0].rule == Rule::Totals, "{found:?}");
    let told = found[0].to_string();
    let words = "40.00 of them are for stretches of class in which a site has nothing to do, 2 in all";
    assert!(told.contains(words), "{told}");
    let mut counted = left.clone();
    counted.facts.cost += 2.0 * with.rules.weights.idle;
    assert_eq!(check(&with, &counted), []);
    let told = idle(&with, &counted);
    assert!(told.len() == 1 && told[0].why == WhyIdle::Search, "{told:?}");
    // What is over when a plan is made again cannot be mended.
    counted.replanned = Some(day("2026-11-09"));
    counted.facts.cost -= with.rules.weights.idle;
    counted.facts.cost_bound = None;
    counted.facts.short_bound_grams = None;
    assert_eq!(check(&with, &counted), []);
    let bound = |term: &Term| schedule::bound(term).unwrap().points;
    assert!(bound(&with) > bound(&without) + 0.01);
    assert_eq!(schedule::export_model(&without).matches("without_work_annex_s").count(), 0);
    assert!(schedule::export_model(&with).contains("without_work_annex_s1"));
}

#[test]
fn a_site_where_nothing_may_grow_is_exempt() {
    let mut term = term(true);
    term.crops[0].only_in = vec![Location { site: term.sites[0].id.clone(), tank: None }];
    let plan = plan(&term, 1, 60).unwrap();
    assert_eq!(check(&term, &plan), []);
    let mut unruled = term.clone();
    unruled.rules.every_site = false;
    assert_eq!(check(&unruled, &plan), [], "the annex costs nothing");
    assert_eq!(idle(&term, &plan)[0].why, WhyIdle::OnlyIn);
}

#[test]
fn stretches_lie_between_breaks_and_are_three_weeks_long() {
    let mut hall = term(true).sites.remove(0);
    let span = |first: &str, last: &str| DateSpan { first: day(first), last: day(last) };
    let whole = [span("2026-09-07", "2026-10-29"), span("2026-11-09", "2026-12-24")];
    let start = TermBuilder::start();
    assert_eq!(hall.stretches(start), whole);
    // What is left of one counts while it is long enough.
    assert_eq!(hall.stretches(day("2026-10-13")), [span("2026-10-15", "2026-10-29"), whole[1]]);
    assert_eq!(hall.stretches(day("2026-10-19")), [whole[1]]);
    let mut off = |first: &str, last: &str, kind| {
        let days = DaysOff { name: "off".to_owned(), span: span(first, last), kind };
        hall.class_days.retain(|day| !days.span.contains(*day));
        hall.days_off.push(days);
        hall.stretches(start)
    };
    // A long weekend parts nothing, nor does a week without classes that is no break.
    assert_eq!(off("2026-10-02", "2026-10-05", DaysOffKind::Break), whole);
    assert_eq!(off("2026-11-23", "2026-11-27", DaysOffKind::Closure), whole);
    // Two weeks are left before the second break, three after it.
    let parted = off("2026-09-21", "2026-09-25", DaysOffKind::Break);
    assert_eq!(parted, [span("2026-09-28", "2026-10-29"), whole[1]]);
}
