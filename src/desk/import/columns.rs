//! Which column holds what.

use super::Pairs;
use crate::files::problem::{Problem, Problems, TextFile, suggest};
use crate::files::sheet::{Cell, Sheet};
use std::collections::BTreeMap;
use std::ops::Range;

/// What a column may hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Field {
    What,
    Day,
    Site,
    By,
    Batch,
    Tank,
    Plugs,
    Plants,
    Way,
    Mass,
    Cause,
    Text,
    Until,
}

/// The fields by the names people use.
pub(super) const FIELDS: [(&str, Field); 13] = [
    ("what", Field::What),
    ("day", Field::Day),
    ("site", Field::Site),
    ("by", Field::By),
    ("batch", Field::Batch),
    ("tank", Field::Tank),
    ("plugs", Field::Plugs),
    ("plants", Field::Plants),
    ("way", Field::Way),
    ("mass", Field::Mass),
    ("cause", Field::Cause),
    ("text", Field::Text),
    ("until", Field::Until),
];

/// What entries hold besides, but no line of a spreadsheet.
const NOT_TAKEN: [&str; 2] = ["holes", "replaces"];

impl Field {
    pub(super) fn name(self) -> &'static str {
        FIELDS.iter().find(|(_, field)| *field == self).map_or("", |(name, _)| name)
    }
}

/// The cells of one line by what they hold; those that are empty are left out.
pub(super) struct Cells {
    pub(super) whole: Range<usize>,
    pub(super) cells: BTreeMap<Field, Cell>,
}

/// Where the column of each field is, from 0.
pub(super) struct Columns(pub(super) BTreeMap<Field, usize>);

impl Columns {
    /// The cells of a line that hold something known.
    pub(super) fn cells(&self, sheet: &Sheet, line: usize) -> Cells {
        let known =
            self.0.iter().filter_map(|(field, column)| Some((*field, sheet.cell(line, *column)?.clone())));
        Cells { whole: sheet.line(line), cells: known.collect() }
    }

    /// Finds the columns named in `mapped`, and those that bear a field's own name. Others are left alone.
    pub(super) fn find(
        file: &TextFile,
        sheet: &Sheet,
        mapped: Option<&Pairs>,
        what_is_said: bool,
    ) -> Result<Self, Problems> {
        let mut found = BTreeMap::new();
        let mut problems: Vec<Problem> = Vec::new();
        let headings: Vec<String> = sheet.headings.iter().map(|cell| cell.text.to_lowercase()).collect();
        let columns = |name: &str| -> Vec<usize> {
            let named = headings.iter().enumerate().filter(|(_, heading)| *heading == name);
            named.map(|(at, _)| at).collect()
        };
        let mapped = || mapped.iter().flat_map(|pairs| &pairs.0);
        for (name, field) in FIELDS.iter().filter(|(name, _)| mapped().all(|(mapped, _)| mapped != name)) {
            if let Some(at) = only_one(file, sheet, name, &columns(name), &mut problems) {
                found.insert(*field, at);
            }
        }
        for (name, heading) in mapped() {
            let field = FIELDS.iter().find(|(known, _)| known == name).map(|(_, field)| *field);
            let at = only_one(file, sheet, heading, &columns(&heading.to_lowercase()), &mut problems);
            match (field, at) {
                (Some(field), Some(at)) => {
                    if found.insert(field, at).is_some_and(|other| other != at) {
                        let help = "one column for each; leave one of both out";
                        problems.push(file.whole_problem(format!("--columns maps \"{name}\" twice"), help));
                    }
                }
                (None, _) => problems.push(file.whole_problem(
                    format!("--columns maps \"{name}\", which is not known"),
                    suggest(name, FIELDS.iter().map(|(known, _)| *known)),
                )),
                (_, None) => problems.push(file.whole_problem(
                    format!("there is no column \"{heading}\""),
                    suggest(heading, sheet.headings.iter().map(|cell| cell.text.as_str())),
                )),
            }
        }
        Problems::check(problems)?;
        let needed = [Some(Field::Day), (!what_is_said).then_some(Field::What)];
        if let Some(field) = needed.into_iter().flatten().find(|field| !found.contains_key(field)) {
            let name = field.name();
            let help = match field {
                Field::What => {
                    "map it with --columns \"what=...\", or say what all lines are with --what harvested"
                        .to_owned()
                }
                _ => format!("map it with --columns \"{name}=...\""),
            };
            let span = sheet.headings.first().map_or(0..0, |cell| cell.span.clone());
            return Err(file.problem(span, format!("there is no column for \"{name}\""), help).alone());
        }
        Ok(Self(found))
    }

    /// What to tell of columns that hold something known which cannot be taken over.
    pub(super) fn left_out(&self, sheet: &Sheet) -> Vec<String> {
        let unused =
            sheet.headings.iter().enumerate().filter(|(at, _)| self.0.values().all(|used| used != at));
        let named = unused.filter(|(_, cell)| NOT_TAKEN.contains(&cell.text.to_lowercase().as_str()));
        let told = |(_, cell): (usize, &Cell)| {
            format!(
                "The column \"{}\" is not taken over; record such lines one by one with sowtide record.",
                cell.text
            )
        };
        named.map(told).collect()
    }
}

/// The only column of a heading, if there is one. Nobody can tell which of several is meant.
fn only_one(
    file: &TextFile,
    sheet: &Sheet,
    heading: &str,
    columns: &[usize],
    problems: &mut Vec<Problem>,
) -> Option<usize> {
    if let [_, second, ..] = columns {
        let title = format!("there are several columns \"{heading}\"");
        let help = "give each column a name of its own";
        problems.push(file.problem(sheet.headings[*second].span.clone(), title, help));
    }
    columns.first().copied()
}

/// Reads `day=Date,batch=Lot`.
///
/// # Errors
/// If it is not written so, with how to write it.
pub fn pairs(text: &str) -> Result<Pairs, String> {
    let pairs = text.split(',').map(|pair| {
        let (name, stands_for) = pair.split_once('=')?;
        let (name, stands_for) = (name.trim(), stands_for.trim());
        (!name.is_empty() && !stands_for.is_empty()).then(|| (name.to_owned(), stands_for.to_owned()))
    });
    let pairs: Option<Vec<(String, String)>> = pairs.collect();
    pairs.map(Pairs).ok_or_else(|| "write pairs such as day=Date,batch=Lot".to_owned())
}

/// Reads `DD.MM.YYYY` and the like.
///
/// # Errors
/// If it is not written so, with how to write it.
pub fn date_format(text: &str) -> Result<String, String> {
    let mut format = String::new();
    let mut seen = Vec::new();
    let mut rest = text;
    while let Some(c) = rest.chars().next() {
        let length = rest.len() - rest.trim_start_matches(c).len();
        let part = match (c, length) {
            ('D', 1 | 2) => "%d",
            ('M', 1 | 2) => "%m",
            ('Y', 4) => "%Y",
            ('Y', 2) => "%y",
            ('.' | '/' | '-' | ' ', _) => &rest[..length],
            _ => {
                return Err(
                    "write D or DD, M or MM and YY or YYYY in their order, such as DD.MM.YYYY".to_owned()
                );
            }
        };
        if part.starts_with('%') {
            seen.push(c);
        }
        format.push_str(part);
        rest = &rest[length..];
    }
    seen.sort_unstable();
    if seen == ['D', 'M', 'Y'] {
        Ok(format)
    } else {
        Err("day, month and year are needed once each, such as DD.MM.YYYY".to_owned())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono::NaiveDate;

    #[test]
    fn date_formats_read_dates() {
        let day = NaiveDate::from_ymd_opt(2026, 9, 7);
        for (format, text) in
            [("DD.MM.YYYY", "7.9.2026"), ("M/D/YY", "09/07/26"), ("YYYY-MM-DD", "2026-09-07")]
        {
            let format = date_format(format).unwrap();
            assert_eq!(NaiveDate::parse_from_str(text, &format).ok(), day, "{text}");
        }
        for bad in ["", "DD.MM", "DD.MM.YYY", "DD.DD.YYYY", "%d", "dd.mm.yyyy"] {
            assert!(date_format(bad).is_err(), "{bad}");
        }
    }
}
