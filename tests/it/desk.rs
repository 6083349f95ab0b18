//! Planning and recording from code, and what becomes of two who do so at once.

use crate::sample;
use crate::support::{day, few};
use chrono::{Days, NaiveDate};
use proptest::collection::vec;
use proptest::prelude::*;
use sowtide::desk::{Again, Desk, Draft, Import, Moment, Recorded, Search, Trouble};
use sowtide::domain::crop::Limits;
use sowtide::domain::ids::{BatchId, SiteId, TankId};
use sowtide::domain::journal::{Amount, Entry, EntryId, Place, What};
use sowtide::domain::known::KnownEntries;
use sowtide::domain::term::{Location, Term};
use sowtide::files::problem::TextFile;
use sowtide::files::store::{Memory, Store};
use sowtide::files::{history, journal_file, plan_file};
use sowtide::replan::Steady;
use sowtide::schedule::{self, Options, ScheduleError, Watch};
use std::collections::BTreeMap;
use std::fs;

const SEARCH: Search = Search { seed: 1, effort: Some(2), until_stopped: false };
const TODAY: &str = "2026-09-28";

fn watch(threads: usize) -> Watch<'static> {
    Watch { stop: &|| false, report: &|_| {}, threads }
}

/// The sample term with its plan, in memory.
fn planned() -> Memory {
    let mut store = Memory::new();
    for name in ["term.yaml", "crops/oakleaf.yaml", "crops/leaf-mustard.yaml"] {
        store = store.with(name, &fs::read_to_string(sample::folder().join(name)).unwrap());
    }
    plan_file::write(&store, history::NEWEST, &sample::plan()).unwrap();
    store
}

fn desk(store: &Memory) -> Desk<'_> {
    Desk { store, moment: Moment::noon(day(TODAY)), face: &() }
}

fn lose(desk: &Desk<'_>, batch: &str, plants: Amount) -> Result<Recorded, Trouble> {
    desk.record(|clerk| {
        let batch = BatchId::new(batch);
        let site = clerk.site_of_batch(&batch, None);
        let what =
            What::Lost { batch, place: Place::Nursery, plants, holes: Vec::new(), cause: "mould".to_owned() };
        Ok(vec![Draft { day: clerk.today, site, by: None, what, replaces: None }])
    })
}

fn all(store: &Memory) -> Vec<Option<Vec<u8>>> {
    let kept = store.names("plans").unwrap().into_iter().map(|name| format!("plans/{name}"));
    kept.chain(["plan.yaml".to_owned(), "journal.yaml".to_owned()])
        .map(|name| store.read(&name).unwrap())
        .collect()
}

#[test]
fn a_plan_begun_before_somebody_recorded_is_not_saved_over_it() {
    let store = planned();
    let desk = desk(&store);
    lose(&desk, "b-0003", Amount::All).unwrap();
    let begun = desk.begin_again(None).unwrap();
    let Again::New(planned) = begun.seek(&SEARCH, Steady::Usual, &watch(2)).unwrap() else {
        panic!("a lost batch is news");
    };
    let note = What::Note { batch: None, text: "lamp replaced".to_owned() };
    let draft = Draft { day: day(TODAY), site: None, by: None, what: note, replaces: None };
    desk.record(|_| Ok(vec![draft])).unwrap();
    let before = all(&store);
    let refused = desk.finish_again(&begun, &planned, None).unwrap_err().to_string();
    assert!(refused.contains("j002 was recorded") && refused.contains("Nothing was saved"), "{refused}");
    assert_eq!(all(&store), before);
}

#[test]
fn of_two_plannings_at_once_the_later_one_is_refused() {
    let store = planned();
    let desk = desk(&store);
    lose(&desk, "b-0003", Amount::All).unwrap();
    let (one, other) = (desk.begin_again(None).unwrap(), desk.begin_again(None).unwrap());
    let seek = |begun: &sowtide::desk::BegunAgain, seed| match begun.seek(
        &Search { seed, ..SEARCH },
        Steady::Low,
        &watch(2),
    ) {
        Ok(Again::New(planned)) => planned,
        other => panic!("{other:?}"),
    };
    let (first, second) = (seek(&one, 1), seek(&other, 2));
    desk.finish_again(&one, &first, None).unwrap();
    let before = all(&store);
    let refused = desk.finish_again(&other, &second, None).unwrap_err().to_string();
    assert!(refused.contains("somebody else saved another plan"), "{refused}");
    assert_eq!(all(&store), before);
}

#[test]
fn an_entry_is_held_against_the_plan_that_counts_when_it_is_written() {
    let store = planned();
    let desk = desk(&store);
    let mut plan = sample::plan();
    plan.batches.retain(|batch| batch.id.as_str() != "b-0003");
    plan_file::write(&store, history::NEWEST, &plan).unwrap();
    let refused = lose(&desk, "b-0003", Amount::All).unwrap_err().to_string();
    assert!(refused.contains("not recorded"), "{refused}");
    assert_eq!(store.read("journal.yaml").unwrap(), None);
}

#[test]
fn an_old_copy_of_the_plan_gives_no_number_a_second_time() {
    let store = planned();
    let desk = desk(&store);
    let mut newer = sample::plan();
    newer.revision += 1;
    newer.last_number += 40;
    newer.known = KnownEntries::new(7, BTreeMap::new());
    plan_file::write(&store, &history::name(newer.revision), &newer).unwrap();
    let recorded = lose(&desk, "b-0003", Amount::All).unwrap();
    assert_eq!(recorded.entries[0].id, EntryId(8));
    assert_eq!(desk.begin_again(None).unwrap().known.last_number, newer.last_number);
}

#[test]
fn a_term_file_changed_meanwhile_is_noticed() {
    let store = planned();
    let desk = desk(&store);
    lose(&desk, "b-0003", Amount::All).unwrap();
    let begun = desk.begin_again(None).unwrap();
    let Ok(Again::New(planned)) = begun.seek(&SEARCH, Steady::Usual, &watch(2)) else {
        panic!("a lost batch is news");
    };
    let text = String::from_utf8(store.read("term.yaml").unwrap().unwrap()).unwrap();
    store.write("term.yaml", text.replace("480 g", "500 g").as_bytes()).unwrap();
    let refused = desk.finish_again(&begun, &planned, None).unwrap_err().to_string();
    assert!(refused.contains("the term file was changed"), "{refused}");
}

#[test]
fn one_thread_makes_the_same_plan_as_two() {
    let term = sample::term();
    let options = Options {
        seed: 3,
        effort: Some(20),
        until_stopped: false,
        term_id: "0123456789abcdef".to_owned(),
        made: chrono::DateTime::UNIX_EPOCH,
    };
    let plan = |threads| schedule::plan(&term, None, &options, &watch(threads)).unwrap();
    assert_eq!(plan(1), plan(2));
}

/// A way in which a term can be broken.
type Breakage = fn(&mut Term);

/// Binds the first crop to sites and tanks.
fn bind(term: &mut Term, places: &[(&str, Option<&str>)]) {
    let location = |(site, tank): &(&str, Option<&str>)| Location {
        site: SiteId::new(*site),
        tank: tank.map(TankId::new),
    };
    term.crops[0].only_in = places.iter().map(location).collect();
}

#[test]
fn a_term_made_in_code_is_checked_like_one_that_was_read() {
    assert_eq!(sample::term().faults(), Vec::<String>::new());
    let far: fn() -> NaiveDate = || day("2031-01-01");
    let breakages: [(&str, Breakage); 19] = [
        ("must end on or after its first day", |term| term.end = term.start.pred_opt().unwrap()),
        ("needs a site", |term| term.sites.clear()),
        ("needs a crop", |term| term.crops.clear()),
        ("is there twice", |term| term.sites[1].id = term.sites[0].id.clone()),
        ("cannot be a name for files", |term| term.sites[0].id = SiteId::new("Room 4")),
        ("must be sorted", |term| term.sites[0].class_days.reverse()),
        ("pH is NaN", |term| term.sites[0].tanks[0].ph = f64::NAN),
        ("rows of holes is 0", |term| term.sites[0].tanks[0].lid.rows = 0),
        ("target in grams is -5", |term| term.servings[0].grams = -5.0),
        ("germination is 0", |term| term.crops[0].crop.germination.value = 0.0),
        ("lies outside its own spread", |term| {
            term.crops[0].crop.tank_survival.spread = Some(Limits { low: 0.1, high: 0.2 });
        }),
        ("variation between plants is 2", |term| term.crops[0].crop.variation.value.between_plants = 2.0),
        ("share of one tank is 2", |term| term.rules.one_tank_at_most = 2.0),
        ("is to cover more than it may", |term| term.crops[0].at_least = 1.5),
        ("is bound to a site or tank the term does not name", |term| bind(term, &[("attic", None)])),
        ("is bound to a site or tank the term does not name", |term| bind(term, &[("hall", Some("attic"))])),
        ("is bound twice to the same tank", |term| bind(term, &[("hall", None), ("hall", None)])),
        ("is bound twice to the same tank", |term| {
            bind(term, &[("hall", Some("blue")), ("hall", Some("blue"))]);
        }),
        ("is bound twice to the same tank", |term| bind(term, &[("hall", Some("blue")), ("hall", None)])),
    ];
    for (words, breakage) in breakages {
        let mut term = sample::term();
        breakage(&mut term);
        let faults = term.faults();
        assert!(faults.iter().any(|fault| fault.contains(words)), "{words}: {faults:?}");
        let options = Options {
            seed: 1,
            effort: Some(1),
            until_stopped: false,
            term_id: String::new(),
            made: chrono::DateTime::UNIX_EPOCH,
        };
        let refused = schedule::plan(&term, None, &options, &watch(1));
        assert_eq!(refused, Err(ScheduleError::Unsound(faults)));
    }
    let mut term = sample::term();
    term.servings[0].date = far();
    assert!(!term.faults().is_empty());
}

proptest! {
    #![proptest_config(few(48))]

    /// Whether or not the entries can be true, and in however many pieces they come.
    #[test]
    fn a_journal_that_was_exported_comes_back_as_it_was(
        drafts in vec((crate::journal::anything(), 0..5_u8), 1..15), kept in 0..15_usize,
    ) {
        let term = sample::term();
        let mut entries: Vec<Entry> = Vec::new();
        // Plugs in the nursery stand in no holes, so no journal says so.
        let in_holes = |what: &What| what.tank().is_none() && !what.holes().is_empty();
        let drafts = drafts.into_iter().filter(|((_, _, what), _)| !in_holes(what));
        for (id, ((after, site, what), corrects)) in (1..).map(EntryId).zip(drafts) {
            let last = entries.last().filter(|last| last.what != What::Withdrawn);
            let replaces = last.filter(|_| corrects > 2).map(|last| last.id);
            let what = if replaces.is_some() && corrects == 4 { What::Withdrawn } else { what };
            let (recorded, by) = (Moment::noon(day(TODAY)).now, Some("=\"5b\"; @all".to_owned()));
            entries.push(Entry { id, recorded, day: term.start + Days::new(after), site: Some(SiteId::new(site)), by, what, replaces });
        }
        let (whole, part) = (with(&entries), with(&entries[..kept.min(entries.len())]));
        let (opened, plan) = desk(&whole).open_planned().unwrap();
        let table = TextFile::new("journal.csv", &opened.as_table(&plan, day(TODAY)));
        let back = desk(&part).import(&table, &Import::default());
        prop_assert!(back.is_ok(), "{}", back.unwrap_err());
        prop_assert_eq!(desk(&part).open().unwrap().journal.journal, opened.journal.journal);
    }
}

/// The sample term with a journal.
fn with(entries: &[Entry]) -> Memory {
    let store = planned();
    let held = store.lock(&|| {}).unwrap();
    journal_file::add(&store, &held, &journal_file::read(&store).unwrap(), entries).unwrap();
    drop(held);
    store
}
