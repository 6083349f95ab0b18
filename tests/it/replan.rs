//! Planning again after something went wrong: whatever a journal says, the new plan is sound together with the past.

use crate::support::any::any_term;
use crate::support::build::{TermBuilder, site, tank, wanted};
use crate::support::crops::{days, figure, head};
use crate::support::{day, few};
use chrono::{DateTime, Days, NaiveDate};
use proptest::collection::vec;
use proptest::prelude::*;
use proptest::sample::Index;
use sowtide::check::check;
use sowtide::domain::growth::Way;
use sowtide::domain::ids::SiteId;
use sowtide::domain::journal::{
    Amount, Entry, EntryId, Harvested, InTank, Journal, Place, TargetHolds, What,
};
use sowtide::domain::plan::{Batch, Part, Plan};
use sowtide::domain::task_numbers::TaskKind;
use sowtide::domain::tasks::numbers;
use sowtide::domain::term::Term;
use sowtide::replan::accept::{Known, accept};
use sowtide::replan::{self, Outcome, Steady, laid_over};
use sowtide::schedule::{self, Options, Resumed, Watch};
use std::collections::{BTreeMap, BTreeSet};

const WATCH: Watch = Watch { stop: &|| false, report: &|_| {}, threads: 2 };

fn options() -> Options {
    Options {
        seed: 1,
        effort: Some(6),
        until_stopped: false,
        term_id: "0123456789abcdef".to_owned(),
        made: DateTime::UNIX_EPOCH,
    }
}

pub(crate) fn planned(term: &Term) -> Option<Plan> {
    let plan = schedule::plan(term, None, &options(), &WATCH).ok()?;
    (!plan.batches.is_empty()).then_some(plan)
}

pub(crate) fn entry(number: usize, day: NaiveDate, site: Option<SiteId>, what: What) -> Entry {
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
pub(crate) type Seed = (u8, Index, Index, u32, u64);

/// Seeds of all kinds.
pub(crate) fn any_seeds() -> impl Strategy<Value = Vec<Seed>> {
    vec((0..10_u8, any::<Index>(), any::<Index>(), 1..30_u32, 0..20_u64), 1..5)
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
    let stood = batch.is_standing() && part.transplant < term.start;
    let tank = part.tank.clone();
    let plants = if count % 3 == 0 { Amount::All } else { Amount::Plants(*count) };
    let (cause, none) = ("frost".to_owned(), Vec::new());
    let what = match kind {
        0 if !stood => {
            (in_nursery, What::Lost { batch: id, place: Place::Nursery, plants, holes: none, cause })
        }
        1 if in_tank <= today => {
            (in_tank, What::Lost { batch: id, place: Place::Tank(tank), plants, holes: none, cause })
        }
        2 if !batch.is_standing() => (in_nursery, What::CameUp { batch: id, plugs: *count }),
        3 if !batch.is_standing() => {
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
            // Now and then the last ones of the part.
            let named = part.holes.iter().rev().take(plants as usize).rev().filter(|_| *days % 3 == 1);
            let named = named.copied().collect();
            let other = if harvest.way == Way::Cut { Way::WholeHead } else { Way::Cut };
            let way = if *days % 4 == 0 { other } else { harvest.way };
            let places = vec![InTank { tank, plants, holes: named }];
            let harvested =
                Harvested { batch: id, places, way, grams: 10.0, measured_as: None, samples: Vec::new() };
            (day, What::Harvested(harvested))
        }
        9 if !stood => {
            let day = (part.transplant + Days::new(*days % 5)).min(today) - Days::new(*days % 3);
            (day, What::Transplanted { batch: id, tank, plants: *count })
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

/// A journal of what seeds stand for, but for tanks out of use: what stands in them is lost only once the plan is made
/// anew.
pub(crate) fn happenings(term: &Term, plan: &Plan, seeds: &[Seed], today: NaiveDate) -> Journal {
    let mut journal = Journal::default();
    let seeds: Vec<Seed> = seeds.iter().filter(|seed| seed.0 != 4).copied().collect();
    record(term, plan, &mut journal, &seeds, today);
    journal
}

/// The batch's site, but for what is said of all sites.
fn site_of(plan: &Plan, seed: &Seed, what: &What) -> Option<SiteId> {
    (!matches!(what, What::TargetChanged { .. })).then(|| seed.1.get(&plan.batches).site.clone())
}

pub(crate) fn again(term: &Term, plan: &Plan, journal: &Journal, day: NaiveDate) -> Option<Resumed> {
    let open = replan::first_open_day(journal, day);
    let outcome = replan::replan(
        term,
        plan,
        journal,
        (open, Steady::Usual.price(&term.rules.weights)),
        &options(),
        &WATCH,
    )
    .unwrap();
    match outcome {
        Outcome::NothingNew => None,
        Outcome::New(resumed) => Some(*resumed),
    }
}

/// Whatever was planned before the term came to ask for something else: what is planned then is sound, and what is past
/// stays as it was.
pub(crate) fn leaves_the_past(
    term: &Term,
    known: &Plan,
    today: NaiveDate,
) -> Result<Option<Resumed>, TestCaseError> {
    let resumed = again(term, known, &Journal::default(), today);
    let Some(Resumed { left, plan: new }) = &resumed else {
        prop_assert_eq!(check(term, known), vec![]);
        return Ok(None);
    };
    prop_assert_eq!(check(term, left), vec![]);
    prop_assert_eq!(check(term, new), vec![]);
    prop_assert_eq!(past(new, today), past(known, today));
    Ok(resumed)
}

/// Transplanting and harvests before a day, with their plants.
pub(crate) fn past(plan: &Plan, today: NaiveDate) -> Vec<String> {
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

/// Plants that were sown, moved and harvested before a day.
fn deeds(plan: &Plan, today: NaiveDate) -> BTreeMap<String, u32> {
    let mut all = BTreeMap::new();
    for batch in &plan.batches {
        for part in &batch.parts {
            let mut count = |what: String, day: NaiveDate| {
                if day < today {
                    // Seedlings may yet get another tank.
                    let tank = if what == "sown" { "" } else { part.tank.as_str() };
                    *all.entry(format!("{} {what} {day} {tank}", batch.id)).or_insert(0) += part.plants;
                }
            };
            count("sown".to_owned(), batch.sown);
            if !part.lost_in_nursery() {
                count("moved".to_owned(), part.transplant);
            }
            part.harvests.iter().for_each(|harvest| count(format!("{:?}", harvest.way), harvest.date));
        }
    }
    all
}

/// Every task has a number of its own, that of its day in the plan before, one of another task of that plan, or one
/// that was never given.
pub(crate) fn assert_known_by_number(before: &Plan, after: &Plan) {
    for batch in &after.batches {
        let now = numbers(batch);
        let once: BTreeSet<(TaskKind, u32)> =
            now.iter().map(|((kind, _), number)| (*kind, *number)).collect();
        assert_eq!(once.len(), now.len(), "{}: {now:?}", batch.id);
        let old = before.batches.iter().find(|old| old.id == batch.id);
        let then = old.map(numbers).unwrap_or_default();
        for ((kind, day), number) in &now {
            match then.get(&(*kind, *day)) {
                Some(same) => assert_eq!(number, same, "{} {kind} {day}", batch.id),
                None => assert!(
                    then.iter().any(|((other, _), known)| (other, known) == (kind, number))
                        || *number > before.last_task_number(&batch.id, *kind),
                    "{} {kind} {day} has an old number: {then:?}, {now:?}",
                    batch.id
                ),
            }
        }
    }
}

/// What grows keeps its holes even where they would be of more use a week later.
#[test]
fn what_is_sown_stays_sown() {
    let mut crop = head("oakleaf");
    crop.whole_head = Some(figure(days(35, 35, 35)));
    let term = TermBuilder::default().site(site("hall").tank(tank("a", 3, 4))).crop(wanted(crop)).build();
    let plan = planned(&term).unwrap();
    let first = &plan.batches[0];
    assert_eq!(first.sown, TermBuilder::start());
    let target =
        |number, on: &str, holds, grams| entry(number, day(on), None, What::TargetChanged { holds, grams });
    let journal = Journal::new(vec![
        target(0, "2026-09-10", TargetHolds::FromThenOn, 0.0),
        target(1, "2026-10-19", TargetHolds::ThatDay, 400.0),
    ]);
    let really = laid_over(&term, &journal);
    let outcome =
        replan::replan(&really, &plan, &journal, (day("2026-09-10"), 0.0), &options(), &WATCH).unwrap();
    let Outcome::New(resumed) = outcome else { panic!("other targets are news") };
    let new = resumed.plan;
    let still = new.batches.iter().find(|batch| batch.id == first.id).unwrap();
    assert_eq!((still.sown, still.plants()), (first.sown, first.plants()));
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
        assert_known_by_number(&plan, &new);
        let open = replan::first_open_day(&journal, today);
        let (told, happened) =
            (deeds(&new, open), deeds(&replan::carried(&really, &plan, &journal, open), open));
        for (deed, plants) in &told {
            prop_assert!(happened.get(deed) >= Some(plants), "{deed} is made up after {:#?}", journal.in_force());
        }
        // Where more is recorded than a lid has places for, nobody can tell where the last plants stood.
        let untold = |deed: &String| {
            let mut batches = new.batches.iter().filter(|batch| deed.starts_with(batch.id.as_str()));
            batches.any(|batch| batch.parts.iter().any(Part::lost_in_nursery))
        };
        for (deed, plants) in happened.iter().filter(|(deed, _)| !untold(deed)) {
            prop_assert_eq!(told.get(deed), Some(plants), "{} after {:#?}", deed, journal.in_force());
        }
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
            assert_known_by_number(&new, &newer);
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
