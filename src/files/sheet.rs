//! A CSV file's cells, each with its place.

use super::problem::{Problems, TextFile};
use chrono::{Datelike, NaiveDate};
use std::ops::Range;

/// A cell: its text without blanks around it, and where it stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Cell {
    pub(crate) text: String,
    pub(crate) span: Range<usize>,
}

/// A CSV file.
pub(crate) struct Sheet {
    pub(crate) headings: Vec<Cell>,
    lines: Vec<Vec<Cell>>,
}

impl Sheet {
    /// Splits a file into cells.
    pub(crate) fn read(file: &TextFile) -> Result<Self, Problems> {
        let text = file.text();
        let first = text.lines().next().unwrap_or_default();
        let count = |separator: &&char| first.matches(**separator).count();
        let separator = [',', ';', '\t'].iter().max_by_key(count).copied().unwrap_or(',');
        if let Some(at) = unclosed_quote(text, separator) {
            let help =
                "close it before the end of the cell, or write two of them where one should be read: \"\"";
            return Err(file.problem(at..at + 1, "this quotation mark is never closed", help).alone());
        }
        let mut reader = csv::ReaderBuilder::new()
            .delimiter(separator as u8)
            .has_headers(false)
            .flexible(true)
            .from_reader(text.as_bytes());
        let mut lines: Vec<Vec<Cell>> = Vec::new();
        for record in reader.records() {
            let record = record.map_err(|error| {
                let help = "save it as CSV anew, encoded in UTF-8";
                file.whole_problem(format!("this is no CSV file: {error}"), help).alone()
            })?;
            let start = record.position().map_or(0, |position| position.byte() as usize);
            let start = start + leading_line_ends(&text[start.min(text.len())..]);
            let spans = spans(text, start, separator, record.len());
            let cells = record.iter().zip(spans);
            lines.push(cells.map(|(cell, span)| Cell { text: cell.trim().to_owned(), span }).collect());
        }
        lines.retain(|cells| cells.iter().any(|cell| !cell.text.is_empty()));
        if lines.is_empty() {
            let help = "the first line names the columns, each further line is one entry";
            return Err(file.whole_problem("there is nothing in this file", help).alone());
        }
        Ok(Self { headings: lines.remove(0), lines })
    }

    /// Lines below the headings.
    pub(crate) fn lines(&self) -> usize {
        self.lines.len()
    }

    /// Where a line stands.
    pub(crate) fn line(&self, line: usize) -> Range<usize> {
        let cells = &self.lines[line];
        let start = cells.first().map_or(0, |cell| cell.span.start);
        start..cells.last().map_or(start, |cell| cell.span.end)
    }

    /// The first filled cell of a line that stands under no heading.
    pub(crate) fn beyond(&self, line: usize) -> Option<&Cell> {
        self.lines[line].iter().skip(self.headings.len()).find(|cell| !cell.text.is_empty())
    }

    /// The cell of a line in a column, if it is filled.
    pub(crate) fn cell(&self, line: usize, column: usize) -> Option<&Cell> {
        self.lines[line].get(column).filter(|cell| !cell.text.is_empty())
    }
}

/// A date in a cell, in this format of chrono's or as year-month-day.
///
/// # Errors
/// How to write it.
pub(crate) fn date(text: &str, format: Option<&str>) -> Result<NaiveDate, &'static str> {
    let read = NaiveDate::parse_from_str(text, format.unwrap_or("%Y-%m-%d")).or_else(|_| text.parse());
    match read {
        Ok(date) if (2000..2200).contains(&date.year()) => Ok(date),
        Ok(_) => Err("use a year from 2000 to 2199"),
        Err(_) if format.is_some() => Err("it does not fit --date-format, and is not year-month-day either"),
        Err(_) if text.contains('/') => Err(
            "write year-month-day, or state which comes first: --date-format M/D/YYYY or --date-format D/M/YYYY",
        ),
        Err(_) => Err("write year-month-day, or state how dates are written: --date-format DD.MM.YYYY"),
    }
}

/// The day that a spreadsheet keeps as a whole number and shows as one where a cell has no date format: days since
/// 30 December 1899 (OpenDocument 1.2, part 2, 4.3; the first two months of 1900, which some programs count otherwise, are not read).
pub(crate) fn serial_date(text: &str) -> Option<NaiveDate> {
    let number: i64 = text.parse().ok().filter(|number| (61..=110_000).contains(number))?;
    NaiveDate::from_ymd_opt(1899, 12, 30)?.checked_add_signed(chrono::TimeDelta::days(number))
}

/// Where a quoted cell begins that never ends, or ends on a later line in front of more text: at the quote that opens
/// another cell. Spreadsheets may well write line ends into a cell.
fn unclosed_quote(text: &str, separator: char) -> Option<usize> {
    let mut open: Option<usize> = None;
    let mut at_start = true;
    let mut chars = text.char_indices().peekable();
    let ends_a_cell = |c: char| c == separator || matches!(c, '\r' | '\n' | ' ');
    while let Some((at, c)) = chars.next() {
        if c != '"' {
            at_start = open.is_none() && (c == separator || c == '\n');
            continue;
        }
        match open {
            // Two quotes stand for one that is read.
            Some(_) if chars.next_if(|(_, next)| *next == '"').is_some() => {}
            Some(start) => {
                let closed_well = chars.peek().is_none_or(|(_, next)| ends_a_cell(*next));
                if !closed_well && text[start..at].contains('\n') {
                    return Some(start);
                }
                open = None;
            }
            None if at_start => open = Some(at),
            None => {}
        }
        at_start = false;
    }
    open
}

/// The reader counts line ends it skipped before a record to the record.
fn leading_line_ends(text: &str) -> usize {
    text.len() - text.trim_start_matches(['\r', '\n']).len()
}

/// Where the cells of a record stand that begins at `start`. The reader gives only their text, without quotes.
fn spans(text: &str, start: usize, separator: char, cells: usize) -> Vec<Range<usize>> {
    let mut spans = Vec::new();
    let mut from = start;
    let mut quoted = false;
    for (at, c) in text[start..].char_indices().map(|(at, c)| (start + at, c)) {
        match c {
            '"' => quoted = !quoted,
            '\n' if !quoted => break,
            _ if c == separator && !quoted => {
                spans.push(from..at);
                from = at + c.len_utf8();
            }
            _ => {}
        }
    }
    let rest = text[from..].split(['\r', '\n']).next().unwrap_or_default();
    spans.push(from..from + rest.len());
    spans.resize(cells.max(spans.len()), from..from + rest.len());
    spans
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cells_know_their_place() {
        let text = "Tag;Art;\"Wer; wo\"\r\n\r\n2026-09-07; gesät ;\"Ä; \"\"B\"\"\"\r\n;;\r\nlast;line;x";
        let file = TextFile::new("s.csv", text);
        let sheet = Sheet::read(&file).unwrap();
        assert_eq!((sheet.headings.len(), sheet.lines()), (3, 2));
        assert_eq!(sheet.headings[2].text, "Wer; wo");
        for line in &sheet.lines {
            for cell in line {
                let written = text[cell.span.clone()].trim().trim_matches('"').replace("\"\"", "\"");
                assert_eq!(written.trim(), cell.text.trim_matches('"'));
            }
        }
        assert_eq!(file.problem(sheet.lines[0][1].span.clone(), "", "").line(), Some(3));
        assert_eq!(sheet.lines[0][2].text, "Ä; \"B\"");
    }

    #[test]
    fn days_are_counted_as_spreadsheets_do() {
        for (text, day) in [
            ("46000", Some("2025-12-09")),
            ("36526", Some("2000-01-01")),
            ("60", None),
            ("46000.5", None),
            ("x", None),
        ] {
            assert_eq!(serial_date(text), day.map(|day| day.parse().unwrap()), "{text}");
        }
    }

    #[test]
    fn a_quote_left_open_is_told_where_it_opens() {
        let refused = |text: &str| {
            let problems = Sheet::read(&TextFile::new("s.csv", text)).err()?;
            let first = problems.iter().next()?.clone();
            Some((first.line(), first.column()))
        };
        let head = "day,what,text\n";
        for (lines, place) in [
            ("1,note,\"a\n2,note,b\n", Some((Some(2), Some(8)))),
            ("1,note,b\n2,note,\"a", Some((Some(3), Some(8)))),
            ("1,note,\"a\n2,note,\"b\"\n", Some((Some(2), Some(8)))),
            ("1,note,\"a, \"\"so\"\" it is\"\n2,note,\"b\"\n", None),
            ("1,note,\"two\nlines\"\n2,note,b\n", None),
            ("1,note,6\" wide\n2,note,b\n", None),
        ] {
            assert_eq!(refused(&format!("{head}{lines}")), place, "{lines}");
        }
    }

    #[test]
    fn files_without_lines_are_refused() {
        for text in ["", "\n\n", ",,\n"] {
            assert!(Sheet::read(&TextFile::new("s.csv", text)).is_err(), "{text:?}");
        }
    }
}
