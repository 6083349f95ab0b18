//! Taking over a spreadsheet: its lines as entries, all or none. What was exported comes back as it was.

mod columns;
mod grouped;
mod headings;
mod lines;

use super::record::mend;
use super::table::restored;
use super::{Clerk, Draft, Trouble};
use crate::domain::journal::{Entry, EntryId};
use crate::files::journal_file::table::{self, Spelling};
use crate::files::problem::{Problem, Problems, TextFile};
use crate::files::sheet::Sheet;
use crate::replan::accept::accept_all;
use crate::replan::refusal::Refusal;
use chrono::NaiveDate;
use columns::{Columns, Field};
use grouped::grouped;
use lines::Reader;
use std::collections::BTreeMap;
use std::ops::Range;

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
    /// The lines of a file as entries that can be true together, and what is worth a word about them.
    pub(super) fn entries(
        &self,
        clerk: &Clerk<'_>,
        file: &TextFile,
        remarks: &mut Vec<String>,
    ) -> Result<Vec<Entry>, Trouble> {
        let sheet = Sheet::read(file)?;
        if table::is_table(&sheet) {
            let (entries, told) = self.restored(clerk, file, &sheet)?;
            remarks.extend(told);
            return Ok(entries);
        }
        let columns = Columns::find(file, &sheet, self.columns.as_ref(), self.what.is_some(), remarks)?;
        remarks.extend(columns.left_out(&sheet));
        let drafts = self.drafts(clerk, file, &sheet, &columns, remarks)?;
        let drafts = if self.again { taken_before(clerk, file, &sheet, drafts)? } else { drafts };
        match sheet.lines() - drafts.len() {
            0 => {}
            1 => remarks.push("1 line was taken over before and is left out.".to_owned()),
            left => remarks.push(format!("{left} lines were taken over before and are left out.")),
        }
        let entries = clerk.numbered(drafts.iter().map(|(_, draft)| draft));
        let lines = entries.iter().map(|entry| entry.id).zip(drafts.iter().map(|(line, _)| *line)).collect();
        let Err(refused) = accept_all(&clerk.known(), &entries) else { return Ok(entries) };
        let told = Told { file, sheet: &sheet, lines: &lines };
        let problems = refused.iter().filter_map(|(id, refusal)| told.problem(*id, refusal)).collect();
        Problems::check(grouped(problems))?;
        // What was refused is never written, even if no line could be named for it.
        let help = "record the lines one by one, to see which of them it is";
        Err(file.whole_problem("these lines cannot be true together with the journal", help).alone().into())
    }

    /// The unit of masses without one, by their heading or as somebody said.
    fn unit_of(&self, columns: &Columns) -> Result<Option<MassUnit>, Trouble> {
        match (columns.mass_unit, self.mass_unit) {
            (Some(heading), Some(said)) if heading != said => Err(Trouble::usage(
                format!("the heading of the masses says {}, but --mass-unit {}", heading.word(), said.word()),
                "leave out --mass-unit, or correct the heading",
            )),
            (heading, said) => Ok(heading.or(said)),
        }
    }

    /// What [`super::Opened::as_table`] wrote, back as it was.
    fn restored(
        &self,
        clerk: &Clerk<'_>,
        file: &TextFile,
        sheet: &Sheet,
    ) -> Result<(Vec<Entry>, Vec<String>), Trouble> {
        if self.columns.is_some() || self.words.is_some() || self.what.is_some() || self.mass_unit.is_some() {
            return Err(Trouble::usage(
                format!("{} was written by sowtide export and says itself what its columns are", file.path()),
                "leave out --columns, --words, --what and --mass-unit",
            ));
        }
        let spelling =
            Spelling { date_format: self.date_format.as_deref(), decimal_comma: self.decimal_comma };
        restored(clerk, file, sheet, &spelling)
    }

    /// Every line as an entry to be with its number, by day: a spreadsheet may be sorted otherwise.
    fn drafts(
        &self,
        clerk: &Clerk<'_>,
        file: &TextFile,
        sheet: &Sheet,
        columns: &Columns,
        remarks: &mut Vec<String>,
    ) -> Result<Vec<(usize, Draft)>, Trouble> {
        let mut reader = Reader::new(clerk, file, self, self.unit_of(columns)?);
        let mut drafts: Vec<(usize, Draft)> = Vec::new();
        for line in 0..sheet.lines() {
            if let Some(cell) = sheet.beyond(line) {
                reader.note_cell_without_heading(cell);
            } else if let Some(draft) = reader.line(&columns.cells(sheet, line)) {
                drafts.push((line, draft));
            }
        }
        Problems::check(grouped(reader.problems))?;
        remarks.extend(reader.taken.told());
        if drafts.is_empty() {
            let help = "the first line names the columns, each further line is one entry";
            return Err(file.whole_problem("there is no line to take over", help).alone().into());
        }
        drafts.sort_by_key(|(_, draft)| draft.day);
        Ok(drafts)
    }
}

/// The lines that were not taken over before, whether or not their entries were corrected since. A line that says the same
/// as another one is a mistake, as nobody could tell it from one taken over before.
fn taken_before(
    clerk: &Clerk<'_>,
    file: &TextFile,
    sheet: &Sheet,
    drafts: Vec<(usize, Draft)>,
) -> Result<Vec<(usize, Draft)>, Problems> {
    let mut known: BTreeMap<NaiveDate, Vec<&Entry>> = BTreeMap::new();
    for entry in clerk.journal.entries() {
        known.entry(entry.day).or_default().push(entry);
    }
    let number = |line: usize| file.problem(sheet.line(line), "", "").line().unwrap_or_default();
    let mut lines: BTreeMap<EntryId, usize> = BTreeMap::new();
    let (mut new, mut problems) = (Vec::new(), Vec::new());
    for (line, draft) in drafts {
        let old = known.get(&draft.day).into_iter().flatten();
        let Some(id) = old.clone().find(|old| says_the_same(old, &draft)).map(|old| old.id) else {
            new.push((line, draft));
            continue;
        };
        if let Some(other) = lines.insert(id, line) {
            problems.push(same_lines(file, sheet.line(line), (number(other), number(line))));
        }
    }
    Problems::check(problems)?;
    Ok(new)
}

fn says_the_same(old: &Entry, draft: &Draft) -> bool {
    (&old.what, &old.site) == (&draft.what, &draft.site)
}

fn same_lines(file: &TextFile, span: Range<usize>, (one, other): (usize, usize)) -> Problem {
    let title = format!("lines {one} and {other} say the same");
    file.problem(span, title, "keep one of the two lines, or sum up their numbers in one")
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
        if let Refusal::Twice { entry: other, .. } = refusal
            && let Some(line) = self.number_in_file(*other)
        {
            return Some(same_lines(self.file, span, (line, own)));
        }
        let title = self.in_lines(&refusal.to_string());
        // What is recorded can be corrected by its number, lines only in the file.
        let help = mend(refusal);
        let help = if self.in_lines(&help) == help { help } else { "correct one of these lines".to_owned() };
        Some(self.file.problem(span, title, help))
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
