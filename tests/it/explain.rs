//! Why serving days are as they are.

use crate::sample;
use crate::steady;
use chrono::NaiveDate;
use sowtide::domain::explain::DayExplained;
use sowtide::domain::luck::Trouble;
use sowtide::domain::plan::{Plan, Shortfall};
use sowtide::domain::term::Term;
use sowtide::domain::units::Units;
use sowtide::insight::explain::explain;
use sowtide::insight::odds::{Luck, odds};
use sowtide::insight::reasons;
use sowtide::report::{self, Look, json};
use sowtide::schedule::Watch;

fn explained(term: &Term, plan: &Plan, day: Option<NaiveDate>) -> Vec<DayExplained> {
    let luck = Luck { runs: 200, seed: 1, threads: 1, trouble: Trouble::default() };
    let watch = Watch { stop: &|| false, report: &|_| {}, threads: 2 };
    explain(term, plan, &odds(term, plan, None, luck), day, &watch)
}

#[test]
fn a_day_is_made_of_what_the_plan_serves_on_it() {
    let (term, plan) = (sample::term(), sample::plan());
    for serving in &plan.servings {
        let [day] = &explained(&term, &plan, Some(serving.date))[..] else { panic!("{}", serving.date) };
        let grams: f64 = day.portions.iter().map(|portion| portion.grams).sum();
        assert!((grams - serving.planned).abs() < 1e-6, "{}", serving.date);
        assert!(day.portions.is_sorted_by(|one, other| one.grams >= other.grams));
        let heaviest = day.heaviest_tank().map_or(0.0, |(_, _, grams)| grams);
        let heavier = |portion: &&sowtide::domain::explain::Portion| portion.grams > heaviest + 1e-9;
        assert!(day.portions.iter().find(heavier).is_none());
    }
}

/// The published lettuce schedule of [`steady`] in a pond for one batch of 40 heads only: by Little's law four are needed, so
/// that nothing but more holes would mend the days that the first sowing can reach.
#[test]
fn what_would_mend_short_days_is_told() {
    let term = steady::term(1, 40);
    let mut plan = steady::plan(&term);
    reasons::explain(&term, &mut plan, &Watch { stop: &|| false, report: &|_| {}, threads: 2 });
    let days = explained(&term, &plan, None);
    let reachable: Vec<&DayExplained> =
        days.iter().filter(|day| day.reason == Some(Shortfall::Holes)).collect();
    assert!(!reachable.is_empty(), "{days:#?}");
    let most: Vec<_> = reachable.iter().filter_map(|day| day.mends.as_ref()?.first()).collect();
    assert!(most.iter().any(|(limit, _)| *limit == Shortfall::Holes), "{days:#?}");
    for day in &days {
        let mends = day.mends.as_ref().unwrap();
        assert!(mends.iter().all(|(_, grams)| *grams <= day.target - day.planned + 1e-6), "{day:#?}");
    }
}

#[test]
fn a_day_is_told_in_words_and_as_json() {
    let (term, plan) = (sample::term(), sample::plan());
    let days = explained(&term, &plan, Some(plan.servings[0].date));
    let look = Look { units: Units::Metric, width: 80, colour: false };
    insta::assert_snapshot!(report::explain::text(&days, &term, &plan, &look));
    insta::assert_snapshot!(json::explain(&days));
}
