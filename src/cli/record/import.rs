//! `sowtide record import`: a spreadsheet's lines as entries, all or none.

mod columns;
mod lines;
mod sheet;

use super::draft::Draft;
use super::{Desk, mend, now};
use crate::cli::failure::Failure;
use crate::domain::journal::{Entry, Journal};
use crate::files::journal_file;
use crate::files::problem::{Problem, Problems, TextFile};
use clap::{Args, ValueEnum};
use columns::{Columns, Field};
use lines::Reader;
use sheet::Sheet;
use std::path::PathBuf;

/// Take over a spreadsheet saved as CSV, all its lines or none
///
/// The first line names the columns. Known are: what, day, site, by, batch, tank, plugs, plants, way, mass, cause, text,
/// until. A column of another name is mapped with --columns, words in it with --words. Columns may be separated by
/// commas, semicolons or tabs. Every line that cannot be taken over is told with its place; as long as there is one, nothing is
/// recorded.
///
/// "what" is one of: sown, came up, transplanted, lost, harvested, tank out, tank back, class lost, class added, note. Lost
/// plants of the nursery are counted as "plugs", or their tank is "nursery"; without a number all are lost.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  \
    sowtide record autumn import harvests.csv --what harvested --mass-unit g\n  \
    sowtide record autumn import harvests.csv --what harvested --mass-unit g --again\n  \
    sowtide record autumn import buch.csv --columns \"day=Datum,what=Art,batch=Charge,plants=Anzahl,mass=Gewicht\" \\\n    \
    --words \"geerntet=harvested,gesät=sown,ganz=whole\" --date-format DD.MM.YYYY --mass-unit g --decimal-comma")]
pub(super) struct Import {
    /// The file
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// Which column holds what, where the names differ: "day=Date,batch=Lot"
    #[arg(long, value_name = "LIST", value_parser = columns::pairs)]
    columns: Option<Pairs>,
    /// What words in the cells mean: "pulled=whole,picked=harvested"
    #[arg(long, value_name = "LIST", value_parser = columns::pairs)]
    words: Option<Pairs>,
    /// What every line reports, if there is no such column
    #[arg(long, value_name = "KIND")]
    what: Option<String>,
    /// Order of days, months and years in dates, such as DD.MM.YYYY or M/D/YY [default: YYYY-MM-DD]
    #[arg(long, value_name = "FORMAT", value_parser = columns::date_format)]
    date_format: Option<String>,
    /// Unit of masses without one
    #[arg(long, value_enum, value_name = "UNIT")]
    mass_unit: Option<MassUnit>,
    /// Leave out lines taken over before, for a spreadsheet that grows
    #[arg(long)]
    again: bool,
    /// Numbers are written with a decimal comma
    #[arg(long)]
    decimal_comma: bool,
}

/// Whether the journal says the same, or did before it was corrected.
fn is_in(journal: &Journal, entry: &Entry) -> bool {
    let same = |old: &Entry| (&old.what, old.day, &old.site) == (&entry.what, entry.day, &entry.site);
    journal.entries().iter().any(same)
}

/// Names on the left and what they stand for on the right.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Pairs(Vec<(String, String)>);

/// Units of masses.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum MassUnit {
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
    /// Reads the file and records all of its lines.
    pub(super) fn run(&self, desk: &Desk<'_>) -> Result<Vec<Entry>, Failure> {
        let file = TextFile::read(&self.file)?;
        let sheet = Sheet::read(&file)?;
        let columns = Columns::find(&file, &sheet, self.columns.as_ref(), self.what.is_some())?;
        let drafts = self.drafts(desk, &file, &sheet, &columns)?;
        journal_file::append(&desk.path, |journal| {
            let mut known = journal.clone();
            let mut added = Vec::new();
            let mut problems: Vec<Problem> = Vec::new();
            for (line, draft) in &drafts {
                let entry = draft.entry(known.next_id(), now());
                if self.again && is_in(journal, &entry) {
                    continue;
                }
                match desk.accept(&known, &entry) {
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
            Ok::<_, Failure>(added)
        })
    }

    /// Every line as an entry to be with its number, by day: a spreadsheet may be sorted otherwise.
    fn drafts(
        &self,
        desk: &Desk<'_>,
        file: &TextFile,
        sheet: &Sheet,
        columns: &Columns,
    ) -> Result<Vec<(usize, Draft)>, Failure> {
        let mut reader = Reader::new(desk, file, self);
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
