//! The lines of a table, column by column.

use super::{COLUMNS, LATER, MEASURES};
use crate::files::formula::meant;
use crate::files::problem::{Problem, Problems, TextFile, suggest};
use crate::files::reading::Reading;
use crate::files::sheet::{self, Cell, Sheet};
use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

/// Columns that hold numbers, besides those of measured plants.
const NUMBERS: [&str; 5] = ["plugs", "plants", "harvested_grams", "days_behind", "target_grams"];

/// Columns that hold days.
const DAYS: [&str; 2] = ["day", "until"];

/// How a spreadsheet program wrote what it took for days and numbers.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(crate) struct Spelling<'a> {
    /// Order of days, months and years, in a format of chrono's; year-month-day if absent.
    pub(crate) date_format: Option<&'a str>,
    /// Whether numbers have a decimal comma.
    pub(crate) decimal_comma: bool,
}

impl Spelling<'_> {
    /// The text of a cell as a table has it that no program changed.
    ///
    /// # Errors
    /// How to write it.
    fn undone(&self, column: &str, text: String) -> Result<String, &'static str> {
        if DAYS.contains(&column) {
            return Ok(sheet::date(&text, self.date_format)?.to_string());
        }
        let is_measure = |(_, found, estimate): &(&str, &str, &str)| [*found, *estimate].contains(&column);
        if !NUMBERS.contains(&column) && !MEASURES.iter().any(is_measure) {
            return Ok(text);
        }
        match (self.decimal_comma, text.contains('.'), text.contains(',')) {
            (true, true, _) => Err("with --decimal-comma no number has a point"),
            (false, _, true) => Err("write it with a decimal point, or use --decimal-comma"),
            _ => Ok(text.replace(',', ".")),
        }
    }
}

/// A line of the table.
pub(super) struct Line {
    pub(super) span: Range<usize>,
    /// What is filled in, by column.
    pub(super) cells: BTreeMap<&'static str, Cell>,
}

/// The lines. What other lines say of an entry is not asked before each can be understood.
pub(super) fn lines(file: &TextFile, sheet: &Sheet, spelling: &Spelling<'_>) -> Result<Vec<Line>, Problems> {
    let columns = columns(file, sheet)?;
    let mut reading = Reading::of_table(file);
    let lines = (0..sheet.lines()).filter_map(|at| line(&mut reading, sheet, &columns, at, spelling));
    let lines = lines.collect();
    reading.finish()?;
    Ok(lines)
}

/// The name of each column, `None` where there is none. All have to be there, or something would be lost unseen.
fn columns(file: &TextFile, sheet: &Sheet) -> Result<Vec<Option<&'static str>>, Problems> {
    let known = || COLUMNS.iter().map(|(name, _)| *name);
    let mut found = BTreeSet::new();
    let mut problems: Vec<Problem> = Vec::new();
    let mut columns = Vec::new();
    for Cell { text, span } in &sheet.headings {
        let name = known().find(|name| *name == text.to_lowercase());
        columns.push(name);
        match name {
            Some(name) if !found.insert(name) => {
                let help = "keep only one of them";
                problems.push(file.problem(
                    span.clone(),
                    format!("there are several columns \"{name}\""),
                    help,
                ));
            }
            None if !text.is_empty() => {
                let help =
                    format!("a journal has no such column, so leave it out; {}", suggest(text, known()));
                problems.push(file.problem(span.clone(), format!("unknown column \"{text}\""), help));
            }
            _ => {}
        }
    }
    for name in known().filter(|name| !found.contains(name) && !LATER.contains(name)) {
        let help = "keep all columns that sowtide export writes, even empty ones";
        let span = sheet.headings.first().map_or(0..0, |heading| heading.span.clone());
        problems.push(file.problem(span, format!("there is no column \"{name}\""), help));
    }
    Problems::check(problems)?;
    Ok(columns)
}

/// One line, its texts as they were meant.
fn line(
    reading: &mut Reading,
    sheet: &Sheet,
    columns: &[Option<&'static str>],
    at: usize,
    spelling: &Spelling<'_>,
) -> Option<Line> {
    let mut cells = BTreeMap::new();
    let mut nameless = columns.iter().enumerate().filter(|(_, name)| name.is_none());
    let stray = nameless.find_map(|(column, _)| sheet.cell(at, column));
    if let Some(stray) = stray.or_else(|| sheet.beyond(at)) {
        let help = "empty it, or put quotation marks around a cell with a comma in it";
        reading.note(&stray.span, format!("\"{}\" stands under no heading", stray.text), help);
        return None;
    }
    let mut sound = true;
    for (column, name) in columns.iter().enumerate() {
        let (Some(name), Some(cell)) = (*name, sheet.cell(at, column)) else { continue };
        match spelling.undone(name, meant(&cell.text)) {
            Ok(text) => {
                cells.insert(name, Cell { text, span: cell.span.clone() });
            }
            Err(help) => {
                let kind = if DAYS.contains(&name) { "date" } else { "number" };
                reading.note(&cell.span, format!("\"{}\" is not a {kind}", cell.text), help);
                sound = false;
            }
        }
    }
    sound.then(|| Line { span: sheet.line(at), cells })
}
