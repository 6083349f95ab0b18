//! The plans from before: listing them, and going back to one.

use crate::check;
use crate::cli::dates;
use crate::cli::failure::Failure;
use crate::cli::folder::Folder;
use crate::cli::screen::Screen;
use crate::domain::journal::Journal;
use crate::domain::plan::Plan;
use crate::domain::term::Term;
use crate::files::history::{self, SaveError};
use crate::report::history::{Past, table};
use crate::report::json;

/// Prints all plans. One that cannot be read is remarked and left out.
pub(super) fn list(folder: &Folder, screen: &Screen) -> Result<(), Failure> {
    let newest = folder.plan()?;
    let numbers = numbers(folder)?;
    let mut plans = Vec::new();
    for number in numbers {
        match history::read(folder.path(), number) {
            Ok(plan) => plans.push(plan),
            Err(problems) => screen.remark(&format!("{problems}\n")),
        }
    }
    if let Some(newest) = &newest
        && plans.iter().all(|plan| plan.revision != newest.revision)
    {
        plans.push(newest.clone());
    }
    if plans.is_empty() {
        return Err(Failure::told(
            format!("there is no plan in {} yet", folder.path().display()),
            "make one with: sowtide plan",
        ));
    }
    let number = newest.map(|newest| newest.revision);
    let past: Vec<Past> = plans
        .iter()
        .map(|plan| Past::new(plan, dates::local(plan.made), Some(plan.revision) == number))
        .collect();
    if screen.json {
        screen.result(&json::history(&past))
    } else {
        screen.result(&table(&past, &screen.look))
    }
}

/// The plan of that number as a new one, if it still passes the checker.
pub(super) fn back_to(
    folder: &Folder,
    term: &Term,
    number: u32,
    newest: Option<&Plan>,
    journal: &Journal,
) -> Result<Plan, Failure> {
    let known = numbers(folder)?;
    if !known.contains(&number) {
        return Err(Failure::Usage {
            what: format!("there is no plan {number}"),
            help: "see all plans with: sowtide plan --history".to_owned(),
        });
    }
    let mut plan = history::read(folder.path(), number)?;
    let findings: Vec<String> = check::check(term, &plan).iter().map(ToString::to_string).collect();
    if !findings.is_empty() {
        return Err(Failure::told(
            format!(
                "plan {number} no longer fits the term, so it was not brought back\n- {}",
                findings.join("\n- ")
            ),
            if journal.entries().is_empty() {
                "change the term file back, or plan anew with: sowtide plan"
            } else {
                "too much has happened since; plan the rest of the term again with: sowtide replan"
            },
        ));
    }
    if let Some(newest) = newest {
        // Calendars tell events apart by it, and an id given since must not come back for other plants.
        plan.term_id.clone_from(&newest.term_id);
        plan.last_number = plan.last_number.max(newest.last_number);
    }
    Ok(plan)
}

fn numbers(folder: &Folder) -> Result<Vec<u32>, Failure> {
    history::numbers(folder.path()).map_err(|error| {
        Failure::told(
            format!("the folder \"plans\" in {} cannot be read: {error}", folder.path().display()),
            "check that you may open it",
        )
    })
}

impl From<SaveError> for Failure {
    fn from(error: SaveError) -> Self {
        match error {
            SaveError::Unread(problems) => Self::Files(problems),
            SaveError::Unwritten { path, error } => Self::unwritten(&path, &error),
        }
    }
}
