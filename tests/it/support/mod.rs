//! Small terms with round figures, and strategies for terms of every kind.
#![allow(clippy::unwrap_used, reason = "a helper of tests that cannot go on should panic")]

pub(crate) mod any;
pub(crate) mod build;
pub(crate) mod calendars;
mod cases;
pub(crate) mod crops;
pub(crate) mod sheets;

use chrono::NaiveDate;
use proptest::test_runner::Config;
use sowtide::domain::plan::Plan;
use sowtide::domain::term::Term;
use sowtide::files::problem::TextFile;
use sowtide::files::store::{Disk, Store};
use sowtide::files::{history, plan_file, term_file};
use std::path::Path;

/// So many random cases, unless the environment asks for more; see [`cases::few`].
pub(crate) fn few(cases: u32) -> Config {
    cases::few(cases, "proptest-regressions")
}

/// A date written as 2026-09-07.
pub(crate) fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

/// The term of a folder.
pub(crate) fn term_of(folder: impl AsRef<Path>) -> Term {
    term_file::read(&Disk::at(folder.as_ref())).unwrap_or_else(|problems| panic!("{problems}")).term
}

/// The plan in a file.
pub(crate) fn plan_at(path: impl AsRef<Path>) -> Plan {
    let plan = plan_file::read(&Disk::at(""), path.as_ref().to_str().unwrap());
    plan.unwrap_or_else(|problems| panic!("{problems}")).unwrap()
}

/// Writes a plan to a file.
pub(crate) fn write_plan(path: impl AsRef<Path>, plan: &Plan) {
    plan_file::write(&Disk::at(""), path.as_ref().to_str().unwrap(), plan).unwrap();
}

/// Numbers of the plans kept in a folder.
pub(crate) fn kept_numbers(folder: &Path) -> Vec<u32> {
    history::numbers(&Disk::at(folder)).unwrap()
}

/// The plan kept in a folder under a number.
pub(crate) fn kept_plan(folder: &Path, number: u32) -> Plan {
    history::read(&Disk::at(folder), number).unwrap().unwrap()
}

/// The text of a file.
pub(crate) fn text_of(path: impl AsRef<Path>) -> TextFile {
    TextFile::need(&Disk::at(""), path.as_ref().to_str().unwrap()).unwrap()
}

/// Saves a plan as the newest of a folder, as commands do.
pub(crate) fn save_plan(folder: &Path, plan: &Plan) -> Plan {
    let disk = Disk::at(folder);
    let held = disk.lock(&|| {}).unwrap();
    history::save(&disk, &held, plan).unwrap().plan
}
