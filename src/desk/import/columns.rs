//! Which column holds what.

use super::{MassUnit, Pairs, headings};
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
    Crop,
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
pub(super) const FIELDS: [(&str, Field); 14] = [
    ("what", Field::What),
    ("day", Field::Day),
    ("site", Field::Site),
    ("by", Field::By),
    ("batch", Field::Batch),
    ("crop", Field::Crop),
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
pub(super) struct Columns {
    pub(super) at: BTreeMap<Field, usize>,
    /// Those that bear another name than their field's, and nobody said so.
    usual: Vec<Field>,
    /// The unit of masses that their heading names.
    pub(super) mass_unit: Option<MassUnit>,
}

impl Columns {
    /// The cells of a line that hold something known.
    pub(super) fn cells(&self, sheet: &Sheet, line: usize) -> Cells {
        let known =
            self.at.iter().filter_map(|(field, column)| Some((*field, sheet.cell(line, *column)?.clone())));
        Cells { whole: sheet.line(line), cells: known.collect() }
    }

    /// Finds the columns named in `mapped`, those that bear a field's own name, and those with a usual heading of it. Others are left
    /// alone; what may be meant in two ways is refused.
    pub(super) fn find(
        file: &TextFile,
        sheet: &Sheet,
        mapped: Option<&Pairs>,
        what_is_said: bool,
        remarks: &mut Vec<String>,
    ) -> Result<Self, Problems> {
        let mut problems: Vec<Problem> = Vec::new();
        let mut columns = Self { at: BTreeMap::new(), usual: Vec::new(), mass_unit: None };
        columns.find_mapped(file, sheet, mapped, &mut problems);
        let open = |name: &str| mapped.iter().flat_map(|pairs| &pairs.0).all(|(mapped, _)| mapped != name);
        for (name, field) in FIELDS.iter().filter(|(name, _)| open(name)) {
            columns.find_own(file, sheet, (name, *field), &mut problems);
        }
        columns.mass_unit =
            columns.at.get(&Field::Mass).and_then(|at| headings::unit(&sheet.headings[*at].text));
        remarks.extend(columns.told(sheet));
        Problems::check(problems)?;
        let needed = [Some(Field::Day), (!what_is_said).then_some(Field::What)];
        if let Some(field) = needed.into_iter().flatten().find(|field| !columns.at.contains_key(field)) {
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
        Ok(columns)
    }

    /// Finds the columns that somebody named.
    fn find_mapped(
        &mut self,
        file: &TextFile,
        sheet: &Sheet,
        mapped: Option<&Pairs>,
        problems: &mut Vec<Problem>,
    ) {
        for (name, heading) in mapped.iter().flat_map(|pairs| &pairs.0) {
            let field = FIELDS.iter().find(|(known, _)| known == name).map(|(_, field)| *field);
            let at = only_one(file, sheet, heading, &named(sheet, heading), problems);
            match (field, at) {
                (Some(field), Some(at)) => {
                    if self.at.insert(field, at).is_some_and(|other| other != at) {
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
    }

    /// Finds the column of a field by its own name or a usual heading.
    fn find_own(
        &mut self,
        file: &TextFile,
        sheet: &Sheet,
        (name, field): (&str, Field),
        problems: &mut Vec<Problem>,
    ) {
        let own = only_one(file, sheet, name, &named(sheet, name), problems);
        let all = sheet.headings.iter().enumerate();
        let usual = all.filter(|(at, cell)| {
            let is_free = self.at.values().all(|taken| taken != at) && own != Some(*at);
            is_free && headings::meaning(&cell.text) == Some(field)
        });
        let usual: Vec<usize> = usual.map(|(at, _)| at).collect();
        // Beside a column "day", one of dates shows that the first may hold weekdays.
        let doubtful: Vec<usize> = match (own, field) {
            (Some(_), Field::Day) => own.into_iter().chain(usual.iter().copied()).collect(),
            (Some(_), _) => Vec::new(),
            (None, _) => usual.clone(),
        };
        if let [first, second, ..] = doubtful[..] {
            let [one, other] = [first, second].map(|at| sheet.headings[at].text.as_str());
            let title = format!("\"{one}\" and \"{other}\" may both be the column for \"{name}\"");
            let help = format!("say which one is: --columns \"{name}={one}\", or \"{name}={other}\"");
            problems.push(file.problem(sheet.headings[second].span.clone(), title, help));
            return;
        }
        if own.is_none() && !usual.is_empty() {
            self.usual.push(field);
        }
        if let Some(at) = own.or_else(|| usual.first().copied()) {
            self.at.insert(field, at);
        }
    }

    /// What headings are taken for that bear another name, and which are left out; `None` if there is nothing to say.
    fn told(&self, sheet: &Sheet) -> Option<String> {
        let unit = self.mass_unit.map(|unit| format!(" in {}", unit.word()));
        let taken = self.usual.iter().filter_map(|field| {
            let heading = &sheet.headings[*self.at.get(field)?].text;
            let unit = unit.as_deref().filter(|_| *field == Field::Mass).unwrap_or_default();
            Some(format!("\"{heading}\" as {}{unit}", field.name()))
        });
        let unused =
            sheet.headings.iter().enumerate().filter(|(at, _)| self.at.values().all(|used| used != at));
        let left = unused.map(|(_, cell)| cell.text.as_str());
        let left = left.filter(|text| !text.is_empty() && !NOT_TAKEN.contains(&text.to_lowercase().as_str()));
        let (taken, left): (Vec<String>, Vec<String>) =
            (taken.collect(), left.map(|text| format!("\"{text}\"")).collect());
        let told: Vec<String> = [("Columns taken", taken), ("Columns left out", left)]
            .into_iter()
            .filter(|(_, list)| !list.is_empty())
            .map(|(what, list)| format!("{what}: {}", list.join(", ")))
            .collect();
        let help =
            "If that is wrong, say which column holds what, such as --columns \"day=Date,mass=Weight\".";
        (!told.is_empty()).then(|| format!("{}.\n{help}", told.join(".\n")))
    }

    /// What to tell of columns that hold something known which cannot be taken over.
    pub(super) fn left_out(&self, sheet: &Sheet) -> Vec<String> {
        let unused =
            sheet.headings.iter().enumerate().filter(|(at, _)| self.at.values().all(|used| used != at));
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

/// Columns of a heading, whether or not in capitals.
fn named(sheet: &Sheet, heading: &str) -> Vec<usize> {
    let wanted = heading.to_lowercase();
    let named = sheet.headings.iter().enumerate().filter(|(_, cell)| cell.text.to_lowercase() == wanted);
    named.map(|(at, _)| at).collect()
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
