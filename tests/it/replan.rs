//! Planning again after something went wrong: whatever a journal says, the new plan is sound together with the past.

use crate::sample::{self, date, plan as sample_plan, term as sample_term};
use crate::support::any::any_term;
use chrono::{DateTime, Days, NaiveDate};
use proptest::collection::vec;
use proptest::prelude::*;
use proptest::sample::Index;
use sowtide::check::check;
use sowtide::domain::growth::Way;
use sowtide::domain::ids::{BatchId, SiteId, TankId};
use sowtide::domain::journal::{Amount, Entry, EntryId, Harvested, Journal, Place, TargetHolds, What};
use sowtide::domain::plan::{Batch, Part, Plan};
use sowtide::domain::state::{Progress, Work};
use sowtide::domain::term::Term;
use sowtide::replan::accept::{Known, accept};
use sowtide::replan::state::state;
use sowtide::replan::{self, Outcome, Steady, carried, first_open_day, laid_over};
use sowtide::schedule::{self, Options, Resumed, Watch};
use std::collections::BTreeMap;

const WATCH: Watch = Watch { stop: &|| false, report: &|_| {} };

fn options() -> Options {
    Options { seed: 1, effort: Some(6), term_id: "0123456789abcdef".to_owned(), made: DateTime::UNIX_EPOCH }
}

fn planned(term: &Term) -> Option<Plan> {
    let plan = schedule::plan(term, None, &options(), &WATCH).ok()?;
    (!plan.batches.is_empty()).then_some(plan)
}

fn entry(number: usize, day: NaiveDate, site: Option<SiteId>, what: What) -> Entry {
    Entry {
        id: EntryId(number as u32 + 1),
        recorded: DateTime::UNIX_EPOCH,
        day,
        site,
        by: None,
        what,
        replaces: None,
    }
}

/// Numbers that are turned into something that can happen under a plan.
type Seed = (u8, Index, Index, u32, u64);

fn any_seeds() -> impl Strategy<Value = Vec<Seed>> {
    vec((0..9_u8, any::<Index>(), any::<Index>(), 1..30_u32, 0..20_u64), 1..5)
}

/// What a seed stands for on some day up to `today` (or soon after, for what is known in advance).
fn happening(term: &Term, plan: &Plan, seed: &Seed, today: NaiveDate) -> Option<(NaiveDate, What)> {
    let (kind, batch, part, count, days) = seed;
    let batch: &Batch = batch.get(&plan.batches);
    let id = batch.id.clone();
    if batch.sown > today || batch.parts.is_empty() {
        return None;
    }
    let part: &Part = part.get(&batch.parts);
    let back = today - Days::new(*days);
    let in_nursery = back.clamp(batch.sown, (part.transplant - Days::new(1)).max(batch.sown)).min(today);
    let in_tank = back.max(part.transplant).min(part.leaves()?);
    let stood = batch.standing && part.transplant < term.start;
    let tank = part.tank.clone();
    let plants = if count % 3 == 0 { Amount::All } else { Amount::Plants(*count) };
    let cause = "frost".to_owned();
    let what = match kind {
        0 if !stood => (in_nursery, What::Lost { batch: id, place: Place::Nursery, plants, cause }),
        1 if in_tank <= today => (in_tank, What::Lost { batch: id, place: Place::Tank(tank), plants, cause }),
        2 if !batch.standing => (in_nursery, What::CameUp { batch: id, plugs: *count }),
        3 if !batch.standing => {
            let day = (batch.sown + Days::new(*days % 8)).min(today) - Days::new(*days % 3);
            (day, What::Sown { batch: id, plugs: *count })
        }
        4 => (in_tank.min(today + Days::new(5)), What::TankOut { tank, until: None }),
        5 => (today + Days::new(*days / 2), What::ClassLost),
        6 => (back, What::ClassLost),
        7 => {
            let holds = if count % 2 == 0 { TargetHolds::ThatDay } else { TargetHolds::FromThenOn };
            let serving = term.servings.iter().find(|serving| serving.date >= back)?;
            (serving.date, What::TargetChanged { holds, grams: f64::from(*count) * 40.0 })
        }
        8 => {
            let harvest = part.harvests.iter().rev().find(|harvest| harvest.date <= today)?;
            let day = (harvest.date + Days::new(*days % 3)).min(today);
            let plants = (*count).min(part.plants);
            let other = if harvest.way == Way::Cut { Way::WholeHead } else { Way::Cut };
            let way = if *days % 4 == 0 { other } else { harvest.way };
            let (grams, samples) = (10.0, Vec::new());
            (day, What::Harvested(Harvested { batch: id, tank, plants, way, grams, samples }))
        }
        _ => return None,
    };
    (what.0 >= term.start).then_some(what)
}

/// Adds what seeds stand for to a journal, as far as it can be true.
fn record(term: &Term, plan: &Plan, journal: &mut Journal, seeds: &[Seed], today: NaiveDate) {
    for seed in seeds.iter().filter(|_| !plan.batches.is_empty()) {
        let Some((day, what)) = happening(term, plan, seed, today) else { continue };
        let entry = entry(journal.entries().len(), day, site_of(plan, seed, &what), what);
        if accept(&Known { term, plan, journal, today }, &entry).is_ok() {
            journal.push(entry);
        }
    }
}

/// The batch's site, but for what is said of all sites.
fn site_of(plan: &Plan, seed: &Seed, what: &What) -> Option<SiteId> {
    (!matches!(what, What::TargetChanged { .. })).then(|| seed.1.get(&plan.batches).site.clone())
}

fn again(term: &Term, plan: &Plan, journal: &Journal, day: NaiveDate) -> Option<Resumed> {
    let open = replan::first_open_day(journal, day);
    let outcome =
        replan::replan(term, plan, journal, (open, Steady::Usual.price()), &options(), &WATCH).unwrap();
    match outcome {
        Outcome::NothingNew => None,
        Outcome::New(resumed) => Some(*resumed),
    }
}

/// Transplanting and harvests before a day, with their plants.
fn past(plan: &Plan, today: NaiveDate) -> Vec<String> {
    let mut all = Vec::new();
    for batch in &plan.batches {
        for part in &batch.parts {
            for hole in &part.holes {
                let mut tell = |what: &str, day: NaiveDate| {
                    if day < today {
                        all.push(format!("{} {what} {day} {} {hole}", batch.id, part.tank));
                    }
                };
                tell("moved", part.transplant);
                part.harvests.iter().for_each(|harvest| tell("harvest", harvest.date));
            }
        }
    }
    all.sort();
    all
}

/// Plants that were moved and harvested before a day.
fn deeds(plan: &Plan, today: NaiveDate) -> BTreeMap<String, u32> {
    let mut all = BTreeMap::new();
    for batch in &plan.batches {
        for part in &batch.parts {
            let mut count = |what: String, day: NaiveDate| {
                if day < today {
                    *all.entry(format!("{} {what} {day} {}", batch.id, part.tank)).or_insert(0) +=
                        part.plants;
                }
            };
            if !part.lost_in_nursery() {
                count("moved".to_owned(), part.transplant);
            }
            part.harvests.iter().for_each(|harvest| count(format!("{:?}", harvest.way), harvest.date));
        }
    }
    all
}

fn few(cases: u32) -> ProptestConfig {
    ProptestConfig { cases, failure_persistence: None, max_shrink_iters: 60, ..ProptestConfig::default() }
}

fn on(number: usize, day: &str, what: What) -> Entry {
    let site = match what.batch() {
        Some(batch) if batch.as_str() == "b-0003" => "room-4",
        _ => "hall",
    };
    entry(number, day.parse().unwrap(), Some(SiteId::new(site)), what)
}

fn harvested(batch: &str, way: Way, plants: u32) -> What {
    let (batch, tank) = (BatchId::new(batch), TankId::new("blue"));
    What::Harvested(Harvested { batch, tank, plants, way, grams: 100.0, samples: Vec::new() })
}

/// What a part of a batch of the sample plan has behind it on a day, once the journal is carried over.
fn harvests_of(batch: usize, entries: Vec<Entry>, today: &str) -> Vec<(u32, String)> {
    let (term, journal) = (sample::term(), Journal::new(entries));
    let today = today.parse().unwrap();
    let plan = replan::carried(&term, &sample::plan(), &journal, today);
    let told = |part: &Part| {
        let harvests = part.harvests.iter().filter(|harvest| harvest.date < today);
        let told: Vec<String> =
            harvests.map(|harvest| format!("{:?} {}", harvest.way, harvest.date)).collect();
        (part.plants, told.join(", "))
    };
    let mut all: Vec<(u32, String)> = plan.batches[batch].parts.iter().map(told).collect();
    all.sort();
    all
}

#[test]
fn a_cut_instead_of_a_pull_leaves_earlier_cuts_alone() {
    let entries = vec![
        on(0, "2026-10-08", harvested("b-0002", Way::Cut, 6)),
        on(1, "2026-10-08", harvested("b-0002", Way::WholeHead, 3)),
        on(2, "2026-10-22", harvested("b-0002", Way::Cut, 6)),
    ];
    let expected = [(3, "WholeHead 2026-10-08".to_owned()), (6, "Cut 2026-10-08, Cut 2026-10-22".to_owned())];
    assert_eq!(harvests_of(1, entries, "2026-10-23"), expected);
}

#[test]
fn more_cuts_than_grow_again_end_the_plants() {
    let (mut term, plan) = (sample::term(), sample::plan());
    for regrowth in term.crops.iter_mut().filter_map(|wanted| wanted.crop.regrowth.as_mut()) {
        regrowth.harvests.value = 2;
    }
    let cut = |number, day| on(number, day, harvested("b-0002", Way::Cut, 6));
    let journal = Journal::new(vec![cut(0, "2026-10-08"), cut(1, "2026-10-22")]);
    let today: NaiveDate = "2026-10-23".parse().unwrap();
    let standing = replan::carried(&term, &plan, &journal, today);
    let ways: Vec<Way> = standing.batches[1].parts[0].harvests.iter().map(|harvest| harvest.way).collect();
    assert_eq!(ways, [Way::Cut, Way::WholeHead]);
}

#[test]
fn a_harvest_on_two_days_is_both() {
    let entries = vec![
        on(0, "2026-10-22", harvested("b-0002", Way::WholeHead, 4)),
        on(1, "2026-10-26", harvested("b-0002", Way::WholeHead, 2)),
    ];
    let expected = [
        (2, "Cut 2026-10-08, WholeHead 2026-10-26".to_owned()),
        (3, "WholeHead 2026-10-08".to_owned()),
        (4, "Cut 2026-10-08, WholeHead 2026-10-22".to_owned()),
    ];
    assert_eq!(harvests_of(1, entries, "2026-10-27"), expected);
}

#[test]
fn a_cut_nobody_planned_is_put_between() {
    let entries = vec![on(0, "2026-09-07", harvested("b-0001", Way::Cut, 6))];
    assert_eq!(harvests_of(0, entries.clone(), "2026-09-08"), [(6, "Cut 2026-09-07".to_owned())]);
    let expected = [(6, "Cut 2026-09-07, WholeHead 2026-09-17".to_owned())];
    assert_eq!(harvests_of(0, entries, "2026-09-18"), expected);
}

#[test]
fn plants_may_be_lost_after_a_cut() {
    let lost = |plants| {
        let (batch, place) = (BatchId::new("b-0002"), Place::Tank(TankId::new("blue")));
        let what = What::Lost { batch, place, plants: Amount::Plants(plants), cause: "snails".to_owned() };
        vec![on(0, "2026-10-12", what)]
    };
    let expected = [
        (2, "Cut 2026-10-08".to_owned()),
        (3, "WholeHead 2026-10-08".to_owned()),
        (4, "Cut 2026-10-08".to_owned()),
    ];
    assert_eq!(harvests_of(1, lost(2), "2026-10-13"), expected);
    // Seven are more than were to be left after the pull, so that has not been.
    let pulled = |plants| {
        let journal = Journal::new(lost(plants));
        let now = state(&sample::term(), &sample::plan(), &journal, "2026-10-13".parse().unwrap());
        now.batch(&BatchId::new("b-0002")).unwrap().pulled
    };
    assert_eq!((pulled(2), pulled(7)), (3, 0));
}

#[test]
fn what_does_not_grow_again_is_not_cut() {
    let (mut term, plan, journal) = (sample::term(), sample::plan(), Journal::default());
    let cut = on(0, "2026-10-08", harvested("b-0002", Way::Cut, 6));
    let today = "2026-10-08".parse().unwrap();
    assert_eq!(accept(&Known { term: &term, plan: &plan, journal: &journal, today }, &cut), Ok(()));
    term.crops.iter_mut().for_each(|wanted| wanted.crop.regrowth = None);
    let refused = accept(&Known { term: &term, plan: &plan, journal: &journal, today }, &cut).unwrap_err();
    assert_eq!(refused.to_string(), "oakleaf does not grow again after a cut");
}

#[test]
fn a_batch_is_sown_when_it_was_sown() {
    let sown = |day| on(0, day, What::Sown { batch: BatchId::new("b-0003"), plugs: 6 });
    let (term, plan) = (sample::term(), sample::plan());
    let carried = |entries, today: &str| {
        replan::carried(&term, &plan, &Journal::new(entries), today.parse().unwrap()).batches[2].sown
    };
    assert_eq!(carried(vec![sown("2026-09-21")], "2026-09-22").to_string(), "2026-09-21");
    // What was sown before its time must not be given up for something else.
    let journal = Journal::new(vec![sown("2026-09-21")]);
    let Resumed { plan: new, .. } =
        again(&term, &plan, &journal, "2026-09-22".parse().unwrap()).expect("another day");
    let batch = new.batches.iter().find(|batch| batch.id.as_str() == "b-0003").unwrap();
    assert_eq!((batch.sown.to_string(), check(&term, &new)), ("2026-09-21".to_owned(), vec![]));
    assert!(again(&term, &new, &journal, "2026-09-22".parse().unwrap()).is_none());
    // Seedlings that were lost before they were sown: something is wrong, and the plan's day stands.
    let (batch, cause) = (BatchId::new("b-0003"), "mould".to_owned());
    let lost = What::Lost { batch, place: Place::Nursery, plants: Amount::Plants(1), cause };
    let day = carried(vec![sown("2026-10-01"), on(1, "2026-09-30", lost)], "2026-10-02");
    assert_eq!(day.to_string(), "2026-09-25");
}

proptest! {
    #![proptest_config(few(64))]

    #[test]
    fn whatever_a_journal_says_the_new_plan_is_sound(
        term in any_term(), seeds in any_seeds(), days in 1..90_u64, more in any_seeds(), later in 0..20_u64,
    ) {
        let Some(plan) = planned(&term) else { return Ok(()) };
        let today = (term.start + Days::new(days)).min(term.end);
        prop_assert!(again(&term, &plan, &Journal::default(), today).is_none(), "nothing happened");
        let mut journal = Journal::default();
        record(&term, &plan, &mut journal, &seeds, today);
        let really = laid_over(&term, &journal);
        let Some(Resumed { left, plan: new }) = again(&really, &plan, &journal, today) else {
            prop_assert_eq!(check(&really, &plan), vec![], "nothing to do after {:#?}", journal.in_force());
            return Ok(());
        };
        prop_assert_eq!(check(&really, &left), vec![], "left of {:#?}", journal.in_force());
        prop_assert_eq!(check(&really, &new), vec![], "after {:#?}", journal.in_force());
        let open = replan::first_open_day(&journal, today);
        let happened = deeds(&replan::carried(&really, &plan, &journal, open), open);
        prop_assert_eq!(deeds(&new, open), happened, "nothing is made up after {:#?}", journal.in_force());
        let standing = replan::carried(&really, &new, &journal, replan::first_open_day(&journal, today));
        for (one, other) in new.batches.iter().zip(&standing.batches) {
            prop_assert_eq!(one, other, "CARRIED {:#?}", journal.in_force());
        }
        prop_assert!(again(&really, &new, &journal, today).is_none(), "twice is once");
        // And on: something more happens later.
        let today = today + Days::new(later);
        record(&term, &new, &mut journal, &more, today);
        let really = laid_over(&term, &journal);
        if let Some(Resumed { plan: newer, .. }) = again(&really, &new, &journal, today) {
            prop_assert_eq!(check(&really, &newer), vec![], "later, after {:#?}", journal.in_force());
        }
    }

    #[test]
    fn what_is_past_stays_as_it_was(term in any_term(), days in 1..90_u64, grams in 1..20_u32) {
        let Some(plan) = planned(&term) else { return Ok(()) };
        let today = (term.start + Days::new(days)).min(term.end);
        let change = What::TargetChanged { holds: TargetHolds::FromThenOn, grams: f64::from(grams) * 100.0 };
        let journal = Journal::new(vec![entry(0, today, None, change)]);
        let really = laid_over(&term, &journal);
        if let Some(Resumed { plan: new, .. }) = again(&really, &plan, &journal, today) {
            prop_assert_eq!(past(&new, today), past(&plan, today));
        }
    }
}

fn at_hall(number: usize, day: &str, what: What) -> Entry {
    entry(number, date(day), Some(SiteId::new("hall")), what)
}

fn moved(plants: u32) -> What {
    What::Transplanted { batch: BatchId::new("b-0002"), tank: TankId::new("blue"), plants }
}

fn pulled(batch: &str, plants: u32) -> What {
    let (batch, tank) = (BatchId::new(batch), TankId::new("blue"));
    What::Harvested(Harvested { batch, tank, plants, way: Way::WholeHead, grams: 100.0, samples: vec![] })
}

fn parts_of<'p>(plan: &'p Plan, id: &str) -> &'p [Part] {
    &plan.batches.iter().find(|batch| batch.id.as_str() == id).unwrap().parts
}

/// Plants of a batch that are not lost, and those that are.
fn living_and_lost(plan: &Plan, id: &str) -> (u32, u32) {
    let count = |lost: bool| {
        parts_of(plan, id).iter().filter(|part| part.lost.is_some() == lost).map(|part| part.plants).sum()
    };
    (count(false), count(true))
}

/// The plan with what the journal says until a day, as if made anew then.
fn made_anew(plan: &Plan, journal: &Journal, day: &str) -> Plan {
    Plan { replanned: Some(date(day)), ..carried(&sample_term(), plan, journal, date(day)) }
}

#[test]
fn fewer_seedlings_moved_than_planned_leave_the_others_behind() {
    let (term, plan) = (sample_term(), sample_plan());
    for day in ["2026-09-21", "2026-09-22"] {
        let journal = Journal::new(vec![at_hall(0, day, moved(5))]);
        let now = carried(&term, &plan, &journal, date("2026-09-24"));
        assert_eq!(living_and_lost(&now, "b-0002"), (5, 4), "moved on {day}");
        let mut living = parts_of(&now, "b-0002").iter().filter(|part| part.lost.is_none());
        assert!(living.all(|part| part.transplant == date(day)), "{now:#?}");
    }
    let two_people = vec![at_hall(0, "2026-09-21", moved(5)), at_hall(1, "2026-09-22", moved(4))];
    let now = carried(&term, &plan, &Journal::new(two_people), date("2026-09-24"));
    assert_eq!(living_and_lost(&now, "b-0002"), (9, 0));
}

#[test]
fn a_second_person_may_record_the_rest_after_the_plan_was_made_anew() {
    let (term, plan) = (sample_term(), sample_plan());
    let mut journal = Journal::new(vec![at_hall(0, "2026-10-08", pulled("b-0002", 2))]);
    let anew = made_anew(&plan, &journal, "2026-10-09");
    journal.push(at_hall(1, "2026-10-08", pulled("b-0002", 1)));
    let batch = |plan: &Plan| {
        let now = state(&term, plan, &journal, date("2026-10-10"));
        now.batches.into_iter().find(|batch| batch.batch.as_str() == "b-0002").unwrap()
    };
    assert_eq!((batch(&anew).pulled, batch(&anew).grams), (3, 200.0));
    let again = made_anew(&anew, &journal, "2026-10-10");
    assert_eq!((batch(&again).pulled, batch(&again).grams), (3, 200.0));
}

#[test]
fn a_harvest_that_is_withdrawn_after_planning_again_was_not_taken() {
    let (term, plan) = (sample_term(), sample_plan());
    let mut journal = Journal::new(vec![at_hall(0, "2026-09-17", pulled("b-0001", 6))]);
    let anew = made_anew(&plan, &journal, "2026-09-18");
    let harvest = |journal: &Journal| {
        let steps = state(&term, &anew, journal, date("2026-09-20")).steps;
        let harvest =
            steps.into_iter().find(|step| step.work == Work::Harvest && step.batch.as_str() == "b-0001");
        harvest.unwrap().progress
    };
    assert_eq!(harvest(&journal), Progress::Done { on: date("2026-09-17") });
    let withdrawn = Entry { replaces: Some(EntryId(1)), ..at_hall(1, "2026-09-17", What::Withdrawn) };
    journal.push(withdrawn);
    assert_eq!(harvest(&journal), Progress::Overdue);
    let again = made_anew(&anew, &journal, "2026-09-20");
    assert!(parts_of(&again, "b-0001").iter().all(|part| part.harvests.is_empty()), "{again:#?}");
}

#[test]
fn plants_harvested_late_leave_no_room_for_those_planned_into_their_holes() {
    let (term, plan) = (sample_term(), sample_plan());
    let today = date("2026-09-24");
    let mut entries = vec![at_hall(0, "2026-09-22", pulled("b-0001", 3))];
    let now = carried(&term, &plan, &Journal::new(entries.clone()), today);
    let waiting = parts_of(&now, "b-0002").iter().filter(|part| part.transplant == today);
    assert_eq!(waiting.map(|part| part.plants).sum::<u32>(), 6, "those for the holes still taken wait");
    assert_eq!(living_and_lost(&now, "b-0001"), (6, 0));
    // Somebody says they were moved: then their holes were free.
    entries.push(at_hall(1, "2026-09-21", moved(9)));
    let now = carried(&term, &plan, &Journal::new(entries), today);
    assert!(parts_of(&now, "b-0002").iter().all(|part| part.transplant == date("2026-09-21")));
    assert_eq!(living_and_lost(&now, "b-0001"), (3, 3));
}

#[test]
fn days_the_journal_tells_of_are_over() {
    let journal = Journal::new(vec![at_hall(0, "2026-09-22", pulled("b-0001", 3))]);
    let open = |day| first_open_day(&journal, date(day));
    assert_eq!(
        ["2026-09-20", "2026-09-22", "2026-09-24"].map(open),
        ["2026-09-23", "2026-09-23", "2026-09-24"].map(date)
    );
}
