//! Properties of journals: what is accepted adds up, and corrections leave no trace but what they say.

use crate::sample::{date, plan as sample_plan, term as sample_term};
use crate::support::any::any_term;
use chrono::{DateTime, Days, NaiveDate};
use proptest::collection::vec;
use proptest::option;
use proptest::prelude::*;
use proptest::sample::select;
use sowtide::domain::growth::Way;
use sowtide::domain::ids::{BatchId, SiteId, TankId};
use sowtide::domain::journal::{
    Amount, Entry, EntryId, Harvested, InTank, Journal, Kind, Place, TargetHolds, What,
};
use sowtide::domain::plan::{Batch, Origin, Plan};
use sowtide::domain::state::{BatchState, State};
use sowtide::domain::term::Term;
use sowtide::domain::units::Units;
use sowtide::replan::accept::{Known, accept};
use sowtide::replan::refusal::Refusal;
use sowtide::replan::state::state;
use sowtide::replan::weighed::prospects;
use sowtide::report::{Look, journal as report, json, status, today};
use sowtide::schedule::{self, Options, Watch};
use std::collections::BTreeMap;

fn entry(id: EntryId, day: NaiveDate, site: &str, what: What) -> Entry {
    Entry {
        id,
        recorded: DateTime::UNIX_EPOCH,
        day,
        site: Some(SiteId::new(site)),
        by: None,
        what,
        replaces: None,
    }
}

/// Things that may have happened to the batches of the stored plan, true or not.
pub(crate) fn anything() -> impl Strategy<Value = (u64, &'static str, What)> {
    let batch = select(vec![("b-0001", "hall"), ("b-0002", "hall"), ("b-0003", "room-4")]);
    let way = select(vec![Way::Cut, Way::WholeHead]);
    let place = select(vec![Place::Nursery, Place::Tank(TankId::new("blue"))]);
    let what = (0..7_u8, 1..=12_u32, way, place, option::weighted(0.3, 1..8_u32));
    (0..61_u64, batch, what).prop_map(|(day, (id, site), (kind, number, way, place, first))| {
        let holes: Vec<u32> = first.map_or_else(Vec::new, |first| (first..first + number).collect());
        let (batch, tank) = (BatchId::new(id), TankId::new("blue"));
        let what = match kind {
            0 => What::Sown { batch, plugs: number },
            1 => What::CameUp { batch, plugs: number },
            2 => What::Transplanted { batch, tank, plants: number },
            3 => {
                What::Lost { batch, place, plants: Amount::All, holes: Vec::new(), cause: "mould".to_owned() }
            }
            4 => {
                What::Lost { batch, place, plants: Amount::Plants(number), holes, cause: "mould".to_owned() }
            }
            _ => {
                let mut places = vec![InTank { tank, plants: number, holes }];
                let more = kind == 6;
                places.extend(more.then(|| InTank {
                    tank: TankId::new("red"),
                    plants: 2,
                    holes: vec![3, 7],
                }));
                What::Harvested(Harvested {
                    batch,
                    places,
                    way,
                    grams: f64::from(number),
                    measured_as: more.then(|| "2 cups".to_owned()),
                    samples: Vec::new(),
                })
            }
        };
        (day, site, what)
    })
}

/// Adds to a journal what can be true.
pub(crate) fn accepted(
    term: &Term,
    plan: &Plan,
    drafts: Vec<(u64, &str, What)>,
    today: NaiveDate,
) -> Journal {
    let mut journal = Journal::default();
    for (after, site, what) in drafts {
        let entry = entry(journal.next_id(), term.start + Days::new(after), site, what);
        if accept(&Known { term, plan, journal: &journal, today }, &entry).is_ok() {
            journal.push(entry);
        }
    }
    journal
}

/// Every plug sown is in the nursery, moved, lost or given up; every plant moved stands, was pulled or lost.
fn adds_up(batch: &BatchState) -> Result<(), TestCaseError> {
    let accounted = batch.tray.plugs + batch.in_tanks() + batch.pulled + batch.lost;
    prop_assert!(accounted <= batch.plugs, "{batch:?}");
    prop_assert!(batch.moved <= batch.plugs, "{batch:?}");
    prop_assert!(batch.in_tanks() + batch.pulled <= batch.moved, "{batch:?}");
    prop_assert!(batch.tray.came_up.is_none_or(|up| up <= batch.tray.plugs), "{batch:?}");
    for stand in &batch.stands {
        prop_assert!(stand.plants > 0 && stand.holes.len() <= stand.plants as usize, "{batch:?}");
    }
    Ok(())
}

/// What was recorded of a batch never exceeds what was sown, worked out without any replay.
fn recorded_adds_up(journal: &Journal, plan: &Plan) -> Result<(), TestCaseError> {
    let mut sown: BTreeMap<BatchId, u32> =
        plan.batches.iter().map(|batch| (batch.id.clone(), batch.plugs)).collect();
    let mut taken: BTreeMap<BatchId, u32> = BTreeMap::new();
    let mut moved: BTreeMap<BatchId, u32> = BTreeMap::new();
    for entry in journal.in_force() {
        match &entry.what {
            What::Sown { batch, plugs } => {
                sown.insert(batch.clone(), *plugs);
            }
            What::Transplanted { batch, plants, .. } => *moved.entry(batch.clone()).or_default() += plants,
            What::Lost { batch, plants: Amount::Plants(plants), .. } => {
                *taken.entry(batch.clone()).or_default() += plants;
            }
            What::Harvested(harvested) if harvested.way == Way::WholeHead => {
                *taken.entry(harvested.batch.clone()).or_default() += harvested.plants();
            }
            _ => {}
        }
    }
    for (batch, plugs) in &sown {
        let of = |counts: &BTreeMap<BatchId, u32>| counts.get(batch).copied().unwrap_or(0);
        prop_assert!(of(&taken) <= *plugs && of(&moved) <= *plugs, "{batch} of {plugs}: {journal:?}");
    }
    Ok(())
}

proptest! {
    #![proptest_config(crate::support::few(100))]

    #[test]
    fn what_is_accepted_adds_up(drafts in vec(anything(), 1..25), until in 0..61_u64, later in 0..61_u64) {
        let (term, plan) = (sample_term(), sample_plan());
        let journal = accepted(&term, &plan, drafts, term.start + Days::new(until));
        recorded_adds_up(&journal, &plan)?;
        for today in [until, later] {
            for batch in &state(&term, &plan, &journal, term.start + Days::new(today)).batches {
                adds_up(batch)?;
            }
        }
    }

    #[test]
    fn saying_the_same_again_in_a_correction_changes_nothing(drafts in vec(anything(), 1..15)) {
        let (term, plan) = (sample_term(), sample_plan());
        let mut journal = accepted(&term, &plan, drafts, term.end);
        let before = state(&term, &plan, &journal, term.end);
        for old in journal.in_force().into_iter().cloned().collect::<Vec<_>>() {
            for by in ["once", "twice"] {
                let id = journal.next_id();
                let replaces = journal.in_force().iter().find(|entry| entry.what == old.what && entry.day == old.day).map(|entry| entry.id);
                let same = Entry { id, replaces, by: Some(by.to_owned()), ..old.clone() };
                prop_assert_eq!(accept(&Known { term: &term, plan: &plan, journal: &journal, today: term.end }, &same), Ok(()));
                journal.push(same);
            }
        }
        prop_assert_eq!(state(&term, &plan, &journal, term.end), before);
    }

    #[test]
    fn withdrawing_everything_leaves_the_plan(drafts in vec(anything(), 1..15)) {
        let (term, plan) = (sample_term(), sample_plan());
        let mut journal = accepted(&term, &plan, drafts, term.end);
        for old in journal.entries().to_vec() {
            let back = Entry { replaces: Some(old.id), ..entry(journal.next_id(), term.end, "hall", What::Withdrawn) };
            journal.push(back);
        }
        prop_assert_eq!(journal.in_force(), Vec::<&Entry>::new());
        let plain = state(&term, &plan, &Journal::default(), term.end);
        prop_assert_eq!(state(&term, &plan, &journal, term.end), plain);
    }
}

/// Everything planned before a day, as people would write it down: one entry a batch, day, tank and way.
fn as_planned(plan: &Plan, until: NaiveDate, term: &Term) -> Vec<(NaiveDate, SiteId, What)> {
    let mut all: Vec<(NaiveDate, SiteId, What)> = Vec::new();
    for batch in &plan.batches {
        let mut moves: BTreeMap<(NaiveDate, &TankId), u32> = BTreeMap::new();
        let mut harvests: BTreeMap<(NaiveDate, &TankId, Way), (u32, f64)> = BTreeMap::new();
        if !batch.is_standing() {
            all.push((
                batch.sown,
                batch.site.clone(),
                What::Sown { batch: batch.id.clone(), plugs: batch.plugs },
            ));
        }
        for part in &batch.parts {
            if !stood_in_tank(term, batch) && batch.origin != Origin::InCups {
                *moves.entry((part.transplant, &part.tank)).or_default() += part.plants;
            }
            for harvest in &part.harvests {
                let sum = harvests.entry((harvest.date, &part.tank, harvest.way)).or_default();
                *sum = (sum.0 + part.plants, sum.1 + harvest.grams);
            }
        }
        for ((day, tank), plants) in moves {
            let what = What::Transplanted { batch: batch.id.clone(), tank: tank.clone(), plants };
            all.push((day, batch.site.clone(), what));
        }
        for ((day, tank, way), (plants, grams)) in harvests {
            let (batch_id, tank) = (batch.id.clone(), tank.clone());
            let places = vec![InTank { tank, plants, holes: Vec::new() }];
            let what =
                Harvested { batch: batch_id, places, way, grams, measured_as: None, samples: Vec::new() };
            all.push((day, batch.site.clone(), What::Harvested(what)));
        }
    }
    all.retain(|(day, _, _)| *day < until);
    // Holes are emptied before others come into them.
    all.sort_by_key(|(day, _, what)| (*day, what.kind() != Kind::Harvested));
    all
}

fn stood_in_tank(term: &Term, batch: &Batch) -> bool {
    batch.is_standing() && batch.parts.iter().all(|part| part.transplant < term.start)
}

/// How batches stand, without what was weighed, which only records know.
fn unweighed(state: State) -> Vec<BatchState> {
    state.batches.into_iter().map(|batch| BatchState { grams: 0.0, ..batch }).collect()
}

proptest! {
    #![proptest_config(crate::support::few(24))]

    /// The convention: what nobody recorded counts as done as planned.
    #[test]
    fn recording_the_plan_says_the_same_as_recording_nothing(term in any_term(), seed in any::<u64>(), after in 0..100_u64) {
        let options =
            Options { seed, effort: Some(20), until_stopped: false, term_id: "0".repeat(16), made: DateTime::UNIX_EPOCH };
        let watch = Watch { stop: &|| false, report: &|_| {}, threads: 2 };
        let Ok(plan) = schedule::plan(&term, None, &options, &watch) else { return Ok(()) };
        prop_assert_eq!(sowtide::check::check(&term, &plan), []);
        let today = (term.start + Days::new(after)).min(term.end);
        let mut journal = Journal::default();
        for (day, site, what) in as_planned(&plan, today, &term) {
            let new = entry(journal.next_id(), day, site.as_str(), what);
            let known = Known { term: &term, plan: &plan, journal: &journal, today };
            prop_assert_eq!(accept(&known, &new), Ok(()), "{:?}", new);
            journal.push(new);
        }
        let recorded = state(&term, &plan, &journal, today);
        let assumed = state(&term, &plan, &Journal::default(), today);
        let open = |state: &State| -> Vec<_> {
            state.steps.iter().filter(|step| step.is_open()).cloned().collect()
        };
        prop_assert_eq!(open(&recorded), open(&assumed));
        prop_assert_eq!(unweighed(recorded), unweighed(assumed));
    }
}

#[test]
fn tables_fit_the_screen() {
    let (term, plan) = (sample_term(), sample_plan());
    let mut journal = Journal::default();
    for (day, site, what) in as_planned(&plan, term.end, &term) {
        journal.push(entry(journal.next_id(), day, site.as_str(), what));
    }
    let words = "very many words about this and that, so that the line must be broken somewhere in between";
    let note = What::Note { batch: None, text: words.to_owned() };
    journal.push(Entry {
        site: None,
        by: Some("Class 5b, north".to_owned()),
        ..entry(journal.next_id(), term.end, "hall", note)
    });
    let look = Look { units: Units::Metric, width: 80, colour: false };
    for day in term.start.iter_days().take_while(|day| *day <= term.end) {
        let outlook = prospects(&term, &plan, &journal, day);
        let now = State { outlook, ..state(&term, &plan, &journal, day) };
        let text = [
            report::table(&term, &journal, &journal.in_force(), &look),
            today::list(&term, &plan, &now, day, &look),
            status::list(&term, &plan, &now, day, &look),
        ]
        .concat();
        for line in text.lines() {
            assert!(line.chars().count() <= look.width && line == line.trim_end(), "{line:?}");
        }
    }
}

#[test]
fn json_of_a_journal_and_a_state() {
    let (term, plan) = (sample_term(), sample_plan());
    let mut journal = Journal::default();
    for (day, site, what) in as_planned(&plan, date("2026-10-09"), &term) {
        journal.push(entry(journal.next_id(), day, site.as_str(), what));
    }
    let lost = What::Lost {
        batch: BatchId::new("b-0002"),
        place: Place::Tank(TankId::new("blue")),
        plants: Amount::Plants(2),
        holes: Vec::new(),
        cause: "snails".to_owned(),
    };
    journal.push(entry(journal.next_id(), date("2026-10-09"), "hall", lost));
    let out = What::TankOut { tank: TankId::new("blue"), until: None };
    journal.push(entry(journal.next_id(), date("2026-10-09"), "room-4", out));
    let day = date("2026-10-09");
    let outlook = prospects(&term, &plan, &journal, day);
    let now = State { outlook, ..state(&term, &plan, &journal, day) };
    insta::assert_snapshot!(json::journal(&journal, &journal.in_force()));
    insta::assert_snapshot!(json::state(&term, &plan, &now, day, false));
}

/// No target can be changed when no serving day is left.
#[test]
fn nothing_is_wanted_after_the_last_serving_day() {
    let (mut term, plan) = (sample_term(), sample_plan());
    term.servings.pop();
    let holds = TargetHolds::FromThenOn;
    let new = entry(EntryId(1), date("2026-10-26"), "hall", What::TargetChanged { holds, grams: 1.0 });
    let known = Known { term: &term, plan: &plan, journal: &Journal::default(), today: date("2026-09-07") };
    let refusal = accept(&known, &new).unwrap_err();
    assert_eq!(refusal, Refusal::NothingServed { day: date("2026-10-26"), near: Vec::new() });
    assert_eq!(refusal.help(), "no greens are served any more in this term");
    let in_time = Entry { day: date("2026-10-23"), ..new };
    assert_eq!(accept(&known, &in_time), Ok(()));
}

/// Late and early work is matched with the plan, and work is overdue only where records are kept.
#[test]
fn late_early_and_missing_work() {
    use sowtide::domain::state::Progress;
    use sowtide::domain::task_numbers::TaskKind;
    let (term, plan) = (sample_term(), sample_plan());
    let progress = |journal: &Journal, today: &str, batch: &str, work: TaskKind| -> Vec<Progress> {
        let steps = state(&term, &plan, journal, date(today)).steps;
        let of = |step: &&sowtide::domain::state::Step| step.batch.as_str() == batch && step.work == work;
        steps.iter().filter(of).map(|step| step.progress).collect()
    };
    let b2 = || BatchId::new("b-0002");
    let blue = || TankId::new("blue");
    let nothing = Journal::default();
    assert_eq!(progress(&nothing, "2026-09-07", "b-0002", TaskKind::Sow), [Progress::Due]);
    assert_eq!(progress(&nothing, "2026-09-08", "b-0002", TaskKind::Sow), [Progress::TakenAsDone]);
    assert_eq!(progress(&nothing, "2026-09-06", "b-0002", TaskKind::Sow), [Progress::Coming]);
    let pull = |day: &str, plants| {
        let harvested = Harvested {
            batch: b2(),
            places: vec![InTank { tank: blue(), plants, holes: Vec::new() }],
            way: Way::WholeHead,
            grams: 190.0,
            measured_as: None,
            samples: Vec::new(),
        };
        entry(EntryId(9), date(day), "hall", What::Harvested(harvested))
    };
    // Three of nine are pulled early; the cut of the others is still to come, and overdue once records go past its day.
    let early = Journal::new(vec![pull("2026-10-05", 3)]);
    let on = date("2026-10-05");
    assert_eq!(
        progress(&early, "2026-10-06", "b-0002", TaskKind::Harvest),
        [Progress::Coming, Progress::DoneEarly { on }, Progress::Coming]
    );
    let moved = |id, day: &str, plants| {
        entry(EntryId(id), date(day), "hall", What::Transplanted { batch: b2(), tank: blue(), plants })
    };
    let late = Journal::new(vec![moved(1, "2026-09-24", 4), moved(2, "2026-09-28", 5)]);
    let on = date("2026-09-24");
    assert_eq!(progress(&late, "2026-09-30", "b-0002", TaskKind::Transplant), [Progress::Done { on }]);
    assert_eq!(state(&term, &plan, &late, date("2026-09-30")).batch(&b2()).unwrap().in_tanks(), 9);
    let counted = Journal::new(vec![entry(
        EntryId(1),
        date("2026-09-23"),
        "hall",
        What::CameUp { batch: b2(), plugs: 8 },
    )]);
    assert_eq!(progress(&counted, "2026-09-24", "b-0002", TaskKind::Transplant), [Progress::Overdue]);
    let (place, holes) = (Place::Nursery, Vec::new());
    let lost = What::Lost { batch: b2(), place, plants: Amount::All, holes, cause: "frost".to_owned() };
    let lost = Journal::new(vec![entry(EntryId(1), date("2026-09-14"), "hall", lost)]);
    assert_eq!(progress(&lost, "2026-09-15", "b-0002", TaskKind::Transplant), [Progress::Dropped]);
    assert_eq!(progress(&lost, "2026-09-15", "b-0002", TaskKind::Harvest), [Progress::Dropped; 3]);
    let closed = Journal::new(vec![entry(EntryId(1), date("2026-09-07"), "hall", What::ClassLost)]);
    assert_eq!(progress(&closed, "2026-09-08", "b-0002", TaskKind::Sow), [Progress::Overdue]);
}
