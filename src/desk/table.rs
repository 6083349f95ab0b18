//! The journal as a table for spreadsheets and statistics, and back from it.

use super::record::mend;
use super::{Clerk, Opened, Trouble};
use crate::domain::journal::{Entry, EntryId};
use crate::domain::plan::Plan;
use crate::domain::term::Term;
use crate::files::journal_file::table::{self, Beside, Row, Spelling, UNTRUE};
use crate::files::problem::{Problem, Problems, TextFile};
use crate::files::sheet::Sheet;
use crate::replan::accept::{Known, untrue};
use crate::replan::refusal::Refusal;
use crate::report::words::counted;
use chrono::NaiveDate;
use std::collections::{BTreeMap, BTreeSet};

impl Opened {
    /// Every entry of the journal as CSV, one observation a line; [`super::Desk::import`] reads it back without loss.
    #[must_use]
    pub fn as_table(&self, plan: &Plan, today: NaiveDate) -> String {
        let known = Known { term: &self.as_written, plan, journal: &self.journal.journal, today };
        let untrue = untrue(&known).into_iter().map(|(id, _)| id).collect();
        table::csv(known.journal, &Beside { untrue, ..beside(known.term, plan) })
    }
}

fn beside(term: &Term, plan: &Plan) -> Beside {
    let crops = plan.batches.iter().map(|batch| (batch.id.clone(), batch.crop.clone()));
    Beside { term: term.name.clone(), crops: crops.collect(), ..Beside::default() }
}

/// The entries of a table that the journal lacks, as they were, and what is worth a word about them. What the table says
/// could not be true when it was made comes back all the same; nothing else that cannot be true does.
pub(super) fn restored(
    clerk: &Clerk<'_>,
    file: &TextFile,
    sheet: &Sheet,
    spelling: &Spelling<'_>,
) -> Result<(Vec<Entry>, Vec<String>), Trouble> {
    let (rows, known) = table::read(file, sheet, spelling, clerk.journal)?;
    let mut journal = clerk.journal.clone();
    for row in &rows {
        journal.push(row.entry.clone());
    }
    let untrue = untrue(&Known { journal: &journal, ..clerk.known() });
    let mut problems = contradictions(clerk, file, [&rows, &known], &untrue);
    let untrue: BTreeSet<EntryId> = untrue.into_iter().map(|(id, _)| id).collect();
    let strange = rows.iter().filter(|row| untrue.contains(&row.entry.id)).count();
    let beside = Beside { untrue, ..beside(clerk.term, clerk.plan) };
    problems.extend(of_another_term(file, &rows, &beside));
    for row in &rows {
        problems.extend(of_another_crop(file, row, &beside));
        problems.extend(another_status(file, row, beside.status(&journal, &row.entry)));
    }
    Problems::check(problems)?;
    let of = |number: usize| counted(number as u32, "entry");
    let told = [
        (known.len(), format!("Left out, as the journal has them already: {}.", of(known.len()))),
        (
            strange,
            format!("Back as recorded, though sowtide check says they cannot be true: {}.", of(strange)),
        ),
    ];
    let remarks = told.into_iter().filter(|(number, _)| *number > 0).map(|(_, remark)| remark);
    Ok((rows.into_iter().map(|row| row.entry).collect(), remarks.collect()))
}

/// Entries that cannot be true once the new rows are in the journal, beside those that it has, and of which nobody knew it.
fn contradictions(
    clerk: &Clerk<'_>,
    file: &TextFile,
    rows: [&[Row]; 2],
    refused: &[(EntryId, Refusal)],
) -> Vec<Problem> {
    let rows: BTreeMap<EntryId, &Row> = rows.into_iter().flatten().map(|row| (row.entry.id, row)).collect();
    let before: BTreeSet<EntryId> = untrue(&clerk.known()).into_iter().map(|(id, _)| id).collect();
    let problem = |(id, refusal): &(EntryId, Refusal)| match rows.get(id) {
        _ if before.contains(id) => None,
        None => {
            let title = format!("{id} of the journal cannot be true together with these lines: {refusal}");
            Some(file.whole_problem(title, mend(refusal)))
        }
        Some(row) if row.cell("status").is_some_and(|cell| cell.text == UNTRUE) => None,
        Some(row) => {
            Some(file.problem(row.span.clone(), format!("{id} cannot be true: {refusal}"), mend(refusal)))
        }
    };
    refused.iter().filter_map(problem).collect()
}

/// That the table tells of another term: batches and tanks bear the same names in many.
fn of_another_term(file: &TextFile, rows: &[Row], beside: &Beside) -> Option<Problem> {
    let other = rows.iter().filter_map(|row| row.cell("term")).find(|cell| cell.text != beside.term)?;
    let title = format!("this is the journal of \"{}\", but this term is \"{}\"", other.text, beside.term);
    let help = "name the folder of that term; if it only got another name, empty the column \"term\"";
    Some(file.problem(other.span.clone(), title, help))
}

/// That a batch is of another crop in the plan.
fn of_another_crop(file: &TextFile, row: &Row, beside: &Beside) -> Option<Problem> {
    let (cell, crop) = (row.cell("crop")?, beside.crop(&row.entry)?);
    let title = format!("this batch is {crop} in the plan, not {}", cell.text);
    let help = "check the batch and that this is the journal of this term";
    (cell.text != crop.as_str()).then(|| file.problem(cell.span.clone(), title, help))
}

/// That a row does not count as it says: lines are missing, or somebody changed the word in place of recording a correction.
fn another_status(file: &TextFile, row: &Row, status: &str) -> Option<Problem> {
    let cell = row.cell("status").filter(|cell| cell.text != status)?;
    if status == UNTRUE || cell.text == UNTRUE {
        return None;
    }
    let title = format!("by the lines of this file the status of {} is \"{status}\"", row.entry.id);
    let help = "put back lines that were left out; what was wrong is corrected or taken back with sowtide record, not here";
    Some(file.problem(cell.span.clone(), title, help))
}
