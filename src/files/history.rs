//! Every plan of a term: `plan.yaml` is the newest, `plans/plan-NNNN.yaml` keeps each under its number.
//!
//! A plan is first kept and only then becomes the newest. Both happen under the term's lock, and a kept file is
//! never replaced; so whoever is interrupted, and however many plan at once, no plan is lost.

use super::problem::{Problem, Problems};
use super::{lock, plan_file};
use crate::domain::plan::Plan;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

/// Name of the newest plan's file within a term's folder.
pub const NEWEST: &str = "plan.yaml";

/// Name of the folder with all plans.
const FOLDER: &str = "plans";

/// Reason of a plan that somebody changed in `plan.yaml`.
const BY_HAND: &str = "changed by hand";

/// Why a plan could not be saved.
#[derive(Debug, thiserror::Error)]
pub enum SaveError {
    /// The plan from before cannot be read, so it could not be kept.
    #[error("{0}")]
    Unread(Problems),
    /// A file could not be written.
    #[error("{}: {error}", .path.display())]
    Unwritten {
        /// The file.
        path: PathBuf,
        /// Why not.
        error: io::Error,
    },
}

/// Where plan `number` is kept.
pub fn path(folder: &Path, number: u32) -> PathBuf {
    folder.join(FOLDER).join(format!("plan-{number:04}.yaml"))
}

/// Numbers of all kept plans, sorted.
///
/// # Errors
/// If the folder cannot be read; without one, no plan is kept yet.
pub fn numbers(folder: &Path) -> io::Result<Vec<u32>> {
    let entries = match fs::read_dir(folder.join(FOLDER)) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(Vec::new()),
        entries => entries?,
    };
    let mut numbers = Vec::new();
    for entry in entries {
        let name = entry?.file_name();
        let number = name.to_str().and_then(|name| name.strip_prefix("plan-")?.strip_suffix(".yaml"));
        numbers.extend(number.and_then(|digits| digits.parse::<u32>().ok()));
    }
    numbers.sort_unstable();
    numbers.dedup();
    Ok(numbers)
}

/// Reads the kept plan of that number.
///
/// # Errors
/// If it cannot be read, or holds a plan of another number.
pub fn read(folder: &Path, number: u32) -> Result<Plan, Problems> {
    let path = path(folder, number);
    let plan = plan_file::read(&path)?;
    if plan.revision == number {
        return Ok(plan);
    }
    let title = format!("this file holds plan {}, not plan {number}", plan.revision);
    Err(Problem::without_text(&path, title, "give the file its old name back").alone())
}

/// Saves a plan that passed the checker as the newest, and keeps it under the next free number. Returns it as saved.
///
/// If it says the same as the newest, it keeps that one's number, time and reason, so that calendars stay as they
/// are. A newest plan that is not kept yet, or was changed by hand since, is kept first.
///
/// # Errors
/// If the newest plan cannot be read, or a file cannot be written. Every plan saved before is then unharmed.
pub fn save(folder: &Path, plan: &Plan) -> Result<Plan, SaveError> {
    let _lock = lock::take(folder).map_err(unwritten(folder))?;
    let newest_path = folder.join(NEWEST);
    let newest = if newest_path.exists() {
        Some(plan_file::read(&newest_path).map_err(SaveError::Unread)?)
    } else {
        None
    };
    let mut saved = plan.clone();
    if let Some(newest) = &newest {
        // Who planned at the same time for the first time has another identity; the first one counts.
        saved.term_id.clone_from(&newest.term_id);
        saved.last_number = saved.last_number.max(newest.last_number);
        saved.keep_last_task_numbers(newest);
        keep_newest(folder, newest)?;
        if newest.says_the_same(plan) {
            saved.revision = newest.revision;
            saved.made = newest.made;
            saved.reason.clone_from(&newest.reason);
            plan_file::write(&newest_path, &saved).map_err(unwritten(&newest_path))?;
            return Ok(saved);
        }
    }
    saved.revision = keep_anew(folder, &saved, newest.map_or(0, |newest| newest.revision))?;
    plan_file::write(&newest_path, &saved).map_err(unwritten(&newest_path))?;
    Ok(saved)
}

/// Writes what is newly known about the newest plan, unless another plan has taken its place meanwhile.
///
/// # Errors
/// As [`save`].
pub fn refresh(folder: &Path, plan: &Plan) -> Result<(), SaveError> {
    let _lock = lock::take(folder).map_err(unwritten(folder))?;
    let path = folder.join(NEWEST);
    let newest = plan_file::read(&path).map_err(SaveError::Unread)?;
    if newest.revision == plan.revision && newest.says_the_same(plan) {
        plan_file::write(&path, plan).map_err(unwritten(&path))?;
    }
    Ok(())
}

/// Keeps the newest plan if it is not kept: it is from a sowtide that kept none, or somebody changed it.
fn keep_newest(folder: &Path, newest: &Plan) -> Result<(), SaveError> {
    let path = path(folder, newest.revision);
    if !path.exists() {
        return plan_file::write_new(&path, newest).map_err(unwritten(&path));
    }
    let kept = plan_file::read(&path).is_ok_and(|kept| kept.says_the_same(newest));
    if kept || was_kept_by_hand(folder, newest)? {
        return Ok(());
    }
    let mut changed = newest.clone();
    BY_HAND.clone_into(&mut changed.reason);
    keep_anew(folder, &changed, newest.revision).map(|_| ())
}

/// Whether the same change by hand was kept already, when a later step of saving failed.
fn was_kept_by_hand(folder: &Path, newest: &Plan) -> Result<bool, SaveError> {
    let numbers = numbers(folder).map_err(unwritten(&folder.join(FOLDER)))?;
    let last = numbers.last().and_then(|number| read(folder, *number).ok());
    Ok(last.is_some_and(|last| last.reason == BY_HAND && last.says_the_same(newest)))
}

/// Keeps a plan under the next free number above `least`, and returns the number.
fn keep_anew(folder: &Path, plan: &Plan, least: u32) -> Result<u32, SaveError> {
    let kept = numbers(folder).map_err(unwritten(&folder.join(FOLDER)))?;
    let mut plan = plan.clone();
    plan.revision = kept.last().map_or(least, |last| least.max(*last));
    loop {
        plan.revision = plan.revision.saturating_add(1);
        let path = path(folder, plan.revision);
        match plan_file::write_new(&path, &plan) {
            // Where locks do not work, somebody else may have taken the number.
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists && plan.revision < u32::MAX => {}
            written => return written.map(|()| plan.revision).map_err(unwritten(&path)),
        }
    }
}

fn unwritten(path: &Path) -> impl FnOnce(io::Error) -> SaveError + use<> {
    let path = path.to_path_buf();
    move |error| SaveError::Unwritten { path, error }
}
