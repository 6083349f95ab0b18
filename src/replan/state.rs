//! Replays plan and journal up to a day: what stands in trays and tanks, and which work is due.
//!
//! # What nobody wrote down
//!
//! Schools rarely record everything, so planned work of days gone by **counts as done as planned** unless the journal
//! says otherwise. It says otherwise where
//!
//! - work of the same kind was recorded at the same site both for that day or an earlier one and for that day or a later
//!   one: who records sowings would have recorded this one. Such work is *overdue*. Before the first entry of its kind
//!   and after the last, a site's records are taken to be not kept;
//! - the batch was moved or harvested on another day, to which no other planned day is nearer;
//! - the class of that day was recorded as lost;
//! - something was recorded that could not be if the work had been done, such as plants counted in the nursery after
//!   the day on which they should have left it.
//!
//! The other way round, what is recorded of a batch shows that earlier work was done: plants harvested from a tank were
//! moved there, on the planned day if no other was recorded.
//!
//! Once a plan was made anew, it tells itself what was recorded until then: what it says of the days before counts as
//! done, and only what was recorded, corrected or withdrawn since can say otherwise.
//!
//! Losses reduce what stands, and planned work with it. A move that is recorded for a batch and tank settles what was
//! planned to be moved there then, be it more plants or fewer; seedlings left over after the last move count as given up.

mod batch;
mod believed;
mod records;
mod steps;
mod tanks;

use super::outages::outages;
use super::refusal::Refusal;
use crate::domain::journal::{Entry, EntryId, Journal};
use crate::domain::plan::Plan;
use crate::domain::state::State;
use crate::domain::term::Term;
use batch::BatchReplay;
use believed::Believed;
use chrono::NaiveDate;
use records::Records;

/// How things stand on `today`: after everything recorded up to that day, but before unrecorded work of the day itself.
///
/// Entries that cannot be true count as far as they can: no more is taken away than stands.
pub fn state(term: &Term, plan: &Plan, journal: &Journal, today: NaiveDate) -> State {
    replay(term, plan, journal, today).state
}

/// A replay and what did not fit in it.
pub(super) struct Replayed {
    pub(super) state: State,
    /// Entries that cannot be true, by number.
    pub(super) impossible: Vec<(EntryId, Refusal)>,
}

/// Replays a journal up to `today`.
pub(super) fn replay(term: &Term, plan: &Plan, journal: &Journal, today: NaiveDate) -> Replayed {
    let in_force = journal.in_force();
    let past: Vec<&Entry> = in_force.iter().copied().filter(|entry| entry.day <= today).collect();
    let believed = Believed::new(&past, plan, today);
    let mut state = State::default();
    let mut impossible = Vec::new();
    let mut records = Records::by_batch(journal, &past, plan);
    for batch in &plan.batches {
        let records = records.remove(&batch.id).unwrap_or_default();
        let mut replay = BatchReplay::new(term, batch, records, &plan.known);
        replay.run(&believed);
        state.steps.extend(steps::of(&replay, today));
        impossible.append(&mut replay.impossible);
        state.batches.push(replay.finish());
    }
    state.steps.sort_by(|one, other| {
        (one.day, &one.site, one.work, &one.batch).cmp(&(other.day, &other.site, other.work, &other.batch))
    });
    state.classes_lost = believed.classes_lost_today(term);
    state.tanks_out = outages(&in_force).into_iter().filter(|out| out.holds_on(today)).collect();
    impossible.sort_by_key(|(id, _)| *id);
    Replayed { state, impossible }
}
