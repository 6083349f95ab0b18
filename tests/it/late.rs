//! Work that is late, put off, or left undone, and plants that are measured and stay.

use crate::replan::{again, entry};
use crate::sample::{date, plan as sample_plan, term as sample_term};
use chrono::NaiveDate;
use sowtide::check::{Rule, check};
use sowtide::domain::calendar::days_between;
use sowtide::domain::growth::{Growing, young};
use sowtide::domain::ids::{BatchId, CropId, SiteId, TankId};
use sowtide::domain::journal::{
    Entry, EntryId, Harvested, InTank, Journal, Measured, Measuring, Sample, What,
};
use sowtide::domain::plan::{Batch, Plan};
use sowtide::domain::state::Progress;
use sowtide::domain::task_numbers::TaskKind;
use sowtide::domain::term::Term;
use sowtide::replan::laid_over;
use sowtide::replan::state::state;
use sowtide::replan::weighed::{as_expected, outlook, surprise};
use sowtide::schedule::Resumed;

fn on(number: usize, site: &str, day: &str, what: What) -> Entry {
    entry(number, date(day), Some(SiteId::new(site)), what)
}

fn batch<'p>(plan: &'p Plan, id: &str) -> &'p Batch {
    plan.batches.iter().find(|batch| batch.id.as_str() == id).unwrap()
}

/// Plants of b-0002 that weigh so many grams on a day on which they stay.
fn weighed(day: &str, grams: &[f64]) -> Entry {
    let mass = |found: &f64| Some(Measured { estimate: None, found: *found });
    let samples = grams.iter().map(|found| Sample { mass_g: mass(found), ..Sample::default() }).collect();
    let (batch, tank) = (BatchId::new("b-0002"), TankId::new("blue"));
    on(0, "hall", day, What::Measured(Measuring { batch, tank, holes: Vec::new(), samples }))
}

/// What a plant of b-0002 weighs with its roots, a seventh of it, on a day before its first harvest.
fn figure(term: &Term, day: &str) -> f64 {
    let wanted = term.crop(&CropId::new("oakleaf")).unwrap();
    let growing = Growing::new(&wanted.crop, term.site(&SiteId::new("hall")).unwrap());
    let days = |from, to| days_between(date(from), date(to)) as u32;
    let stand = growing.planted(days("2026-09-07", "2026-09-21"));
    growing.grams(growing.later(stand, days("2026-09-21", day))) * growing.yield_factor * 7.0 / 6.0
}

#[test]
fn what_plants_weigh_that_stay_tells_of_their_batch() {
    let (term, plan) = (sample_term(), sample_plan());
    let day = "2026-10-01";
    let should = figure(&term, day);
    let factor = |grams: &[f64]| {
        let journal = Journal::new(vec![weighed(day, grams)]);
        let now = outlook(&term, &plan, &journal, date("2026-10-02"));
        (now.factor(batch(&plan, "b-0002")), now)
    };
    let (as_stated, now) = factor(&[should; 4]);
    assert!((as_stated - 1.0).abs() < 1e-9 && (now.stays[0].share - 1.0).abs() < 1e-9, "{now:?}");
    let (light, now) = factor(&[should * 0.5; 4]);
    assert!(light > 0.5 && light < 0.9, "some of it is caught up: {light}");
    assert_eq!((now.stays[0].plants, now.weighed().count()), (4, 0));
    let (one, _) = factor(&[should * 0.5]);
    assert!(light < one && one < 1.0, "more plants say more: {light}, {one}");
    // One slip among others says nothing, and slips alone are only told.
    let (slip, now) = factor(&[should, should, should / 20.0]);
    assert!((slip - 1.0).abs() < 1e-9 && now.stays[0].plants == 2, "{now:?}");
    let (slips, now) = factor(&[should / 20.0]);
    assert!((slips - 1.0).abs() < 1e-9 && now.stays[0].share < 0.1, "{now:?}");
    // Heights say nothing, as no crop has a law of heights.
    let height =
        Sample { height_cm: Some(Measured { estimate: Some(9.0), found: 4.0 }), ..Sample::default() };
    let mut tall = weighed(day, &[]);
    if let What::Measured(measuring) = &mut tall.what {
        measuring.samples = vec![height];
    }
    let now = outlook(&term, &plan, &Journal::new(vec![tall]), date("2026-10-02"));
    assert!(now.stays.is_empty() && now.crops.is_empty(), "{now:?}");
}

/// The last time says all: plants measured week by week are the same.
#[test]
fn only_the_last_time_that_plants_were_measured_counts() {
    let (term, plan) = (sample_term(), sample_plan());
    let later = Entry { id: EntryId(2), ..weighed("2026-10-05", &[figure(&term, "2026-10-05"); 3]) };
    let journal = Journal::new(vec![weighed("2026-09-28", &[0.4 * figure(&term, "2026-09-28"); 3]), later]);
    let now = outlook(&term, &plan, &journal, date("2026-10-06"));
    assert!((now.factor(batch(&plan, "b-0002")) - 1.0).abs() < 1e-9, "{now:?}");
}

/// Three heads were to be pulled on 8 October, but who measures nine plants on the 15th left them.
#[test]
fn plants_that_are_measured_were_not_pulled_before() {
    let (term, plan) = (sample_term(), sample_plan());
    let stand = |entries| {
        let state = state(&term, &plan, &Journal::new(entries), date("2026-10-16"));
        state.batch(&BatchId::new("b-0002")).unwrap().in_tanks()
    };
    assert_eq!(stand(Vec::new()), 6);
    assert_eq!(stand(vec![weighed("2026-10-15", &[50.0; 6])]), 6);
    assert_eq!(stand(vec![weighed("2026-10-15", &[50.0; 9])]), 9);
}

fn sown(day: &str) -> Journal {
    let what = What::Sown { batch: BatchId::new("b-0003"), plugs: 6 };
    Journal::new(vec![on(0, "room-4", day, what)])
}

/// Mustard planned for 39 days from seed comes four days late.
#[test]
fn a_late_batch_keeps_its_day_and_weighs_less() {
    let (term, plan) = (sample_term(), sample_plan());
    let (journal, today) = (sown("2026-09-29"), date("2026-09-30"));
    let now = as_expected(&term, &plan, &journal, today);
    let [planned, late] = [&plan, &now].map(|plan| &batch(plan, "b-0003").parts[0].harvests[0]);
    assert_eq!((late.date, late.arithmetic.days), (planned.date, 35));
    let growing = Growing::new(
        &term.crop(&CropId::new("leaf-mustard")).unwrap().crop,
        term.site(&SiteId::new("room-4")).unwrap(),
    );
    let standing = growing.grams(growing.later(growing.planted(10), 25));
    assert!((late.grams / planned.grams - standing / planned.arithmetic.standing_grams).abs() < 1e-9);
    assert!(late.grams < planned.grams);
    let Resumed { plan: new, .. } = again(&term, &plan, &journal, today).expect("a batch that is late");
    assert_eq!(check(&term, &new), []);
    let dates = |plan: &Plan| -> Vec<(NaiveDate, NaiveDate)> {
        let parts = batch(plan, "b-0003").parts.iter();
        parts.map(|part| (part.transplant, part.harvests[0].date)).collect()
    };
    // Moved on its day, and harvested then or in time for the serving day that it was for.
    let ((moved, harvested), (moved_before, harvested_before)) = (dates(&new)[0], dates(&plan)[0]);
    assert_eq!(moved, moved_before);
    assert!((harvested_before..=date("2026-11-06")).contains(&harvested), "{new:#?}");
}

/// The checker takes what grows already a little younger, what is still to be sown does it not.
#[test]
fn only_what_grows_already_is_harvested_young() {
    let (mut term, mut plan) = (sample_term(), sample_plan());
    let at = term.crops.iter().position(|wanted| wanted.crop.id.as_str() == "leaf-mustard").unwrap();
    let crop = &mut term.crops[at].crop;
    // It is pulled at 39 days.
    for span in crop.whole_head.iter_mut().chain(&mut crop.first_cut) {
        (span.value.min, span.value.usual) = (45, 48);
        span.value.max = span.value.max.max(50);
    }
    let too_young = |plan: &Plan| {
        check(&term, plan).iter().any(|found| {
            found.rule == Rule::FirstHarvest && found.batch.as_ref().is_some_and(|id| id.as_str() == "b-0003")
        })
    };
    assert_eq!((young(45), young(46)), (39, 40));
    assert!(too_young(&plan));
    plan.replanned = Some(date("2026-09-25"));
    assert!(too_young(&plan), "it is not sown yet");
    plan.replanned = Some(date("2026-09-26"));
    assert!(!too_young(&plan));
}

fn put_off(id: &str, site: &str, [day, until]: [&str; 2]) -> Journal {
    let what = What::PutOff { batch: BatchId::new(id), until: date(until) };
    Journal::new(vec![on(0, site, day, what)])
}

#[test]
fn what_is_put_off_is_due_on_its_new_day_and_not_planned_before() {
    let (term, plan) = (sample_term(), sample_plan());
    let journal = put_off("b-0002", "hall", ["2026-10-22", "2026-10-26"]);
    let term = laid_over(&term, &journal);
    let today = date("2026-10-22");
    let steps = state(&term, &plan, &journal, today).steps;
    let open: Vec<(String, Progress)> = steps
        .into_iter()
        .filter(|step| step.batch.as_str() == "b-0002" && step.is_open())
        .map(|step| (step.day.to_string(), step.progress))
        .collect();
    assert_eq!(open, [("2026-10-26".to_owned(), Progress::Coming)]);
    assert!(check(&term, &plan).iter().any(|found| found.rule == Rule::PutOff));
    // The greens are not there on the serving day before; grown full, they are no more.
    let now = as_expected(&term, &plan, &journal, today);
    let [planned, late] = [&plan, &now].map(|plan| &batch(plan, "b-0002").parts[0].harvests[1]);
    assert!(
        late.grams >= planned.grams
            && late.arithmetic.days == 18
            && late.serves.iter().all(|own| own.date > date("2026-10-23")),
        "{planned:?} {late:?}"
    );
    let Resumed { plan: new, .. } = again(&term, &plan, &journal, today).expect("work that was put off");
    assert_eq!(check(&term, &new), []);
    let harvests = batch(&new, "b-0002").parts.iter().flat_map(|part| &part.harvests);
    let held = date("2026-10-22")..date("2026-10-26");
    assert!(harvests.map(|harvest| harvest.date).all(|day| !held.contains(&day)), "{new:#?}");
    assert!(again(&term, &new, &journal, today).is_none());
}

#[test]
fn a_sowing_that_is_put_off_is_sown_on_its_new_day() {
    let journal = put_off("b-0003", "room-4", ["2026-09-25", "2026-09-29"]);
    let (term, plan) = (laid_over(&sample_term(), &journal), sample_plan());
    let due = |day: &str| {
        let steps = state(&term, &plan, &journal, date(day)).steps;
        let own =
            steps.into_iter().find(|step| step.batch.as_str() == "b-0003" && step.work == TaskKind::Sow);
        own.map(|step| (step.day.to_string(), step.progress)).unwrap()
    };
    assert_eq!(due("2026-09-25"), ("2026-09-29".to_owned(), Progress::Coming));
    assert_eq!(due("2026-09-30"), ("2026-09-29".to_owned(), Progress::TakenAsDone));
    let Resumed { plan: new, .. } =
        again(&term, &plan, &journal, date("2026-09-24")).expect("a later sowing");
    assert_eq!(check(&term, &new), []);
    let held = date("2026-09-25")..date("2026-09-29");
    let there = new.batches.iter().filter(|batch| batch.site.as_str() == "room-4");
    assert!(there.into_iter().all(|batch| !held.contains(&batch.sown)), "{new:#?}");
}

/// Nobody comes to the hall from 7 to 21 September; seedlings last four days.
#[test]
fn seedlings_left_alone_are_lost_until_somebody_says_otherwise() {
    let (term, plan) = (sample_term(), sample_plan());
    let days = ["2026-09-10", "2026-09-14", "2026-09-17"];
    let lost = || days.iter().enumerate().map(|(number, day)| on(number, "hall", day, What::ClassLost));
    let came_up = on(9, "hall", "2026-09-21", What::CameUp { batch: BatchId::new("b-0002"), plugs: 8 });
    let journal = Journal::new(lost().collect());
    let told = Journal::new(lost().chain([came_up]).collect());
    let tray = |journal: &Journal, plan: &Plan, today: &str| {
        let term = laid_over(&term, journal);
        let state = state(&term, plan, journal, date(today));
        let batch = state.batch(&BatchId::new("b-0002")).unwrap();
        (batch.tray.seedlings(), batch.lost)
    };
    assert_eq!(tray(&journal, &plan, "2026-09-11"), (10, 0));
    assert_eq!(tray(&journal, &plan, "2026-09-12"), (0, 10));
    assert_eq!(tray(&told, &plan, "2026-09-21"), (8, 0));
    // Also once a plan was made that counts them as lost.
    let over = laid_over(&term, &journal);
    let Resumed { plan: new, .. } = again(&over, &plan, &journal, date("2026-09-21")).expect("a lost batch");
    assert_eq!(batch(&new, "b-0002").parts.iter().filter(|part| part.lost.is_none()).count(), 0);
    assert_eq!(tray(&told, &new, "2026-09-21").0, 8);
}

/// A single lost class is looked after as the term says: here by nobody, so that seven days are too long.
#[test]
fn a_single_lost_class_counts_as_the_term_says() {
    let (mut term, plan) = (sample_term(), sample_plan());
    let journal = Journal::new(vec![on(0, "hall", "2026-09-10", What::ClassLost)]);
    let lost = |term: &Term| {
        let state = state(&laid_over(term, &journal), &plan, &journal, date("2026-09-13"));
        state.batch(&BatchId::new("b-0002")).unwrap().lost
    };
    assert_eq!(lost(&term), 10);
    let nursery = &mut term.sites[0].nursery;
    nursery.unattended_days = 7;
    assert_eq!(lost(&term), 0);
}

#[test]
fn only_surprising_masses_are_worth_a_word() {
    let (term, plan) = (sample_term(), sample_plan());
    let harvest = |share: f64| {
        let planned = &batch(&plan, "b-0002").parts[1];
        let first = &planned.harvests[0];
        let places =
            vec![InTank { tank: planned.tank.clone(), plants: planned.plants, holes: planned.holes.clone() }];
        let harvested = Harvested {
            batch: BatchId::new("b-0002"),
            places,
            way: first.way,
            grams: first.grams / first.arithmetic.survival * share,
            measured_as: None,
            samples: Vec::new(),
        };
        let entry = on(0, "hall", "2026-10-08", What::Harvested(harvested));
        let after = Journal::new(vec![entry.clone()]);
        let before = Journal::default();
        let told = surprise((&term, &plan), [&before, &after], &entry, date("2026-10-08"));
        told.map(|expected| expected / (first.grams / first.arithmetic.survival))
    };
    assert_eq!(harvest(1.0), None);
    assert_eq!(harvest(0.5), None);
    assert!((harvest(3.9).unwrap() - 1.0).abs() < 1e-6);
    // That is told as what cannot be.
    assert_eq!(harvest(0.1), None);
}
