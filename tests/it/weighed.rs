//! What weighed harvests say of what is still to come, and what planning again makes of it.

use crate::replan::{again, entry, planned};
use crate::support::build::{TermBuilder, site, tank, wanted};
use crate::support::crops::{cutter, head};
use chrono::NaiveDate;
use chrono::Weekday::{Mon, Thu};
use sowtide::check::{Rule, check};
use sowtide::domain::calendar::plus_days;
use sowtide::domain::growth::Way;
use sowtide::domain::ids::BatchId;
use sowtide::domain::journal::{Amount, Entry, Harvested, InTank, Journal, Place, What};
use sowtide::domain::luck::Trouble;
use sowtide::domain::plan::{Batch, Harvest, Part, Plan};
use sowtide::domain::term::Term;
use sowtide::domain::weighed::Outlook;
use sowtide::insight::odds::{Luck, SoFar, odds};
use sowtide::replan::is_overtaken;
use sowtide::replan::weighed::{as_expected, as_it_stands, counted, outlook, prospects};
use std::collections::BTreeMap;

/// Two sites with a crop that is pulled and one that is cut again.
pub(crate) fn term() -> Term {
    let here = |id| site(id).meets(&[Mon, Thu]).tank(tank("a", 4, 6)).tank(tank("b", 4, 6));
    TermBuilder::default()
        .weeks(16)
        .site(here("hall"))
        .site(here("loft"))
        .crop(wanted(head("round")))
        .crop(wanted(cutter("leafy")))
        .serves(Thu, 500.0)
        .build()
}

/// Every planned harvest, the first ones first.
pub(crate) fn harvests(plan: &Plan) -> Vec<(&Batch, &Part, &Harvest)> {
    let parts = plan.batches.iter().flat_map(|batch| batch.parts.iter().map(move |part| (batch, part)));
    let mut all: Vec<_> = parts
        .flat_map(|(batch, part)| part.harvests.iter().map(move |harvest| (batch, part, harvest)))
        .collect();
    all.sort_by_key(|(batch, _, harvest)| (harvest.date, batch.id.clone()));
    all
}

/// What plants of a harvest weigh that are all there: so many times as much as planned for those that live.
pub(crate) fn recorded(
    number: usize,
    (batch, part, harvest): (&Batch, &Part, &Harvest),
    times: f64,
) -> Entry {
    let grams = harvest.grams / harvest.arithmetic.survival * times;
    let harvested = Harvested {
        batch: batch.id.clone(),
        places: vec![InTank { tank: part.tank.clone(), plants: part.plants, holes: part.holes.clone() }],
        way: harvest.way,
        grams,
        measured_as: None,
        samples: Vec::new(),
    };
    entry(number, harvest.date, Some(batch.site.clone()), What::Harvested(harvested))
}

/// The harvests until a day, at so many times what was planned, and the day after.
fn weighed(plan: &Plan, count: usize, times: f64) -> (Journal, NaiveDate) {
    let all = harvests(plan);
    let until = all[count - 1].2.date;
    let past = all.into_iter().filter(|(_, _, harvest)| harvest.date <= until);
    let entries = past.enumerate().map(|(number, harvest)| recorded(number, harvest, times));
    (Journal::new(entries.collect()), plus_days(until, 1))
}

/// How many harvests there are until nothing more of some batch is to come.
fn until_one_is_over(plan: &Plan) -> usize {
    let last = |batch: &Batch| batch.parts.iter().flat_map(|part| &part.harvests).map(|own| own.date).max();
    let first = plan.batches.iter().filter_map(last).min().expect("a plan with harvests");
    harvests(plan).iter().filter(|(.., harvest)| harvest.date <= first).count()
}

fn factors(outlook: &Outlook) -> Vec<(String, String, u32, f64)> {
    let told = outlook.crops.iter();
    told.map(|own| (own.site.to_string(), own.crop.to_string(), own.plants, own.factor)).collect()
}

#[test]
fn what_weighs_as_planned_changes_nothing() {
    let term = term();
    let plan = planned(&term).unwrap();
    let (journal, today) = weighed(&plan, 4, 1.0);
    let outlook = prospects(&term, &plan, &journal, today);
    assert!(outlook.weighed().next().is_some());
    assert!(factors(&outlook).iter().all(|own| (own.3 - 1.0).abs() < 1e-9), "{outlook:?}");
    // What is served weeks later is all still to come.
    let later = plan.servings.iter().filter(|serving| serving.date > plus_days(today, 14));
    for serving in later {
        let stands = outlook.servings[&serving.date];
        assert!((stands - serving.planned).abs() < 1e-6, "{stands} g, {serving:?}");
    }
    assert!(!is_overtaken(&term, &plan, &journal, today));
    assert!(again(&term, &plan, &journal, today).is_none());
}

#[test]
fn light_harvests_are_believed_the_more_of_them_there_are_and_the_nearer_they_are() {
    let term = term();
    let plan = planned(&term).unwrap();
    let all = harvests(&plan);
    let (batch, ..) = all[0];
    let first = |plants: u32| {
        let part = Part { plants, ..all[0].1.clone() };
        let part = Part { holes: part.holes[..plants as usize].to_vec(), ..part };
        let harvest = Harvest {
            grams: all[0].2.grams * f64::from(plants) / f64::from(all[0].1.plants),
            ..all[0].2.clone()
        };
        let journal = Journal::new(vec![recorded(0, (batch, &part, &harvest), 0.6)]);
        outlook(&term, &plan, &journal, plus_days(harvest.date, 1))
    };
    let factor = |outlook: &Outlook, here: bool, same: bool| {
        let wanted = |own: &&sowtide::domain::weighed::Weighed| {
            (own.site == batch.site, own.crop == batch.crop) == (here, same)
        };
        outlook.crops.iter().find(wanted).unwrap().factor
    };
    let (one, many) = (first(1), first(all[0].1.plants));
    let own = many.weighed().next().unwrap();
    assert!((own.share() - 0.6).abs() < 1e-9, "{own:?}");
    assert!(factor(&one, true, true) > factor(&many, true, true), "more plants say more");
    for outlook in [&one, &many] {
        let (here, elsewhere) = (factor(outlook, true, true), factor(outlook, false, true));
        let (other, far) = (factor(outlook, true, false), factor(outlook, false, false));
        assert!(0.6 < here && here < elsewhere && elsewhere < 1.0, "{outlook:?}");
        assert!(here < other && other < 1.0, "{outlook:?}");
        assert!((far - 1.0).abs() < 1e-9, "another crop elsewhere has nothing to do with it: {outlook:?}");
        assert!(outlook.factor(batch) < here, "the batch itself has a share in it");
        assert!(outlook.factor(batch) > 0.6);
    }
}

#[test]
fn planning_again_counts_with_what_was_weighed_and_mends_what_can_be() {
    let term = term();
    let plan = planned(&term).unwrap();
    let (journal, today) = weighed(&plan, until_one_is_over(&plan), 0.6);
    let now = prospects(&term, &plan, &journal, today);
    assert!(is_overtaken(&term, &plan, &journal, today));
    let expected: f64 = now.servings.range(today..).map(|(_, grams)| grams).sum();
    let planned: f64 = plan.servings.iter().filter(|own| own.date >= today).map(|own| own.planned).sum();
    assert!(expected < 0.9 * planned, "{expected} of {planned} g");
    let new = again(&term, &plan, &journal, today).expect("news").plan;
    assert_eq!(check(&term, &new), []);
    let mended: f64 = new.servings.iter().filter(|own| own.date >= today).map(|own| own.planned).sum();
    assert!(mended > expected + 100.0, "{mended} g again, {expected} g before");
    for (batch, _, harvest) in harvests(&new).into_iter().filter(|(.., harvest)| harvest.date >= today) {
        let factor = now.factor(batch);
        assert!((harvest.arithmetic.yield_factor - factor).abs() < 2e-3, "{} of {factor}", batch.id);
        assert!((new.counts_with(batch) - factor).abs() < 2e-3);
    }
    // Of a batch that is over the plan tells what was weighed.
    let is_over = |batch: &&Batch| {
        let mut harvests = batch.parts.iter().flat_map(|part| &part.harvests);
        batch.grams() > 0.0 && harvests.all(|harvest| harvest.date < today)
    };
    let over = new.batches.iter().find(is_over).expect("a batch that is over");
    let weighed: f64 = journal
        .entries()
        .iter()
        .filter_map(|entry| match &entry.what {
            What::Harvested(harvested) if harvested.batch == over.id => Some(harvested.grams),
            _ => None,
        })
        .sum();
    assert!((over.grams() - weighed).abs() < 2e-3 * weighed, "{} g, {weighed} g weighed", over.grams());
    // It is no news any more, and the masses that were weighed say the same of the new plan.
    assert!(again(&term, &new, &journal, today).is_none());
    let later = outlook(&term, &new, &journal, today);
    for (then, now) in factors(&now).iter().zip(factors(&later)) {
        assert!((then.3 - now.3).abs() < 1e-9, "{then:?} and {now:?}");
    }
}

#[test]
fn serving_days_stand_as_weighed_and_without_what_is_lost() {
    let term = term();
    let plan = planned(&term).unwrap();
    let (mut journal, today) = weighed(&plan, 4, 0.6);
    let served: f64 = plan.servings.iter().filter(|own| own.date < today).map(|own| own.planned).sum();
    let stands = |journal: &Journal, days: &dyn Fn(NaiveDate) -> bool| -> f64 {
        let outlook = prospects(&term, &plan, journal, today);
        outlook.servings.iter().filter(|(day, _)| days(**day)).map(|(_, grams)| grams).sum()
    };
    let survival = harvests(&plan)[0].2.arithmetic.survival;
    let given = stands(&journal, &|day| day < today);
    assert!((given - served * 0.6 / survival).abs() < 0.01 * served, "{given} of {served} g");
    // A tank with plants that are still to be harvested is lost.
    let stands_now =
        |(_, part, harvest): &(&Batch, &Part, &Harvest)| part.transplant < today && harvest.date > today;
    let (batch, part, _) = harvests(&plan).into_iter().find(stands_now).expect("something stands");
    let before = stands(&journal, &|day| day >= today);
    let (place, plants) = (Place::Tank(part.tank.clone()), Amount::Plants(part.plants));
    let (holes, cause) = (part.holes.clone(), "pump".to_owned());
    let lost = What::Lost { batch: batch.id.clone(), place, plants, holes, cause };
    let number = journal.entries().len();
    journal.push(entry(number, today.pred_opt().unwrap(), Some(batch.site.clone()), lost));
    let after = stands(&journal, &|day| day >= today);
    assert!(after < before - 1.0, "{after} g after a loss, {before} g before");
}

#[test]
fn odds_are_played_with_what_is_to_be_expected() {
    let term = term();
    let plan = planned(&term).unwrap();
    let mean = |times: f64| -> f64 {
        let (journal, today) = weighed(&plan, 4, times);
        let standing = as_it_stands(&term, &plan, &journal, today);
        let mut term = term.clone();
        term.count_with(&standing.mass_factors);
        let luck = Luck { runs: 500, seed: 1, threads: 2, trouble: Trouble { suffers: 0.0, lost: 0.0 } };
        let odds = odds(&term, &standing, Some(&SoFar { today, trays: BTreeMap::new() }), luck);
        odds.days.iter().map(|day| day.mean).sum()
    };
    let (light, usual) = (mean(0.6), mean(1.0));
    assert!(light < 0.95 * usual, "{light} g after light harvests, {usual} g after usual ones");
}

#[test]
fn slips_of_the_pen_are_told_and_not_believed() {
    let term = term();
    let plan = planned(&term).unwrap();
    for times in [0.07, 6.0] {
        let (journal, today) = weighed(&plan, 1, times);
        let outlook = outlook(&term, &plan, &journal, today);
        assert!(outlook.crops.is_empty() && !outlook.slips.is_empty(), "{outlook:?}");
        assert!((outlook.slips[0].share / times - 1.0).abs() < 0.01, "{outlook:?}");
        assert!(!is_overtaken(&term, &plan, &journal, today));
    }
}

/// Both are given out as plans give it, from the same plants.
#[test]
fn serving_days_stand_as_the_plan_left_alone_will_have_them() {
    let term = term();
    let plan = planned(&term).unwrap();
    let (journal, today) = weighed(&plan, 4, 0.7);
    let stands = prospects(&term, &plan, &journal, today).servings;
    let left = again(&term, &plan, &journal, today).expect("news").left;
    for serving in left.servings.iter().filter(|serving| serving.date >= today) {
        let stands = stands[&serving.date];
        assert!((stands - serving.planned).abs() < 0.02 * serving.target, "{stands} g, {serving:?}");
    }
}

#[test]
fn what_was_thrown_away_says_nothing() {
    let term = term();
    let plan = planned(&term).unwrap();
    let (journal, today) = weighed(&plan, 2, 0.0);
    assert_eq!(outlook(&term, &plan, &journal, today).crops, []);
}

#[test]
fn a_later_cut_is_held_against_what_grew_since_the_one_before() {
    let term = term();
    let plan = planned(&term).unwrap();
    let (batch, part, _) =
        harvests(&plan).into_iter().find(|(_, part, _)| part.harvests.len() > 1).expect("a plan with cuts");
    let cuts = &part.harvests;
    let entries: Vec<Entry> =
        cuts.iter().enumerate().map(|(number, cut)| recorded(number, (batch, part, cut), 0.8)).collect();
    let today = plus_days(cuts[cuts.len() - 1].date, 1);
    let outlook = outlook(&term, &plan, &Journal::new(entries), today);
    let own = outlook.of(batch).unwrap();
    assert_eq!(own.plants, part.plants * cuts.len() as u32);
    assert!((own.share() - 0.8).abs() < 1e-6, "{own:?}");
    assert!(cuts.iter().any(|cut| cut.way == Way::Cut));
}

#[test]
fn forged_factors_are_refused() {
    let term = term();
    let plan = planned(&term).unwrap();
    let (journal, today) = weighed(&plan, 4, 0.6);
    let new = again(&term, &plan, &journal, today).expect("news").plan;
    let broken = |change: &dyn Fn(&mut Plan)| {
        let mut forged = new.clone();
        change(&mut forged);
        check(&term, &forged).into_iter().map(|found| found.rule).collect::<Vec<_>>()
    };
    assert!(broken(&|plan| plan.mass_factors[0].factor += 0.01).contains(&Rule::Estimate));
    assert!(broken(&|plan| plan.mass_factors[0].factor = 9.0).contains(&Rule::MassFactors));
    assert!(
        broken(&|plan| plan.mass_factors.push(plan.mass_factors[0].clone())).contains(&Rule::MassFactors)
    );
    let stranger = |plan: &mut Plan| plan.mass_factors[0].batch = Some(BatchId::new("b999"));
    assert!(broken(&stranger).contains(&Rule::MassFactors));
    assert!(broken(&|plan| plan.replanned = None).contains(&Rule::MassFactors));
}

#[test]
fn a_plan_is_shown_with_what_was_weighed_and_as_planned_without() {
    let term = term();
    let plan = planned(&term).unwrap();
    let nothing = Journal::default();
    for today in [plan.batches[0].sown, term.end] {
        assert_eq!(as_expected(&term, &plan, &nothing, today), plan, "nothing was recorded until {today}");
    }
    let (journal, today) = weighed(&plan, 4, 0.6);
    let shown = as_expected(&term, &plan, &journal, today);
    let weighed = |entry: &Entry| match &entry.what {
        What::Harvested(harvested) => harvested.grams,
        _ => 0.0,
    };
    let past = harvests(&shown).iter().filter(|own| own.2.date < today).map(|own| own.2.grams).sum::<f64>();
    assert!((past - journal.in_force().iter().map(|own| weighed(own)).sum::<f64>()).abs() < 1e-6, "{past} g");
    let outlook = prospects(&term, &plan, &journal, today);
    for (serving, planned) in shown.servings.iter().zip(&plan.servings) {
        let told = outlook.servings[&serving.date];
        assert!((serving.planned - told).abs() < 1e-9, "status tells {told} g, {serving:?}");
        let harvests = harvests(&shown);
        let served = harvests.iter().flat_map(|own| &own.2.serves).filter(|own| own.date == serving.date);
        assert!((served.map(|own| own.grams).sum::<f64>() - serving.planned).abs() < 0.5, "{serving:?}");
        assert!(
            serving.planned < planned.planned + 1e-6 || planned.short() > 0.0,
            "{serving:?}, {planned:?}"
        );
    }
    assert!(shown.facts.short_grams > plan.facts.short_grams + 100.0);
}

/// A harvest of which the journal shows that it was not done is done on the next class day, as somebody will.
#[test]
fn what_is_overdue_is_still_to_come() {
    let term = term();
    let plan = planned(&term).unwrap();
    let all = harvests(&plan);
    let at_its_site = |own: &(&Batch, &Part, &Harvest), missed: &(&Batch, &Part, &Harvest)| {
        own.0.site == missed.0.site && own.0.id != missed.0.id
    };
    let first = |id: &BatchId| all.iter().find(|own| own.0.id == *id).unwrap().2.date;
    let after_another = |missed: &&(&Batch, &Part, &Harvest)| {
        all.iter().any(|own| at_its_site(own, missed) && own.2.date < first(&missed.0.id))
    };
    let missed = all.iter().find(after_another).unwrap();
    let later = all.iter().find(|own| at_its_site(own, missed) && own.2.date > missed.2.date).unwrap();
    let done = all.iter().filter(|own| own.2.date <= later.2.date && own.0.id != missed.0.id);
    let entries: Vec<Entry> = done.enumerate().map(|(number, own)| recorded(number, *own, 1.0)).collect();
    let today = plus_days(later.2.date, 1);
    let shown = as_expected(&term, &plan, &Journal::new(entries), today);
    let batch = shown.batches.iter().find(|batch| batch.id == missed.0.id).unwrap();
    let next = batch.parts.iter().flat_map(|part| &part.harvests).map(|harvest| harvest.date).min().unwrap();
    let class_days = &term.site(&batch.site).unwrap().class_days;
    assert_eq!(Some(&next), class_days.iter().find(|day| **day >= today));
}

/// Half of a raft is cut today, the rest still is to be: it counts with what the first half tells, not with nothing.
#[test]
fn plants_that_are_not_harvested_yet_are_still_to_come() {
    let term = term();
    let plan = planned(&term).unwrap();
    let all = harvests(&plan);
    let (batch, part, harvest) = **all.iter().find(|own| own.1.plants > 3).as_ref().unwrap();
    let half = part.plants / 2;
    let cut = Part { plants: half, holes: part.holes[..half as usize].to_vec(), ..part.clone() };
    let weighed = harvest.grams * f64::from(half) / f64::from(part.plants);
    let half = (batch, &cut, &Harvest { grams: weighed, ..harvest.clone() });
    let journal = Journal::new(vec![recorded(0, half, harvest.arithmetic.survival)]);
    let outlook = outlook(&term, &plan, &journal, harvest.date);
    let now = counted(plan.clone(), &outlook, &journal, harvest.date);
    let at = plan.batches.iter().position(|other| other.id == batch.id).unwrap();
    let grams = |plan: &Plan| {
        let parts = plan.batches[at].parts.iter().filter(|other| other.tank == part.tank);
        let that_day = parts.flat_map(|part| &part.harvests).filter(|own| own.date == harvest.date);
        that_day.map(|harvest| harvest.grams).sum::<f64>()
    };
    assert!(grams(&now) > 0.8 * grams(&plan), "{} g of {} g", grams(&now), grams(&plan));
}

/// Every batch that grows on the day is a week behind.
#[test]
fn what_is_behind_by_eye_is_counted_with_less_until_it_is_weighed() {
    let term = term();
    let plan = planned(&term).unwrap();
    let first = harvests(&plan)[0].2.date;
    let today = first - chrono::Days::new(7);
    let grows = |batch: &&Batch| batch.sown < today && batch.parts.iter().any(|part| part.transplant < today);
    let behind: Vec<&Batch> = plan.batches.iter().filter(grows).collect();
    assert!(!behind.is_empty());
    let tell = |(number, batch): (usize, &&Batch)| {
        let what = What::Behind { batch: batch.id.clone(), days: 7 };
        entry(number, today, Some(batch.site.clone()), what)
    };
    let mut journal = Journal::new(behind.iter().enumerate().map(tell).collect());
    let now = outlook(&term, &plan, &journal, today);
    assert_eq!((now.behind.len(), now.weighed().count()), (behind.len(), 0));
    for batch in &behind {
        // Heads and cuts of these crops weigh 40 to 60 % of what they should a week earlier.
        assert!((0.3..0.85).contains(&now.factor(batch)), "{} of {}", now.factor(batch), batch.crop);
    }
    assert!(is_overtaken(&term, &plan, &journal, today));
    let new = again(&term, &plan, &journal, today).expect("news").plan;
    assert_eq!(check(&term, &new), []);
    // Scales know better.
    let of_behind = |(batch, ..): &(&Batch, &Part, &Harvest)| behind.iter().any(|own| own.id == batch.id);
    let harvest = harvests(&plan).into_iter().find(of_behind).expect("a harvest of theirs");
    journal.push(recorded(behind.len(), harvest, 1.0));
    let later = outlook(&term, &plan, &journal, plus_days(harvest.2.date, 1));
    assert_eq!(later.behind.len(), behind.len() - 1);
    assert!(later.factor(harvest.0) > now.factor(harvest.0));
}
