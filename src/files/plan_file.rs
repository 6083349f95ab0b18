//! `plan.yaml`: written by planning, read by everything after it.
//!
//! Numbers are written in full, so that a plan read back is the very plan that was made.

mod convert;
mod mass_factors;
mod names;
mod numbers;
mod shape;

use super::problem::{Problems, TextFile};
use super::store::{Store, readable_again};
use super::yaml;
use crate::domain::plan::Plan;
use shape::PlanShape;
use std::io;

pub(super) use shape::{LAST_RUNNING, date_of, moment_of};

/// What people see who open the file.
const HEADER: &str = "\
# A term's plan, written by sowtide. Please do not edit it by hand: change the term file and plan again.
# Masses are grams, ready to eat where nothing else is said.
";

/// Reads a plan, if there is one of that name. Whether it is sound is for the checker to tell.
///
/// # Errors
/// If the file cannot be read or is no plan file.
pub fn read(store: &dyn Store, name: &str) -> Result<Option<Plan>, Problems> {
    let Some(file) = TextFile::read(store, name)? else { return Ok(None) };
    let plan = from_file(&file)?;
    refuse_used_up(&file, &plan)?;
    Ok(Some(plan))
}

/// Numbers that are kept for plans, batches and tasks to come: whoever writes higher ones by hand would have no plan after
/// this one.
const KEPT_FREE: u32 = 1_000_000;

fn refuse_used_up(file: &TextFile, plan: &Plan) -> Result<(), Problems> {
    let tasks = plan.batches.iter().flat_map(|batch| batch.task_numbers.values());
    let task = tasks.chain(plan.last_task_numbers.values()).copied().max().unwrap_or(0);
    let numbers =
        [("revision", plan.revision), ("last-number", plan.last_number), ("the number of a task", task)];
    let problems = numbers.into_iter().filter(|(_, number)| *number > LAST_RUNNING - KEPT_FREE);
    let problems = problems.map(|(what, number)| {
        let at = file.text().find(&number.to_string()).unwrap_or(0);
        file.problem(
            at..at + number.to_string().len(),
            format!("{what} is {number}, which leaves hardly any numbers for plans to come"),
            "put back the number that planning wrote; the plans kept in the folder plans have it",
        )
    });
    Problems::check(problems.collect())
}

/// Writes a plan, whole or not at all, after making sure that it can be read back as it is.
///
/// # Errors
/// If the plan would not be the same when read back, which means it holds numbers nobody can mean, or
/// if it would be too large to be read, or the file cannot be written. The old file is then unharmed.
pub fn write(store: &dyn Store, name: &str, plan: &Plan) -> io::Result<()> {
    store.write(name, sure_text(store, name, plan)?.as_bytes())
}

/// Writes a plan to a file that must not be there yet, otherwise as [`write()`].
///
/// # Errors
/// As [`write()`], and if the file exists.
pub fn create(store: &dyn Store, name: &str, plan: &Plan) -> io::Result<()> {
    store.create(name, sure_text(store, name, plan)?.as_bytes())
}

/// The plan as text that surely reads back as the plan.
fn sure_text(store: &dyn Store, name: &str, plan: &Plan) -> io::Result<String> {
    let text = to_text(plan)?;
    readable_again(&text)?;
    match from_file(&TextFile::new(store.shown(name), &text)) {
        Ok(read) if read == *plan => Ok(text),
        Ok(_) => Err(io::Error::new(
            io::ErrorKind::InvalidData,
            "the plan would change when read back, so it was not written",
        )),
        Err(problems) => Err(io::Error::new(io::ErrorKind::InvalidData, problems.to_string())),
    }
}

fn to_text(plan: &Plan) -> io::Result<String> {
    // Without it, dates would be put into quotes for old readers. The directive would be in the way of
    // the header.
    let options = serde_yaml::ser_options! { yaml_12: true, no_lang_directive: true };
    serde_yaml::to_string_with_options(&PlanShape::from(plan), options)
        .map(|body| format!("{HEADER}{body}"))
        .map_err(io::Error::other)
}

fn from_file(file: &TextFile) -> Result<Plan, Problems> {
    serde_yaml::from_str_with_options::<PlanShape>(file.text(), yaml::long_options())
        .map(Plan::from)
        .map_err(|error| yaml::placed(file, &error).alone())
}

#[cfg(test)]
mod tests;
