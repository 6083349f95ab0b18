//! Replays plan and journal up to a day: what happened to every plant.
//!
//! How things stand ([`state`](super::state)), which entries cannot be true ([`accept`](super::accept)) and the plan as
//! it stands ([`carried`](super::carried)) are all told from this replay, so that they never speak of different plants.
//! Each batch is a list of *lots*: plants that share their part of the plan, tank, holes and history. When something
//! happens to some of a lot's plants only, it is split.
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
//! Seedlings that lost classes leave alone for longer than their nursery lasts **count as lost** (`alone.rs`), until a count, a move
//! or a loss of seedlings recorded for a later day says what stood there.
//!
//! The other way round, what is recorded of a batch shows that earlier work was done: plants harvested from a tank were
//! moved there, on the planned day if no other was recorded.
//!
//! Once a plan was made anew, it tells itself what was recorded until then: what it says of the days before counts as
//! done, and only what was recorded, corrected or withdrawn since can say otherwise. What an entry says of the nursery
//! is replayed for good, as a plan knows plants and no plugs.
//!
//! # Which plants are meant
//!
//! - A **move** takes seedlings planned for that tank, those whose day is nearest; if these are not enough, others that
//!   wait, the nearest first; then such as had been given up; then spare ones nobody had planned for. It settles what
//!   was planned to be moved there then, be it more plants or fewer: who was to move with them and did not is given up,
//!   unless somebody records them, too.
//! - A **harvest** takes the plants in the holes that are named. Where none are, it takes those whose planned harvest it
//!   is most like (`likeness.rs`), or for which nothing is planned any more, then others; those harvested the
//!   same day come last, and among equals the lowest holes first. Plants moved on that very day are not harvested. The
//!   last cut that a crop can give ends a plant, whatever it was called: nobody knows what would grow after it.
//! - A **loss** in a tank takes the plants in the holes that are named, else those in the last holes.
//! - A loss **in the nursery**, a count of seedlings or a sowing that leaves fewer seedlings than were planned for takes
//!   them from those that would move last; spare plugs are there to be lost first.
//! - Two plants cannot stand in **one hole**. Where nobody recorded that the later ones were moved there, or anything of
//!   them since, they still wait in the nursery. So do those for which a tank has no room as more were moved there before
//!   than had been planned. Where somebody did, they stand in other holes of the tank; a move for which these do not
//!   suffice is a mistake, and if it is in the journal, the earlier plants are gone.

mod alone;
mod batch;
mod believed;
mod clash;
mod crowd;
mod likeness;
mod lot;
mod meant;
mod nursery;
mod records;
mod tanks;

use super::refusal::Refusal;
use crate::domain::ids::SiteId;
use crate::domain::journal::{Entry, EntryId, Journal};
use crate::domain::plan::Plan;
use crate::domain::term::Term;
use believed::Believed;
use chrono::NaiveDate;
use records::Records;

pub(super) use batch::{BatchReplay, Done};
pub(super) use lot::{Event, Happened, Lot};
pub(super) use tanks::stood_on;

/// What happened until a day.
pub(super) struct Replay<'a> {
    /// Every batch of the plan, in its order.
    pub(super) batches: Vec<BatchReplay<'a>>,
    /// Entries that cannot be true, by number. They count as far as they can: no more is taken away than stands.
    pub(super) impossible: Vec<(EntryId, Refusal)>,
    /// Sites whose class of the day was recorded as lost.
    pub(super) classes_lost: Vec<SiteId>,
}

/// What counts of a journal up to `today`. An entry that names another site than its batch stands at is a mistake, and
/// nobody knows which of the two is meant.
pub(super) fn heard<'a>(plan: &Plan, journal: &'a Journal, today: NaiveDate) -> Vec<&'a Entry> {
    let elsewhere = |entry: &Entry| {
        let batch = plan.batches.iter().find(|batch| Some(&batch.id) == entry.what.batch());
        batch.is_some_and(|batch| entry.site.as_ref().is_some_and(|site| *site != batch.site))
    };
    let in_force = journal.in_force().into_iter();
    in_force.filter(|entry| entry.day <= today && !elsewhere(entry)).collect()
}

/// Replays a journal up to `today`: after everything recorded up to that day, but before unrecorded work of the day
/// itself.
pub(super) fn replay<'a>(
    term: &'a Term,
    plan: &'a Plan,
    journal: &'a Journal,
    today: NaiveDate,
) -> Replay<'a> {
    let past = heard(plan, journal, today);
    let believed = Believed::new(&past, plan, today);
    let mut records = Records::by_batch(journal, &past, plan);
    let mut batches: Vec<BatchReplay> = Vec::new();
    let mut impossible = Vec::new();
    for batch in &plan.batches {
        let records = records.remove(&batch.id).unwrap_or_default();
        let mut replay = BatchReplay::new(term, plan, batch, records);
        replay.run(&believed);
        impossible.append(&mut replay.impossible);
        batches.push(replay);
    }
    let crowded = crowd::part(term, &mut batches, &believed);
    clash::part(term, &mut batches, &believed);
    let news = |id: EntryId| past.iter().any(|entry| entry.id == id && !plan.known.knows(entry));
    impossible.extend(crowded.into_iter().filter(|(id, _)| news(*id)));
    for batch in &mut batches {
        lot::join(&mut batch.lots);
    }
    impossible.sort_by_key(|(id, _)| *id);
    Replay { batches, impossible, classes_lost: believed.classes_lost_today(term) }
}
