//! What a term leaves to the next one.

use crate::journal::{accepted, anything};
use crate::order::supplies;
use crate::sample::{date, folder, plan, term};
use crate::support::few;
use chrono::NaiveDate;
use proptest::collection::vec;
use proptest::prelude::*;
use sowtide::desk::{Desk, Moment, Next};
use sowtide::domain::calendar::{DateSpan, plus_days};
use sowtide::domain::ids::{BatchId, CropId};
use sowtide::domain::leftover::{Leftover, Sown, leftover};
use sowtide::domain::supplies::{Medium, SeedAmount};
use sowtide::domain::term::Term;
use sowtide::files::store::{Memory, Store};
use sowtide::files::{history, journal_file, library, plan_file, term_file};
use sowtide::replan::state::state;
use std::fs;

fn near(one: f64, other: f64) -> bool {
    (one - other).abs() < 1e-6
}

/// What is left of the stock of the order's tests, with these plugs sown.
fn left(packed: Option<i32>, sown: &[(&str, u32)]) -> Leftover {
    let mut term = Term { supplies: supplies(), ..term() };
    term.supplies.seed[0].packed = packed;
    let sown: Sown = sown.iter().map(|(batch, plugs)| (BatchId::new(*batch), *plugs)).collect();
    leftover(&term, &plan(), &sown)
}

/// Oakleaf: 5 seeds are there, and the order tells to buy 2 packets of 10 for the 20 to be laid. Leaf mustard: a packet
/// of half a gram, 450 seeds, of which 12 are laid; 438 at 900 a gram are 0.4866 g.
#[test]
fn seed_that_is_left_by_hand() {
    let found = left(Some(2023), &[("b-0002", 10), ("b-0003", 6)]);
    let [oakleaf, mustard] = &found.seed[..] else { panic!("{found:?}") };
    assert_eq!((&oakleaf.crop, oakleaf.amount), (&CropId::new("oakleaf"), SeedAmount::Seeds(5)));
    // The old ones were laid first.
    assert_eq!((oakleaf.bought, oakleaf.packed, oakleaf.year_guessed), (2, 2026, true));
    assert_eq!((mustard.amount, mustard.packed), (SeedAmount::Grams(0.48), 2026));
    assert_eq!(found.supplies.seed[0].on_hand, Some(SeedAmount::Seeds(5)));
    // What was really sown counts: more, less, so few that old seed is left, and more than there was.
    let oakleaf = |plugs| left(Some(2023), &[("b-0002", plugs)]).supplies.seed[0].clone();
    assert_eq!(oakleaf(12).on_hand, Some(SeedAmount::Seeds(1)));
    assert_eq!((oakleaf(2).on_hand, oakleaf(2).packed), (Some(SeedAmount::Seeds(21)), Some(2023)));
    assert_eq!(oakleaf(30).on_hand, Some(SeedAmount::Seeds(0)));
    assert_eq!(left(None, &[]).seed[0].amount, SeedAmount::Seeds(25));
    assert!(left(None, &[]).seed[0].year_guessed);
}

/// Plugs: 4 and two packs of 10, less 16. Net cups are washed. Medium: two packs, less 1.4 litres. Nutrient: 0.1 and three
/// half litres, less 1.1165.
#[test]
fn other_supplies_that_are_left_by_hand() {
    let found = left(None, &[("b-0002", 10), ("b-0003", 6)]).supplies;
    assert!(near(found.plugs.on_hand, 8.0) && near(found.net_cups.on_hand, 20.0));
    assert!(near(found.medium.unwrap().stock.on_hand, 0.6));
    assert!(near(found.doses[0].stock.on_hand, 0.484));
    let mut term = Term { supplies: supplies(), ..term() };
    term.supplies.medium = term.supplies.medium.map(|medium| Medium { reused: true, ..medium });
    term.supplies.plugs.pack = None;
    let found = leftover(&term, &plan(), &Sown::new()).supplies;
    assert!(near(found.medium.unwrap().stock.on_hand, 2.0), "pebbles are washed, too");
    assert!(near(found.plugs.on_hand, 4.0));
}

/// The sample term in memory, with its plan.
fn planned() -> Memory {
    let store = ["term.yaml", "crops/oakleaf.yaml", "crops/leaf-mustard.yaml"]
        .iter()
        .fold(Memory::new(), |store, name| {
            store.with(name, &fs::read_to_string(folder().join(name)).unwrap())
        });
    plan_file::write(&store, history::NEWEST, &plan()).unwrap();
    store
}

fn onward(first: NaiveDate) -> Next {
    Next { span: DateSpan { first, last: plus_days(first, 80) }, name: None }
}

/// Every crop of the library has a list that tells how long its seed keeps.
#[test]
fn of_every_crop_it_is_known_how_long_its_seed_keeps() {
    let library = library::Library::builtin().unwrap();
    let unknown: Vec<_> = library
        .iter()
        .filter(|crop| sowtide::domain::longevity::longevity(crop).is_none())
        .map(|crop| &crop.id)
        .collect();
    assert!(unknown.is_empty(), "{unknown:?}");
}

proptest! {
    #![proptest_config(few(48))]

    /// Whatever was recorded, the next term is read, and holds each plant that stands at the end, or says that it is too old.
    #[test]
    fn whatever_a_journal_says_the_next_term_is_read(
        drafts in vec(anything(), 1..8), after in 1..40_u32,
    ) {
        let (old, plan, store) = (term(), plan(), planned());
        let journal = accepted(&old, &plan, drafts, old.end);
        {
            let held = store.lock(&|| {}).unwrap();
            journal_file::add(&store, &held, &journal_file::Written::default(), journal.entries()).unwrap();
        }
        let desk = Desk { store: &store, moment: Moment::noon(date("2026-11-20")), face: &() };
        let onward = desk.next(&onward(plus_days(old.end, after)));
        let onward = onward.map_err(|trouble| TestCaseError::fail(trouble.to_string()))?;
        let new = onward.made.files.iter().fold(Memory::new(), |store, (name, bytes)| {
            store.with(name, std::str::from_utf8(bytes).unwrap())
        });
        let read = term_file::read(&new).map_err(|problems| TestCaseError::fail(problems.to_string()))?;
        prop_assert_eq!(&read.term, &onward.made.read.term);
        let standing = read.term.standing.iter().chain(&onward.made.cleared);
        let end = state(&old, &plan, &journal, plus_days(old.end, 1));
        let lives = end.batches.iter().map(|batch| batch.in_tanks() + batch.tray.seedlings());
        prop_assert_eq!(standing.map(|standing| standing.plants).sum::<u32>(), lives.sum::<u32>());
    }
}
