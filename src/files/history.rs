//! Every plan of a term: `plan.yaml` is the newest, `plans/plan-NNNN.yaml` keeps each under its number.
//!
//! A plan is first kept and only then becomes the newest. Both happen under the term's lock, and a kept file is
//! never replaced; so whoever is interrupted, and however many plan at once, no plan is lost.

use super::plan_file;
use super::problem::{Problem, Problems};
use super::store::{Lock, MOST_BYTES, Store, create_next};
use crate::domain::plan::Plan;
use std::io;

/// Name of the newest plan's file.
pub const NEWEST: &str = "plan.yaml";

/// Name of the folder with all plans.
pub const FOLDER: &str = "plans";

/// Where a plan that cannot be read is put, so that another can take its place and nothing is lost.
const UNREADABLE: &str = "plan-unreadable";

/// Reason of a plan that somebody changed in `plan.yaml`.
const BY_HAND: &str = "changed by hand";

/// Why a plan could not be saved.
#[derive(Debug, thiserror::Error)]
pub enum SaveError {
    /// The plan from before cannot be read, so it could not be kept.
    #[error("{0}")]
    Unread(#[from] Problems),
    /// A file could not be written.
    #[error("{path}: {error}")]
    Unwritten {
        /// The file, as people know it.
        path: String,
        /// Why not.
        error: io::Error,
    },
}

/// A plan as it was saved.
#[derive(Debug, Clone, PartialEq)]
pub struct Saved {
    /// The newest plan now.
    pub plan: Plan,
    /// Number under which the plan from before was kept, if somebody had changed it by hand.
    pub by_hand: Option<u32>,
    /// Name of the file in which the plan from before was kept, if it could not be read.
    pub unreadable: Option<String>,
}

/// Name of the file that keeps plan `number`.
pub fn name(number: u32) -> String {
    format!("{FOLDER}/plan-{number:04}.yaml")
}

/// Numbers of all kept plans, sorted.
///
/// # Errors
/// If the folder cannot be read; without one, no plan is kept yet.
pub fn numbers(store: &dyn Store) -> Result<Vec<u32>, Problems> {
    let names = store.names(FOLDER).map_err(|error| {
        let title = format!("the plans kept here cannot be read: {error}");
        Problem::without_text(store.shown(FOLDER), title, "check that you may open this folder").alone()
    })?;
    let number = |name: &String| name.strip_prefix("plan-")?.strip_suffix(".yaml")?.parse::<u32>().ok();
    // What is beyond no plan can have; somebody gave that name to a file.
    let mut numbers: Vec<u32> =
        names.iter().filter_map(number).filter(|number| *number <= plan_file::LAST_RUNNING).collect();
    numbers.sort_unstable();
    numbers.dedup();
    Ok(numbers)
}

/// Reads the kept plan of that number, if there is one.
///
/// # Errors
/// If it cannot be read, or holds a plan of another number.
pub fn read(store: &dyn Store, number: u32) -> Result<Option<Plan>, Problems> {
    let name = name(number);
    let Some(plan) = plan_file::read(store, &name)? else {
        return Ok(None);
    };
    if plan.revision == number {
        return Ok(Some(plan));
    }
    let title = format!("this file holds plan {}, not plan {number}", plan.revision);
    Err(Problem::without_text(store.shown(&name), title, "give the file its old name back").alone())
}

/// Saves a plan that passed the checker as the newest, and keeps it under the next free number.
///
/// If it says the same as the newest, it keeps that one's number, time and reason, so that calendars stay as they
/// are. A newest plan that is not kept yet, or was changed by hand since, is kept first. Numbers of batches and journal
/// entries that the newest or the last kept plan knows to be used stay used.
///
/// # Errors
/// If the newest plan cannot be read, or a file cannot be written. Every plan saved before is then unharmed.
pub fn save(store: &dyn Store, held: &Lock<'_>, plan: &Plan) -> Result<Saved, SaveError> {
    save_after(store, held, plan_file::read(store, NEWEST)?.as_ref(), plan)
}

/// As [`save`], where the newest plan was read already, or cannot be and was set aside.
///
/// # Errors
/// If a file cannot be written.
pub fn save_after(
    store: &dyn Store,
    held: &Lock<'_>,
    newest: Option<&Plan>,
    plan: &Plan,
) -> Result<Saved, SaveError> {
    let mut saved = plan.clone();
    let last = last_kept(store)?;
    if let Some(last) = &last {
        reserve(&mut saved, last);
    }
    let mut by_hand = None;
    if let Some(newest) = newest {
        saved.term_id.clone_from(&newest.term_id);
        reserve(&mut saved, newest);
        by_hand = keep_newest(store, newest)?;
        // A newest plan that is older than the last one kept was brought back from a copy: it gets a number of its own.
        let is_last = last.is_none_or(|last| last.revision <= newest.revision);
        if is_last && newest.says_the_same(plan) {
            saved.revision = newest.revision;
            saved.made = newest.made;
            saved.reason.clone_from(&newest.reason);
            put(store, held, &saved)?;
            return Ok(Saved { plan: saved, by_hand: None, unreadable: None });
        }
    }
    saved.revision = keep_anew(store, &saved, newest.map_or(0, |newest| newest.revision))?;
    put(store, held, &saved)?;
    Ok(Saved { plan: saved, by_hand, unreadable: None })
}

/// Makes a kept plan the newest again, just as it was. A newest plan that was changed by hand is kept first.
///
/// # Errors
/// If a file cannot be written.
pub fn restore(
    store: &dyn Store,
    held: &Lock<'_>,
    newest: Option<&Plan>,
    kept: Plan,
) -> Result<Saved, SaveError> {
    let by_hand = match newest {
        Some(newest) => keep_newest(store, newest)?,
        None => None,
    };
    put(store, held, &kept)?;
    Ok(Saved { plan: kept, by_hand, unreadable: None })
}

/// Writes a plan that is kept already, or says what the newest says, as the newest.
///
/// # Errors
/// If the file cannot be written.
pub fn put(store: &dyn Store, _held: &Lock<'_>, plan: &Plan) -> Result<(), SaveError> {
    plan_file::write(store, NEWEST, plan).map_err(unwritten(store, NEWEST))
}

/// Copies a newest plan that cannot be read, under a name of its own, and returns that name.
///
/// # Errors
/// If it cannot be copied as a whole.
pub fn set_aside(store: &dyn Store, _held: &Lock<'_>) -> Result<Option<String>, SaveError> {
    let Some(bytes) = store.read(NEWEST).map_err(unwritten(store, NEWEST))? else {
        return Ok(None);
    };
    if bytes.len() > MOST_BYTES {
        let error = io::Error::new(
            io::ErrorKind::FileTooLarge,
            "it is too large to be kept; move it out of the folder",
        );
        return Err(unwritten(store, NEWEST)(error));
    }
    create_next(store, |number| format!("{FOLDER}/{UNREADABLE}-{number}.yaml"), &bytes)
        .map(Some)
        .map_err(|(name, error)| unwritten(store, &name)(error))
}

/// Keeps numbers used that another plan of the term knows of.
pub fn reserve(plan: &mut Plan, other: &Plan) {
    plan.last_number = plan.last_number.max(other.last_number);
    plan.keep_last_task_numbers(other);
    plan.known.reserve(&other.known);
}

/// The kept plan with the highest number of all that can be read.
///
/// # Errors
/// If the folder cannot be read.
pub fn last_kept(store: &dyn Store) -> Result<Option<Plan>, Problems> {
    last_that(store, |_| true)
}

/// The last kept plan that sowtide made, so not one that only keeps what somebody changed by hand.
///
/// # Errors
/// If the folder cannot be read.
pub fn last_made(store: &dyn Store) -> Result<Option<Plan>, Problems> {
    last_that(store, |plan| plan.reason != BY_HAND)
}

fn last_that(store: &dyn Store, wanted: impl Fn(&Plan) -> bool) -> Result<Option<Plan>, Problems> {
    let readable = |number: &u32| read(store, *number).ok().flatten().filter(|plan| wanted(plan));
    Ok(numbers(store)?.iter().rev().find_map(readable))
}

/// Keeps the newest plan if it is not kept: it is from a sowtide that kept none, or somebody changed it. Then its number
/// is returned.
fn keep_newest(store: &dyn Store, newest: &Plan) -> Result<Option<u32>, SaveError> {
    let name = name(newest.revision);
    if store.read(&name).map_err(unwritten(store, &name))?.is_none() {
        plan_file::create(store, &name, newest).map_err(unwritten(store, &name))?;
        return Ok(None);
    }
    if is_kept(store, newest) {
        return Ok(None);
    }
    if let Some(number) = kept_by_hand(store, newest)? {
        return Ok(Some(number));
    }
    let mut changed = newest.clone();
    BY_HAND.clone_into(&mut changed.reason);
    keep_anew(store, &changed, newest.revision).map(Some)
}

/// Whether a plan is kept under its number just as it is.
fn is_kept(store: &dyn Store, plan: &Plan) -> bool {
    plan_file::read(store, &name(plan.revision))
        .is_ok_and(|kept| kept.is_some_and(|kept| kept.says_the_same(plan)))
}

/// Number of the same change by hand if it was kept already, when a later step of saving failed.
fn kept_by_hand(store: &dyn Store, newest: &Plan) -> Result<Option<u32>, SaveError> {
    let last = last_kept(store)?;
    let same = last.filter(|last| last.reason == BY_HAND && last.says_the_same(newest));
    Ok(same.map(|last| last.revision))
}

/// Keeps a plan under the next free number above `least`, and returns the number.
fn keep_anew(store: &dyn Store, plan: &Plan, least: u32) -> Result<u32, SaveError> {
    let mut plan = plan.clone();
    plan.revision = numbers(store)?.last().map_or(least, |last| least.max(*last));
    loop {
        plan.revision = plan.revision.saturating_add(1);
        let name = name(plan.revision);
        match plan_file::create(store, &name, &plan) {
            // Where locks do not work, somebody else may have taken the number.
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists && plan.revision < u32::MAX => {}
            written => return written.map(|()| plan.revision).map_err(unwritten(store, &name)),
        }
    }
}

fn unwritten(store: &dyn Store, name: &str) -> impl FnOnce(io::Error) -> SaveError + use<> {
    let path = store.shown(name);
    move |error| SaveError::Unwritten { path, error }
}
