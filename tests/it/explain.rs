//! Why serving days are as they are.

use crate::odds::{certain, one_batch_with};
use crate::properties;
use crate::sample;
use crate::steady;
use crate::support::build::{TermBuilder, site, tank, wanted};
use crate::support::crops::{cutter, head};
use crate::support::day;
use chrono::NaiveDate;
use chrono::Weekday::{Fri, Mon, Thu};
use sowtide::domain::calendar::{DateSpan, Week};
use sowtide::domain::explain::{Against, AgainstHarvest, DayExplained};
use sowtide::domain::growth::Way;
use sowtide::domain::ids::{BatchId, TankId};
use sowtide::domain::luck::Trouble;
use sowtide::domain::plan::{Part, Plan, Shortfall};
use sowtide::domain::term::Term;
use sowtide::domain::units::Units;
use sowtide::insight::explain::{explain, of_batch, of_week};
use sowtide::insight::odds::{Luck, odds};
use sowtide::insight::reasons;
use sowtide::report::{self, Look, json};
use sowtide::schedule::Watch;

fn explained(term: &Term, plan: &Plan, day: Option<NaiveDate>) -> Vec<DayExplained> {
    let luck = Luck { runs: 200, seed: 1, threads: 1, trouble: Trouble::default() };
    let watch = Watch { stop: &|| false, report: &|_| {}, threads: 2 };
    let day = day.map(|day| DateSpan { first: day, last: day });
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

/// What is there of kinds that are missing, and from what on a crop counts.
#[test]
fn what_comes_nearest_to_a_missing_kind_is_told() {
    let (mut term, plan) = (sample::term(), sample::plan());
    let look = Look { units: Units::Metric, width: 400, colour: false };
    // That day gets 418 of 600 g, all of one crop.
    let mut told = |kind_from| {
        (term.rules.kinds, term.rules.kind_from) = (1, kind_from);
        let days = explained(&term, &plan, Some(plan.servings[0].date));
        report::explain::text(&days, &term, &plan, &look)
    };
    let few = told(0.8);
    let nearest =
        "0 of 1 kinds, where a crop counts from 480 g. Too little to count: Oakleaf lettuce (418 g).";
    assert!(few.contains(nearest), "{few}");
    assert!(!told(0.5).contains("kinds"), "it counts from 300 g");
}

/// What a plant gives on the day that was chosen is what the plan expects of it.
#[test]
fn the_day_chosen_for_sowing_is_among_those_that_could_be() {
    let term = TermBuilder::default()
        .site(site("hall").tank(tank("a", 6, 6)).tank(tank("b", 4, 6)).nursery(60, 4))
        .holiday(day("2026-10-19"), day("2026-10-25"))
        .serves(Fri, 600.0)
        .crop(wanted(head("round")))
        .crop(wanted(cutter("chard")))
        .build();
    let plan = properties::plan(&term, 1, 60).unwrap();
    assert!(!plan.batches.is_empty());
    for batch in &plan.batches {
        let explained = of_batch(&term, &plan, batch, term.start);
        let chosen: Vec<_> = explained.sow_days.iter().filter(|tried| tried.is_planned).collect();
        let harvests =
            || batch.parts.iter().flat_map(|part| part.harvests.iter().map(move |harvest| (part, harvest)));
        let (part, first) = harvests().min_by_key(|(_, harvest)| harvest.date).unwrap();
        let [chosen] = chosen[..] else { panic!("{explained:?}") };
        assert_eq!((chosen.day, chosen.against.as_ref()), (batch.sown, None));
        let each = first.grams / f64::from(part.plants);
        assert!((chosen.grams.unwrap() - each).abs() < 1e-6, "{chosen:?} {each}");
        let served: f64 = explained.harvests.iter().flat_map(|harvest| harvest.serves.values()).sum();
        let planned = harvests().flat_map(|(_, harvest)| &harvest.serves).map(|served| served.grams);
        assert!((served - planned.sum::<f64>()).abs() < 1e-6);
        for harvest in &explained.harvests {
            assert!(harvest.allowed.as_ref().unwrap().contains(&harvest.days), "{harvest:?}");
        }
    }
}

/// A tank that is full until 28 September, and seedlings that are too old after three weeks: who was sown on the 7th finds no hole,
/// who was sown on the 10th can still wait for one.
#[test]
fn a_full_tank_speaks_against_sowing_sooner() {
    let (mut term, mut plan) = one_batch_with(&[Mon, Thu], &certain(), (40, 40), 2_800.0);
    let hall = &mut term.sites[0];
    (hall.tanks[0].lid.rows, hall.tanks[0].lid.columns, hall.nursery.cells) = (5, 8, 60);
    let mut before = plan.batches[0].clone();
    (before.id, before.sown, before.parts[0].transplant) =
        (BatchId::new("b000"), day("2026-08-17"), day("2026-08-31"));
    before.parts[0].harvests[0].date = day("2026-09-28");
    (plan.batches[0].sown, plan.batches[0].parts[0].transplant) = (day("2026-09-14"), day("2026-10-01"));
    plan.batches.insert(0, before);
    let explained = of_batch(&term, &plan, &plan.batches[1], term.start);
    let told: Vec<_> = explained
        .sow_days
        .iter()
        .map(|tried| (tried.day, tried.age, tried.is_planned, tried.against.clone()))
        .collect();
    let full = Against::Holes { tank: TankId::new("a"), day: day("2026-09-28"), free: 0, needed: 40 };
    assert_eq!(
        told,
        [
            (day("2026-09-07"), 42, false, Some(full)),
            (day("2026-09-10"), 39, false, None),
            (day("2026-09-14"), 35, true, None)
        ]
    );
    // What days alone forbid is told first: an empty tank would not allow it either.
    let mut alone = term.clone();
    alone.sites[0].nursery.unattended_days = 1;
    alone.sites[0].looks_in.clear();
    let first = of_batch(&alone, &plan, &plan.batches[1], term.start).sow_days.swap_remove(0);
    assert!(
        matches!(&first.against, Some(Against::Rule(told)) if told.contains("without anybody")),
        "{first:?}"
    );
    let told_of_rule = |term: &Term| match of_batch(term, &plan, &plan.batches[1], term.start)
        .sow_days
        .swap_remove(1)
        .against
    {
        Some(Against::Rule(told)) => told,
        other => panic!("{other:?}"),
    };
    term.sites[0].nursery.cells = 39;
    assert!(told_of_rule(&term).contains("cells"), "{}", told_of_rule(&term));
    term.sites[0].nursery =
        sowtide::domain::site::Nursery { cells: 60, unattended_days: 3, ..term.sites[0].nursery };
    assert!(told_of_rule(&term).contains("4 days"), "{}", told_of_rule(&term));
    // Between Monday and Thursday of the week after next no class meets: nobody could move them.
    term.sites[0].class_days.retain(|class| *class < day("2026-09-20") || *class == day("2026-10-19"));
    let explained = of_batch(&term, &plan, &plan.batches[1], term.start);
    assert_eq!(explained.sow_days[1].against, Some(Against::NoMove));
}

/// What the checker says of the plan with the batch sown then speaks against a day, too: a class that can sow but one batch a day, and
/// later harvests of plants that would be too old.
#[test]
fn other_rules_speak_against_a_day() {
    let (mut term, mut plan) = one_batch_with(&[Mon, Thu], &certain(), (40, 40), 2_800.0);
    term.sites[0].nursery.cells = 200;
    let mut other = plan.batches[0].clone();
    (other.id, other.sown, other.parts[0].tank) = (BatchId::new("b002"), day("2026-09-10"), TankId::new("a"));
    other.parts[0].holes = (41..=80).collect();
    plan.batches.push(other);
    let against = |term: &Term, plan: &Plan| {
        let explained = of_batch(term, plan, &plan.batches[0], term.start);
        explained.sow_days.into_iter().find(|tried| tried.day == day("2026-09-10")).unwrap().against
    };
    assert_eq!(against(&term, &plan), None);
    term.sites[0].sowings_a_day = Some(1);
    assert!(matches!(against(&term, &plan), Some(Against::Rule(told)) if told.contains("can sow 1 a day")));
    term.sites[0].sowings_a_day = None;
    // Some heads are left until they are 45 days old; sown on the first day of the term they would be 52.
    plan.batches[0].sown = day("2026-09-14");
    let mut late = plan.batches[0].parts[0].clone();
    late.holes = (81..=90).collect();
    late.plants = 10;
    late.harvests[0].date = day("2026-10-29");
    plan.batches[0].parts.push(late);
    let explained = of_batch(&term, &plan, &plan.batches[0], term.start);
    assert_eq!(explained.sow_days[0].day, day("2026-09-07"));
    assert!(
        matches!(&explained.sow_days[0].against, Some(Against::Rule(told)) if told.contains("52 days after sowing"))
    );
    // Days that are past are no choice any more.
    let explained = of_batch(&term, &plan, &plan.batches[0], day("2026-09-11"));
    assert_eq!(explained.sow_days.len(), 1);
}

#[test]
fn a_batch_and_a_week_are_told_in_words_and_as_json() {
    let (term, plan) = (sample::term(), sample::plan());
    let look = Look { units: Units::Metric, width: 80, colour: false };
    let batches: Vec<String> = plan
        .batches
        .iter()
        .map(|batch| report::explain::batch(&of_batch(&term, &plan, batch, term.start), &term, batch, &look))
        .collect();
    insta::assert_snapshot!(batches.join("\n"));
    let week = Week::of(plan.servings[0].date);
    let luck = Luck { runs: 200, seed: 1, threads: 1, trouble: Trouble::default() };
    let watch = Watch { stop: &|| false, report: &|_| {}, threads: 1 };
    let week = of_week(&term, &plan, &odds(&term, &plan, None, luck), week, &watch);
    insta::assert_snapshot!(report::explain::week(&week, &term, &plan, &look));
    insta::assert_snapshot!(json::explain_week(&week));
    insta::assert_snapshot!(json::explain_batch(&of_batch(&term, &plan, &plan.batches[1], term.start)));
}

/// A harvest on the planned day itself gives what is planned, so what other days give may be held against it; and what speaks against
/// a day does so by the checker, too: greens that would not keep are refused there.
#[test]
fn other_days_for_a_harvest_are_told_with_what_speaks_against_them() {
    let (term, mut plan) = (sample::term(), sample::plan());
    let explained = of_batch(&term, &plan, &plan.batches[1], term.start);
    let first = &explained.harvests[0];
    assert_eq!((first.date, first.plants), (day("2026-10-08"), 6));
    assert!((first.plant_grams - plan.batches[1].parts[0].harvests[0].grams / 6.0).abs() < 1e-9);
    let [earlier, later] = &first.other_days[..] else { panic!("{first:?}") };
    assert!(earlier.grams.unwrap() < first.plant_grams && first.plant_grams < later.grams.unwrap());
    assert_eq!((earlier.against.clone(), earlier.day), (None, day("2026-10-05")));
    assert_eq!(later.against, Some(AgainstHarvest::TooLate { serving: day("2026-10-09") }));
    // Nobody harvests on a day gone by.
    let explained = of_batch(&term, &plan, &plan.batches[1], day("2026-10-06"));
    assert!(explained.harvests[0].other_days.iter().all(|tried| tried.day > day("2026-10-06")));
    // Others come into the holes: pulled later, the plants would be in their way.
    let part =
        plan.batches[1].parts.iter().find(|part| part.harvests[0].way == Way::WholeHead).unwrap().clone();
    let mut next = plan.batches[1].clone();
    next.id = BatchId::new("b-0099");
    next.parts = vec![Part { transplant: day("2026-10-15"), harvests: Vec::new(), ..part }];
    plan.batches.push(next);
    for serving in plan.batches[1].parts.iter_mut().flat_map(|part| &mut part.harvests) {
        serving.serves.clear();
    }
    let explained = of_batch(&term, &plan, &plan.batches[1], term.start);
    let pulled = explained.harvests.iter().find(|harvest| harvest.way == Way::WholeHead).unwrap();
    let wanted = AgainstHarvest::HolesWanted { batch: BatchId::new("b-0099"), day: day("2026-10-15") };
    assert!(pulled.other_days.iter().all(|tried| tried.against.as_ref() == Some(&wanted)), "{pulled:?}");
}
