//! Taking over a spreadsheet: its lines as entries, all or none.

mod columns;
mod lines;
mod sheet;

use super::record::mend;
use super::{Clerk, Draft, Trouble};
use crate::domain::journal::{Entry, Journal};
use crate::files::problem::{Problem, Problems, TextFile};
use columns::{Columns, Field};
use lines::Reader;
use sheet::Sheet;

pub use columns::{date_format, pairs};

/// How a spreadsheet is to be understood.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Import {
    /// Which column holds what, where the names differ.
    pub columns: Option<Pairs>,
    /// What words in the cells mean.
    pub words: Option<Pairs>,
    /// What every line reports, if there is no such column.
    pub what: Option<String>,
    /// Order of days, months and years in dates, as [`date_format`] gives it; year-month-day if absent.
    pub date_format: Option<String>,
    /// Unit of masses without one.
    pub mass_unit: Option<MassUnit>,
    /// Whether lines taken over before are left out, for a spreadsheet that grows.
    pub again: bool,
    /// Whether numbers are written with a decimal comma.
    pub decimal_comma: bool,
}

/// Names on the left and what they stand for on the right; read by [`pairs`].
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pairs(Vec<(String, String)>);

/// Units of masses.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MassUnit {
    /// Grams
    G,
    /// Kilograms
    Kg,
    /// Ounces
    Oz,
    /// Pounds
    Lb,
}

impl MassUnit {
    fn word(self) -> &'static str {
        match self {
            Self::G => "g",
            Self::Kg => "kg",
            Self::Oz => "oz",
            Self::Lb => "lb",
        }
    }
}

impl Import {
    /// The lines of a file as entries that can be true together.
    pub(super) fn entries(&self, clerk: &Clerk<'_>, file: &TextFile) -> Result<Vec<Entry>, Trouble> {
        let sheet = Sheet::read(file)?;
        let columns = Columns::find(file, &sheet, self.columns.as_ref(), self.what.is_some())?;
        let mut known = clerk.journal.clone();
        let mut added = Vec::new();
        let mut problems: Vec<Problem> = Vec::new();
        for (line, draft) in &self.drafts(clerk, file, &sheet, &columns)? {
            let entry = draft.entry(clerk.plan.known.next_id(&known), clerk.now);
            if self.again && is_in(clerk.journal, &entry) {
                continue;
            }
            match clerk.accept(&known, &entry) {
                Ok(()) => {
                    known.push(entry.clone());
                    added.push(entry);
                }
                Err(refusal) => {
                    let span = sheet.line(*line);
                    problems.push(file.problem(span, refusal.to_string(), mend(&refusal)));
                }
            }
        }
        Problems::check(problems)?;
        Ok(added)
    }

    /// Every line as an entry to be with its number, by day: a spreadsheet may be sorted otherwise.
    fn drafts(
        &self,
        clerk: &Clerk<'_>,
        file: &TextFile,
        sheet: &Sheet,
        columns: &Columns,
    ) -> Result<Vec<(usize, Draft)>, Trouble> {
        let mut reader = Reader::new(clerk, file, self);
        let mut drafts: Vec<(usize, Draft)> = Vec::new();
        for line in 0..sheet.lines() {
            if let Some(draft) = reader.line(&sheet.cells(line, columns)) {
                drafts.push((line, draft));
            }
        }
        Problems::check(reader.problems)?;
        if drafts.is_empty() {
            let help = "the first line names the columns, each further line is one entry";
            return Err(file.whole_problem("there is no line to take over", help).alone().into());
        }
        drafts.sort_by_key(|(_, draft)| draft.day);
        Ok(drafts)
    }
}

/// Whether the journal says the same, or did before it was corrected.
fn is_in(journal: &Journal, entry: &Entry) -> bool {
    let same = |old: &Entry| (&old.what, old.day, &old.site) == (&entry.what, entry.day, &entry.site);
    journal.entries().iter().any(same)
}
