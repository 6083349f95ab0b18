//! Counting back from a market day, as a farm did.

use super::planned;
use crate::support::build::{TermBuilder, site, tank, wanted};
use crate::support::crops::{curve, days, figure, head};
use crate::support::day;
use chrono::NaiveDate;
use sowtide::check::check;
use sowtide::domain::calendar::{Week, days_between, plus_days};
use sowtide::domain::crop::Crop;
use sowtide::domain::term::ServingTarget;

/// Community-supported farm blog, weirriverfarmcsa.blogspot.com, February 2014: for the market on 10 June 2014 about 250 heads, 45 days from
/// transplanting, at least two and a half weeks in the greenhouse, a quarter lost; sown in the week of
/// 7 April, transplanted on 27 April.
#[test]
fn a_market_day_gives_the_days_of_transplanting_and_sowing() {
    let market = day("2014-06-10");
    let crop = Crop {
        germination: figure(0.75),
        nursery: figure(days(18, 18, 18)),
        whole_head: figure(days(63, 63, 63)).into(),
        growth: figure(curve(&[(63, 100.0)])),
        tank_survival: figure(1.0),
        ready_to_eat: figure(1.0),
        shelf_life: figure(0),
        ..head("butterhead")
    };
    let mut term = TermBuilder::default()
        .site(site("farm").tank(tank("bed", 10, 25)).nursery(400, 4))
        .crop(wanted(crop))
        .build();
    (term.start, term.end) = (day("2014-03-31"), day("2014-06-15"));
    let days: Vec<NaiveDate> = term.start.iter_days().take_while(|day| *day <= term.end).collect();
    term.sites[0].class_days = days;
    term.servings = vec![ServingTarget { date: market, grams: 25_000.0, sure: 0.0 }];
    let plan = planned(&term, 200);
    assert_eq!(check(&term, &plan), []);
    let [batch] = plan.batches.as_slice() else { panic!("{} batches", plan.batches.len()) };
    assert_eq!((batch.plants(), batch.plugs), (250, 334));
    assert_eq!(Week::of(batch.sown), Week::of(day("2014-04-07")));
    assert_eq!(Week::of(batch.sown).to_string(), "2014-W15");
    for part in &batch.parts {
        // The farm counts the day of transplanting as the first of its 45.
        assert!((0..=1).contains(&days_between(part.transplant, day("2014-04-27"))), "{}", part.transplant);
        assert_eq!(plus_days(part.transplant, 45), market);
        assert_eq!(part.leaves().map(|day| Week::of(day).to_string()), Some("2014-W24".to_owned()));
    }
}
