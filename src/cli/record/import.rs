//! `sowtide record import`: a spreadsheet's lines as entries, all or none.

mod columns;
mod lines;
mod sheet;

use super::draft::Draft;
use super::{Desk, mend, now};
use crate::cli::failure::Failure;
use crate::domain::journal::{Entry, EntryId, Journal};
use crate::files::journal_file;
use crate::files::problem::{Problem, Problems, TextFile};
use crate::replan::accept::{Known, accept_all};
use crate::replan::refusal::Refusal;
use chrono::NaiveDate;
use clap::{Args, ValueEnum};
use columns::{Columns, Field};
use lines::Reader;
use sheet::Sheet;
use std::collections::BTreeMap;
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

/// Whether the journal says the same in one of its entries of that day, or did before it was corrected.
fn is_in(of_that_day: &[&Entry], draft: &Draft) -> bool {
    of_that_day.iter().any(|old| (&old.what, &old.site) == (&draft.what, &draft.site))
}

/// Lines that have numbers of entries, but are no entries yet.
struct Told<'a> {
    file: &'a TextFile,
    sheet: &'a Sheet,
    lines: &'a BTreeMap<EntryId, usize>,
}

impl Told<'_> {
    /// The complaint about a line that cannot be true. Nobody knows the numbers of entries that are not written, so other
    /// lines are told by their place.
    fn problem(&self, id: EntryId, refusal: &Refusal) -> Option<Problem> {
        let span = self.sheet.line(*self.lines.get(&id)?);
        let own = self.number_in_file(id)?;
        if let Refusal::Twice(other) = refusal
            && let Some(line) = self.number_in_file(*other)
        {
            let title = format!("lines {line} and {own} say the same");
            return Some(self.file.problem(
                span,
                title,
                "keep one of the two lines, or sum up their numbers in one",
            ));
        }
        let title = self.in_lines(&refusal.to_string());
        Some(self.file.problem(span, title, self.in_lines(&mend(refusal))))
    }

    /// A text with numbers of entries that are still lines told as such.
    fn in_lines(&self, text: &str) -> String {
        let word = |word: &str| {
            let id = word.strip_prefix('j').and_then(|_| word.parse().ok());
            id.and_then(|id| self.number_in_file(id))
                .map_or_else(|| word.to_owned(), |line| format!("line {line}"))
        };
        let mut told = String::with_capacity(text.len());
        for piece in text.split_inclusive(|c: char| !c.is_ascii_alphanumeric()) {
            let bare = piece.trim_end_matches(|c: char| !c.is_ascii_alphanumeric());
            told.push_str(&word(bare));
            told.push_str(&piece[bare.len()..]);
        }
        told
    }

    fn number_in_file(&self, id: EntryId) -> Option<usize> {
        self.file.problem(self.sheet.line(*self.lines.get(&id)?), "", "").line()
    }
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
            let (entries, lines) = self.numbered(journal, &drafts);
            let known = Known { term: desk.term, plan: desk.plan, journal, today: desk.today };
            let refused = accept_all(&known, &entries).err().unwrap_or_default();
            let told = Told { file: &file, sheet: &sheet, lines: &lines };
            Problems::check(refused.iter().filter_map(|(id, refusal)| told.problem(*id, refusal)).collect())?;
            Ok::<_, Failure>(entries)
        })
    }

    /// The lines to take over as entries with numbers, and the line of each number.
    fn numbered(
        &self,
        journal: &Journal,
        drafts: &[(usize, Draft)],
    ) -> (Vec<Entry>, BTreeMap<EntryId, usize>) {
        let mut known: BTreeMap<NaiveDate, Vec<&Entry>> = BTreeMap::new();
        for entry in journal.entries() {
            known.entry(entry.day).or_default().push(entry);
        }
        let (mut entries, mut lines) = (Vec::new(), BTreeMap::new());
        let mut id = journal.next_id();
        let now = now();
        for (line, draft) in drafts {
            if self.again && is_in(known.get(&draft.day).map_or(&[], Vec::as_slice), draft) {
                continue;
            }
            entries.push(draft.entry(id, now));
            lines.insert(id, *line);
            id = EntryId(id.0 + 1);
        }
        (entries, lines)
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
