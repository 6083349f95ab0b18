//! Sites without anything to do, and why.

use crate::sample;
use crate::support::build::{SiteBuilder, TermBuilder, site, tank, wanted};
use crate::support::crops::head;
use chrono::Weekday::Tue;
use sowtide::domain::idle::{Idle, WhyIdle};
use sowtide::domain::ids::SiteId;
use sowtide::domain::plan::{Plan, Serving};
use sowtide::domain::site::Tank;
use sowtide::domain::term::{Location, Term};
use sowtide::domain::units::Units;
use sowtide::insight::idle::idle;
use sowtide::report::{Look, json, page, summary};

const LOOK: Look = Look { units: Units::Metric, width: 400, colour: false };

/// A hall with all one needs and an annex, for twelve weeks.
fn term(annex: SiteBuilder) -> Term {
    TermBuilder::default()
        .weeks(12)
        .site(site("hall").tank(tank("a", 4, 6)))
        .site(annex)
        .crop(wanted(head("oakleaf")))
        .build()
}

fn annex() -> SiteBuilder {
    site("annex").tank(tank("b", 4, 5))
}

/// A plan of one batch in the hall that brings so large a share of every day's target.
fn plan(term: &Term, share: f64) -> Plan {
    let serves = |serving: &sowtide::domain::term::ServingTarget| Serving {
        date: serving.date,
        target: serving.grams,
        planned: share * serving.grams,
        shortfall: None,
    };
    let mut plan = sample::plan();
    plan.batches.truncate(1);
    plan.batches[0].site = SiteId::new("hall");
    plan.servings = term.servings.iter().map(serves).collect();
    plan
}

fn why(term: &Term, share: f64) -> WhyIdle {
    let found = idle(term, &plan(term, share));
    let [Idle { site, why, stretch: None }] = found.as_slice() else { panic!("{found:?}") };
    assert_eq!(site.as_str(), "annex");
    *why
}

#[test]
fn greens_that_are_not_needed_are_told_from_days_that_are_short_all_the_same() {
    assert_eq!(why(&term(annex()), 1.0), WhyIdle::NotNeeded);
    assert_eq!(why(&term(annex()), 0.5), WhyIdle::Search);
    // Nothing the annex could grow comes in time for the first weeks.
    let term = term(annex());
    let mut early = plan(&term, 1.0);
    early.servings[0].planned = 0.0;
    assert_eq!(idle(&term, &early)[0].why, WhyIdle::NotNeeded);
}

#[test]
fn what_makes_a_site_useless_is_found() {
    let mut bound = term(annex());
    bound.crops[0].only_in = vec![Location { site: SiteId::new("hall"), tank: None }];
    assert_eq!(why(&bound, 0.5), WhyIdle::OnlyIn);
    let lonely = annex().meets(&[Tue]).nursery(20, 4);
    assert_eq!(why(&term(lonely), 0.5), WhyIdle::Unattended);
    let strong = site("annex").tank(Tank { ec: 4.0, ..tank("b", 4, 5) });
    assert_eq!(why(&term(strong), 0.5), WhyIdle::Room);
    let mut large = term(annex());
    large.rules.smallest_batch = 21;
    assert_eq!(why(&large, 0.5), WhyIdle::SmallestBatch, "21 plants in 20 holes");
    let mut narrow = term(annex().nursery(5, 7));
    narrow.rules.smallest_batch = 8;
    assert_eq!(why(&narrow, 0.5), WhyIdle::SmallestBatch, "plugs for 8 plants in 5 cells");
    // A head takes five weeks.
    let mut brief = term(annex());
    brief.sites[1].class_days.truncate(6);
    assert_eq!(why(&brief, 0.5), WhyIdle::Time);
}

#[test]
fn it_is_told_in_the_summary_on_the_page_and_to_scripts() {
    let term = term(annex());
    let plan = plan(&term, 1.0);
    let idle = idle(&term, &plan);
    let told = "Nothing to do at annex in the whole term: its greens are not needed";
    let texts =
        [summary::lines(&term, &plan, &idle, None, &LOOK), page::html(&term, &plan, &idle, None, &LOOK)];
    assert!(texts.iter().all(|text| text.contains(told)), "{}", texts[0]);
    let json: serde_json::Value = serde_json::from_str(&json::plan(&term, &plan, &idle, None)).unwrap();
    assert_eq!(json["idle_sites"][0]["site"], "annex");
    assert_eq!(json["idle_sites"][0]["reason"], "not-needed");
}
