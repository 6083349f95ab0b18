//! One replay tells how things stand, what can be true and what the plan is like now: they never speak of different
//! plants.

use crate::replan::{happenings, planned};
use crate::sample::{plan as sample_plan, term as sample_term};
use crate::support::any::any_term;
use crate::support::few;
use chrono::{Days, NaiveDate};
use proptest::collection::vec;
use proptest::prelude::*;
use sowtide::domain::ids::{BatchId, TankId};
use sowtide::domain::journal::Journal;
use sowtide::domain::plan::Plan;
use sowtide::domain::state::Tray;
use sowtide::domain::term::Term;
use sowtide::replan::state::state;
use sowtide::replan::{carried, first_open_day};
use std::collections::BTreeMap;

/// Plants treated alike, by batch: tank, when they were moved there, cuts before the term and the days of those since.
type Stands = BTreeMap<(BatchId, TankId, NaiveDate, u32, Vec<NaiveDate>), (u32, Vec<u32>)>;

/// What grows on a day: trays, and plants in tanks with their holes, however the plan is divided into parts.
fn standing(
    term: &Term,
    plan: &Plan,
    journal: &Journal,
    today: NaiveDate,
) -> (BTreeMap<BatchId, Tray>, Stands) {
    let mut stands = Stands::new();
    let mut trays = BTreeMap::new();
    for batch in state(term, plan, journal, today).batches {
        for stand in batch.stands {
            let key = (batch.batch.clone(), stand.tank, stand.transplanted, stand.cuts_before, stand.cuts);
            let (plants, holes) = stands.entry(key).or_default();
            *plants += stand.plants;
            holes.extend(stand.holes);
            holes.sort_unstable();
        }
        if batch.tray.plugs > 0 {
            trays.insert(batch.batch, batch.tray);
        }
    }
    (trays, stands)
}

/// The plan that tells the past itself agrees with the one that listens to the journal.
fn agrees(term: &Term, plan: &Plan, journal: &Journal, today: NaiveDate) -> Result<(), TestCaseError> {
    // Planning goes on once the days that something was recorded of are over.
    let today = first_open_day(journal, today);
    let once = carried(term, plan, journal, today);
    let told = standing(term, &once, journal, today);
    prop_assert_eq!(&told, &standing(term, plan, journal, today), "{:#?}", journal.in_force());
    let twice = carried(term, &once, journal, today);
    for (one, other) in twice.batches.iter().zip(&once.batches) {
        prop_assert_eq!(one, other, "{:#?}", journal.in_force());
    }
    prop_assert_eq!(twice.batches.len(), once.batches.len());
    Ok(())
}

proptest! {
    #![proptest_config(few(60))]

    #[test]
    fn the_plan_as_it_stands_tells_what_the_journal_tells(
        drafts in vec(crate::journal::anything(), 1..25), until in 0..61_u64, later in 0..61_u64,
    ) {
        let (term, plan) = (sample_term(), sample_plan());
        let journal = crate::journal::accepted(&term, &plan, drafts, term.start + Days::new(until));
        agrees(&term, &plan, &journal, term.start + Days::new(until))?;
        agrees(&term, &plan, &journal, term.start + Days::new(until.max(later)))?;
    }
}

proptest! {
    #![proptest_config(few(24))]

    #[test]
    fn so_it_does_on_any_term(
        term in any_term(), seeds in crate::replan::any_seeds(), days in 1..90_u64, later in 0..20_u64,
    ) {
        let Some(plan) = planned(&term) else { return Ok(()) };
        let today = (term.start + Days::new(days)).min(term.end);
        let journal = happenings(&term, &plan, &seeds, today);
        for today in [today, today + Days::new(later)] {
            agrees(&term, &plan, &journal, today)?;
        }
    }
}
