//! What the journal tells, carried over to the plan, on a plan written by hand.

use crate::replan::{again, assert_known_by_number, entry};
use crate::sample::{date, plan as sample_plan, term as sample_term};
use crate::support::calendars::{PLAIN, exported};
use chrono::NaiveDate;
use sowtide::check::check;
use sowtide::domain::difference::Detail;
use sowtide::domain::growth::Way;
use sowtide::domain::ids::{BatchId, SiteId, TankId};
use sowtide::domain::journal::{Amount, Entry, EntryId, Harvested, InTank, Journal, Place, What};
use sowtide::domain::plan::{Part, Plan};
use sowtide::domain::published::Tally;
use sowtide::domain::state::Progress;
use sowtide::domain::task_numbers::TaskKind;
use sowtide::replan::accept::{Known, accept};
use sowtide::replan::difference::{Plans, difference};
use sowtide::replan::state::state;
use sowtide::replan::{carried, first_open_day};
use sowtide::report::ical::{self, Export};
use sowtide::schedule::Resumed;

fn on(number: usize, day: &str, what: What) -> Entry {
    let site = match what.batch() {
        Some(batch) if batch.as_str() == "b-0003" => "room-4",
        _ => "hall",
    };
    entry(number, day.parse().unwrap(), Some(SiteId::new(site)), what)
}

fn harvested(batch: &str, way: Way, plants: u32) -> What {
    let places = vec![InTank { tank: TankId::new("blue"), plants, holes: Vec::new() }];
    let (batch, samples) = (BatchId::new(batch), Vec::new());
    What::Harvested(Harvested { batch, places, way, grams: 100.0, measured_as: None, samples })
}

/// What a part of a batch of the sample plan has behind it on a day, once the journal is carried over.
fn harvests_of(batch: usize, entries: Vec<Entry>, today: &str) -> Vec<(u32, String)> {
    let (term, journal) = (sample_term(), Journal::new(entries));
    let today = today.parse().unwrap();
    let plan = carried(&term, &sample_plan(), &journal, today);
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
    let (mut term, plan) = (sample_term(), sample_plan());
    for regrowth in term.crops.iter_mut().filter_map(|wanted| wanted.crop.regrowth.as_mut()) {
        regrowth.harvests.value = 2;
    }
    let cut = |number, day| on(number, day, harvested("b-0002", Way::Cut, 6));
    let journal = Journal::new(vec![cut(0, "2026-10-08"), cut(1, "2026-10-22")]);
    let today: NaiveDate = "2026-10-23".parse().unwrap();
    let standing = carried(&term, &plan, &journal, today);
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
        let (plants, holes) = (Amount::Plants(plants), Vec::new());
        let what = What::Lost { batch, place, plants, holes, cause: "snails".to_owned() };
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
        let now = state(&sample_term(), &sample_plan(), &journal, "2026-10-13".parse().unwrap());
        now.batch(&BatchId::new("b-0002")).unwrap().pulled
    };
    assert_eq!((pulled(2), pulled(7)), (3, 0));
}

/// Two of the plants that were to be pulled on 8 October are pulled on the 5th.
#[test]
fn an_early_harvest_leaves_the_other_calendar_entries_alone() {
    let (term, plan, today) = (sample_term(), sample_plan(), date("2026-10-06"));
    let journal = Journal::new(vec![on(0, "2026-10-05", pulled("b-0002", 2))]);
    let now = carried(&term, &plan, &journal, today);
    let found = difference(&term, Plans { before: &plan, left: None, after: &now }, today);
    assert_eq!((found.tasks.altered(), found.tasks.changed), (1, 1));
    let details: Vec<&Detail> = found.batches.iter().flat_map(|batch| &batch.details).collect();
    let (kind, day) = (TaskKind::Harvest, date("2026-10-08"));
    assert_eq!(details, [&Detail::Plants { kind, number: 1, day, before: 9, after: 7 }]);
    let first = exported(&term, &plan, &PLAIN);
    let clock = (today, "2026-10-06T12:00:00Z".parse().unwrap());
    let second = ical::export(&term, &now, Some(&first.published), &PLAIN, clock);
    assert_eq!(second.tally, Tally { new: 1, changed: 1, kept: 7, ..Tally::default() });
    let told = |export: &Export, event: &str| {
        let event = &export.published.events[&format!("{}-b-0002-{event}", plan.term_id)];
        (event.entry.days.first, event.sequence)
    };
    assert_eq!(told(&second, "harvest-1"), (date("2026-10-08"), told(&first, "harvest-1").1 + 1));
    assert_eq!(told(&second, "harvest-2"), told(&first, "harvest-2"));
    assert_eq!(told(&second, "harvest-3").0, date("2026-10-05"));
    // The rest is planned again: whatever is done on a day of old has its old name.
    let new = again(&term, &plan, &journal, today).unwrap().plan;
    assert_known_by_number(&plan, &new);
    assert_known_by_number(&now, &new);
}

#[test]
fn what_does_not_grow_again_is_not_cut() {
    let (mut term, plan, journal) = (sample_term(), sample_plan(), Journal::default());
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
    let (term, plan) = (sample_term(), sample_plan());
    let sown_on = |entries, today: &str| {
        carried(&term, &plan, &Journal::new(entries), today.parse().unwrap()).batches[2].sown
    };
    assert_eq!(sown_on(vec![sown("2026-09-21")], "2026-09-22").to_string(), "2026-09-21");
    // What was sown before its time must not be given up for something else.
    let journal = Journal::new(vec![sown("2026-09-21")]);
    let Resumed { plan: new, .. } = again(&term, &plan, &journal, date("2026-09-22")).expect("another day");
    let batch = new.batches.iter().find(|batch| batch.id.as_str() == "b-0003").unwrap();
    assert_eq!((batch.sown.to_string(), check(&term, &new)), ("2026-09-21".to_owned(), vec![]));
    assert!(again(&term, &new, &journal, date("2026-09-22")).is_none());
    // Seedlings that were lost before they were sown: something is wrong, and the plan's day stands.
    let (batch, holes, cause) = (BatchId::new("b-0003"), Vec::new(), "mould".to_owned());
    let lost = What::Lost { batch, place: Place::Nursery, plants: Amount::Plants(1), holes, cause };
    let day = sown_on(vec![sown("2026-10-01"), on(1, "2026-09-30", lost)], "2026-10-02");
    assert_eq!(day.to_string(), "2026-09-25");
}

/// The sample plan, with two plants of its mustard as a batch of its own that is sown a class day later.
fn with_a_later_tray() -> Plan {
    let mut plan = sample_plan();
    let mut later = plan.batches[2].clone();
    (later.id, later.sown, later.plugs) = (BatchId::new("b-0004"), date("2026-09-28"), 3);
    for (batch, holes) in [(&mut plan.batches[2], 0..3), (&mut later, 3..5)] {
        let part = &mut batch.parts[0];
        part.plants = holes.len() as u32;
        part.holes = part.holes[holes.clone()].to_vec();
        part.kept_empty = part.kept_empty[holes].to_vec();
    }
    plan.batches.push(later);
    plan
}

/// What room 4 has sown by 26 September, once the plan is made anew: batches with their day and plants lost.
fn sown_in_room_4(entries: Vec<Entry>) -> Vec<(String, String, u32)> {
    let (mut term, plan, today) = (sample_term(), with_a_later_tray(), date("2026-09-26"));
    term.rules.smallest_batch = 2;
    let journal = Journal::new(entries);
    let Resumed { plan: new, .. } = again(&term, &plan, &journal, today).expect("news");
    assert_eq!(check(&term, &new), vec![]);
    assert!(again(&term, &new, &journal, today).is_none(), "planned once, and still news");
    let sown = new.batches.iter().filter(|batch| batch.site.as_str() == "room-4" && batch.sown <= today);
    sown.map(|batch| (batch.id.to_string(), batch.sown.to_string(), batch.lost())).collect()
}

#[test]
fn a_tray_sown_on_the_day_of_another_of_its_crop_was_sown_that_day() {
    let said = |number, what| entry(number, date("2026-09-25"), Some(SiteId::new("room-4")), what);
    let sown = |number, id, plugs| said(number, What::Sown { batch: BatchId::new(id), plugs });
    let (batch, holes, cause) = (BatchId::new("b-0004"), Vec::new(), "mould".to_owned());
    let lost = said(2, What::Lost { batch, place: Place::Nursery, plants: Amount::Plants(1), holes, cause });
    let told = |id: &str, lost| (id.to_owned(), "2026-09-25".to_owned(), lost);
    // Nobody says that the one planned for that day was sown.
    let alone = sown_in_room_4(vec![sown(0, "b-0004", 3), lost.clone()]);
    assert_eq!(alone, [told("b-0004", 1)]);
    let both = sown_in_room_4(vec![sown(0, "b-0004", 3), sown(1, "b-0003", 6), lost]);
    assert_eq!(both, [told("b-0003", 0), told("b-0004", 1)]);
}

fn moved(plants: u32) -> What {
    What::Transplanted { batch: BatchId::new("b-0002"), tank: TankId::new("blue"), plants }
}

fn pulled(batch: &str, plants: u32) -> What {
    harvested(batch, Way::WholeHead, plants)
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
        let journal = Journal::new(vec![on(0, day, moved(5))]);
        let now = carried(&term, &plan, &journal, date("2026-09-24"));
        assert_eq!(living_and_lost(&now, "b-0002"), (5, 4), "moved on {day}");
        let mut living = parts_of(&now, "b-0002").iter().filter(|part| part.lost.is_none());
        assert!(living.all(|part| part.transplant == date(day)), "{now:#?}");
    }
    let two_people = vec![on(0, "2026-09-21", moved(5)), on(1, "2026-09-22", moved(4))];
    let now = carried(&term, &plan, &Journal::new(two_people), date("2026-09-24"));
    assert_eq!(living_and_lost(&now, "b-0002"), (9, 0));
}

#[test]
fn a_second_person_may_record_the_rest_after_the_plan_was_made_anew() {
    let (term, plan) = (sample_term(), sample_plan());
    let mut journal = Journal::new(vec![on(0, "2026-10-08", pulled("b-0002", 2))]);
    let anew = made_anew(&plan, &journal, "2026-10-09");
    journal.push(on(1, "2026-10-08", pulled("b-0002", 1)));
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
    let mut journal = Journal::new(vec![on(0, "2026-09-17", pulled("b-0001", 6))]);
    let anew = made_anew(&plan, &journal, "2026-09-18");
    let harvest = |journal: &Journal| {
        let steps = state(&term, &anew, journal, date("2026-09-20")).steps;
        let harvest =
            steps.into_iter().find(|step| step.work == TaskKind::Harvest && step.batch.as_str() == "b-0001");
        harvest.unwrap().progress
    };
    assert_eq!(harvest(&journal), Progress::Done { on: date("2026-09-17") });
    let withdrawn = Entry { replaces: Some(EntryId(1)), ..on(1, "2026-09-17", What::Withdrawn) };
    journal.push(withdrawn);
    assert_eq!(harvest(&journal), Progress::Overdue);
    let again = made_anew(&anew, &journal, "2026-09-20");
    assert!(parts_of(&again, "b-0001").iter().all(|part| part.harvests.is_empty()), "{again:#?}");
}

#[test]
fn plants_harvested_late_leave_no_room_for_those_planned_into_their_holes() {
    let (term, plan) = (sample_term(), sample_plan());
    let today = date("2026-09-24");
    let mut entries = vec![on(0, "2026-09-22", pulled("b-0001", 3))];
    let now = carried(&term, &plan, &Journal::new(entries.clone()), today);
    let waiting = parts_of(&now, "b-0002").iter().filter(|part| part.transplant == today);
    assert_eq!(waiting.map(|part| part.plants).sum::<u32>(), 6, "those for the holes still taken wait");
    assert_eq!(living_and_lost(&now, "b-0001"), (6, 0));
    // Somebody says they were moved: then it was into other holes, of which there are enough.
    entries.push(on(1, "2026-09-21", moved(9)));
    let now = carried(&term, &plan, &Journal::new(entries), today);
    assert!(parts_of(&now, "b-0002").iter().all(|part| part.transplant == date("2026-09-21")));
    assert_eq!(living_and_lost(&now, "b-0001"), (6, 0));
    let holes = |number: &str| parts_of(&now, number).iter().map(|part| part.holes.len()).sum::<usize>();
    assert_eq!((holes("b-0001"), holes("b-0002")), (6, 3));
}

#[test]
fn days_the_journal_tells_of_are_over() {
    let journal = Journal::new(vec![on(0, "2026-09-22", pulled("b-0001", 3))]);
    let open = |day| first_open_day(&journal, date(day));
    assert_eq!(
        ["2026-09-20", "2026-09-22", "2026-09-24"].map(open),
        ["2026-09-23", "2026-09-23", "2026-09-24"].map(date)
    );
}

/// Who is told where plants stand finds them there once the plan is made anew.
#[test]
fn plants_stay_in_their_holes_when_the_plan_is_made_anew() {
    let (term, plan) = (sample_term(), sample_plan());
    let holes = |plan: &Plan, journal: &Journal, day: &str| -> Vec<u32> {
        let now = state(&term, plan, journal, date(day));
        let stands = now.batch(&BatchId::new("b-0002")).unwrap().stands.clone();
        let mut holes: Vec<u32> = stands.into_iter().flat_map(|stand| stand.holes).collect();
        holes.sort_unstable();
        holes
    };
    let two = |holes: &[u32]| {
        let What::Harvested(mut harvested) = pulled("b-0002", 2) else { unreachable!("that is a harvest") };
        harvested.places[0].holes = holes.to_vec();
        Journal::new(vec![on(0, "2026-10-08", What::Harvested(harvested))])
    };
    for (named, left) in [(&[][..], [1, 2, 3, 4, 5, 6, 9]), (&[2, 9][..], [1, 3, 4, 5, 6, 7, 8])] {
        let journal = two(named);
        assert_eq!(holes(&plan, &journal, "2026-10-09"), left, "named {named:?}");
        let Resumed { plan: new, .. } = again(&term, &plan, &journal, date("2026-10-09")).expect("new days");
        assert_eq!(holes(&new, &journal, "2026-10-09"), left, "named {named:?}");
        assert_eq!(check(&term, &new), vec![]);
    }
}

#[test]
fn plants_are_where_they_are_said_to_be() {
    let (term, plan, journal) = (sample_term(), sample_plan(), Journal::default());
    let today = date("2026-10-09");
    let refusal = |plants, holes: &[u32]| {
        let (batch, place) = (BatchId::new("b-0002"), Place::Tank(TankId::new("blue")));
        let what = What::Lost { batch, place, plants, holes: holes.to_vec(), cause: "snails".to_owned() };
        let known = Known { term: &term, plan: &plan, journal: &journal, today };
        accept(&known, &on(0, "2026-10-01", what)).map_err(|refusal| refusal.to_string())
    };
    let two = Amount::Plants(2);
    assert_eq!(refusal(two, &[2, 8]), Ok(()));
    for (plants, holes, told) in [
        (two, &[2, 10][..], "of batch b-0002 nothing stands in tank blue in hole 10"),
        (two, &[2], "not as many holes are named as plants: 1 for 2"),
        (Amount::All, &[2], "not as many holes are named as plants: 1 for all"),
        (two, &[2, 99], "tank blue has holes 1 to 24, but not 99"),
    ] {
        assert_eq!(refusal(plants, holes), Err(told.to_owned()));
    }
}

#[test]
fn a_tank_takes_no_more_plants_than_it_has_holes() {
    let (term, plan, today) = (sample_term(), sample_plan(), date("2026-10-20"));
    let sown = |batch: &str, day| on(0, day, What::Sown { batch: BatchId::new(batch), plugs: 40 });
    let refusal = |sown: Entry, day, plants| {
        let journal = Journal::new(vec![sown.clone()]);
        let batch = sown.what.batch().cloned().expect("sowings name a batch");
        let what = What::Transplanted { batch, tank: TankId::new("blue"), plants };
        let known = Known { term: &term, plan: &plan, journal: &journal, today };
        accept(&known, &on(1, day, what)).map_err(|refusal| refusal.to_string())
    };
    // 24 holes, of which plants from before the term have pulled out of six by 17 September.
    assert_eq!(refusal(sown("b-0002", "2026-09-07"), "2026-09-21", 24), Ok(()));
    let told = "tank blue with its 24 holes has no room for so many";
    assert_eq!(refusal(sown("b-0002", "2026-09-07"), "2026-09-21", 25), Err(told.to_owned()));
    let told =
        "tank blue with its 24 holes has no room for so many: on Mon 14 Sep 2026 6 other plants stand there";
    assert_eq!(refusal(sown("b-0002", "2026-09-07"), "2026-09-14", 19), Err(told.to_owned()));
}
