//! The table back to entries.

use super::lines::{self, Line, Spelling};
use super::{COLUMNS, Lines, MEASURES, grams_of};
use crate::domain::journal::{Entry, EntryId, Journal, Kind};
use crate::files::journal_file::entries::{self, COMMON};
use crate::files::journal_file::shape::KINDS;
use crate::files::problem::{Problems, TextFile};
use crate::files::reading::Reading;
use crate::files::sheet::{Cell, Sheet};
use crate::files::tree::{Content, Key, Node};
use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

/// An entry that a table tells.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Row {
    /// The entry.
    pub(crate) entry: Entry,
    /// The line that tells it as a whole.
    pub(crate) span: Range<usize>,
    cells: BTreeMap<&'static str, Cell>,
}

impl Row {
    /// The cell of a column, if it is filled in.
    pub(crate) fn cell(&self, column: &str) -> Option<&Cell> {
        self.cells.get(column)
    }
}

/// The lines of one entry.
struct Group {
    whole: Line,
    plants: Vec<Line>,
}

/// Whether a spreadsheet is such a table, perhaps with mistakes: people's own share fewer headings with it.
pub(crate) fn is_table(sheet: &Sheet) -> bool {
    let is_there = |name: &str| sheet.headings.iter().any(|heading| heading.text.to_lowercase() == name);
    COLUMNS.iter().filter(|(name, _)| is_there(name)).count() * 2 > COLUMNS.len()
}

/// The entries that a journal does not have yet, what is replaced before what replaces it; and those that it has.
///
/// # Errors
/// Everything that cannot be meant or cannot stand in one journal with what is there.
pub(crate) fn read(
    file: &TextFile,
    sheet: &Sheet,
    spelling: &Spelling<'_>,
    journal: &Journal,
) -> Result<(Vec<Row>, Vec<Row>), Problems> {
    let lines = lines::lines(file, sheet, spelling)?;
    let mut reading = Reading::of_table(file);
    let groups = groups(&mut reading, lines);
    let rows: Vec<Row> = groups.into_iter().filter_map(|group| row(&mut reading, group)).collect();
    let (new, known) = divided(&mut reading, rows, journal);
    let new = in_order(new);
    let placed = journal.entries().iter().map(|entry| (0..0, entry.clone()));
    let placed: Vec<_> = placed.chain(new.iter().map(|row| (row.span.clone(), row.entry.clone()))).collect();
    entries::check_numbers(&mut reading, &placed);
    reading.finish()?;
    Ok((new, known))
}

/// The lines by entry. Spreadsheets may have sorted them.
fn groups(reading: &mut Reading, lines: Vec<Line>) -> Vec<Group> {
    let mut groups: Vec<Group> = Vec::new();
    let mut places: BTreeMap<String, usize> = BTreeMap::new();
    let (plants, wholes): (Vec<Line>, Vec<Line>) =
        lines.into_iter().partition(|line| line.cells.contains_key("plant"));
    for whole in wholes {
        let Some(entry) = entry_of(reading, &whole) else { continue };
        places.entry(entry).or_insert(groups.len());
        groups.push(Group { whole, plants: Vec::new() });
    }
    for plant in plants {
        let Some(entry) = entry_of(reading, &plant) else { continue };
        if let Some(at) = places.get(&entry) {
            groups[*at].plants.push(plant);
        } else {
            let help = "put back the line of the entry itself, in which \"plant\" is empty";
            reading.note(&plant.span, format!("no line tells {entry} as a whole"), help);
        }
    }
    groups
}

fn entry_of(reading: &mut Reading, line: &Line) -> Option<String> {
    let cell = line.cells.get("entry");
    if cell.is_none() {
        let help = "fill in \"entry\": j and digits, such as j012";
        reading.note(&line.span, "this line does not say to which entry it belongs", help);
    }
    cell.map(|cell| cell.text.clone())
}

/// The entry of some lines.
fn row(reading: &mut Reading, group: Group) -> Option<Row> {
    let Group { whole, mut plants } = group;
    let kind = match whole.cells.get("what") {
        Some(what) => Some(reading.choice(&node("what", what), &KINDS)?),
        None => None,
    };
    let mut keys = keys(reading, &whole, kind)?;
    let measured = whole.cells.get("measured_plants");
    if measured.map_or(Some(0), |cell| cell.text.parse().ok()) != Some(plants.len()) {
        let span = measured.map_or(&whole.span, |cell| &cell.span);
        let title = format!("measured plants of this entry that have a line: {}", plants.len());
        reading.note(span, title, "put back lines that were left out, or correct \"measured_plants\"");
        return None;
    }
    if let Some(first) = plants.first() {
        if kind.is_some_and(|kind| !matches!(kind, Kind::Harvested | Kind::Measured)) {
            let help = "leave this line out, or correct \"what\"";
            reading.note(&first.span, "plants are measured in harvests, or when they stay", help);
            return None;
        }
        keys.push((key_at(&first.span, "samples"), samples(reading, &whole, &mut plants)?));
    }
    let entry = entries::entry(reading, &Node { span: whole.span.clone(), content: Content::Map(keys) })?;
    Some(Row { entry, span: whole.span, cells: whole.cells })
}

/// What the line of an entry itself tells, as the journal puts it.
fn keys(reading: &mut Reading, whole: &Line, kind: Option<Kind>) -> Option<Vec<(Key, Node)>> {
    let allowed = kind.map(|kind| [&COMMON[..], entries::keys(kind)].concat());
    let grams = kind.filter(|kind| entries::keys(*kind).contains(&"grams")).map(grams_of);
    if let Some(grams) = grams.filter(|grams| !whole.cells.contains_key(grams)) {
        let help = "fill in that column of the line, such as 12.5";
        reading.note(&whole.span, format!("\"{grams}\" is missing here"), help);
        return None;
    }
    let mut keys = Vec::new();
    for (name, cell) in whole.cells.iter().filter(|(name, _)| !BESIDE.contains(name)) {
        let key = key(name, kind);
        if allowed.as_ref().is_some_and(|allowed| !allowed.contains(&key)) {
            let what = whole.cells.get("what").map_or("", |cell| &cell.text);
            let help = "empty this cell, or correct \"what\"";
            reading.note(&cell.span, format!("\"{name}\" does not go with \"{what}\""), help);
            return None;
        }
        keys.push((key_at(&cell.span, key), node(name, cell)));
    }
    // Complaints about the entry point at what comes first.
    keys.sort_by_key(|(key, _)| key.text != "id");
    Some(keys)
}

fn key_at(span: &Range<usize>, key: &str) -> Key {
    Key { span: span.clone(), text: key.to_owned() }
}

/// Columns that tell nothing of the entry itself.
const BESIDE: [&str; 4] = ["term", "crop", "status", "measured_plants"];

/// The journal's key for a column.
fn key(column: &'static str, kind: Option<Kind>) -> &'static str {
    match column {
        "entry" => "id",
        "days_behind" => "days",
        "measured_as" => "measured-as",
        _ if kind.is_some_and(|kind| grams_of(kind) == column) => "grams",
        _ => column,
    }
}

fn node(column: &str, cell: &Cell) -> Node {
    let content = match column {
        "holes" => holes(&cell.span, &cell.text),
        "places" => Content::List(cell.text.split(',').map(|text| place(&cell.span, text)).collect()),
        _ => Content::Text(cell.text.clone()),
    };
    Node { span: cell.span.clone(), content }
}

fn holes(span: &Range<usize>, text: &str) -> Content {
    let numbers = text.split([';', ' ']).filter(|number| !number.is_empty());
    let node = |number: &str| Node { span: span.clone(), content: Content::Text(number.to_owned()) };
    Content::List(numbers.map(node).collect())
}

/// `blue: 6 (1; 2; 3; 4; 5; 6)`. What is written otherwise is told by the journal's own reader.
fn place(span: &Range<usize>, text: &str) -> Node {
    let (tank, rest) = text.split_once(':').unwrap_or((text, ""));
    let (plants, named) = rest.split_once('(').map_or((rest, None), |(plants, named)| (plants, Some(named)));
    let word = |word: &str| Content::Text(word.trim().to_owned());
    let named = named.map(|named| ("holes", holes(span, named.trim().trim_end_matches(')'))));
    let keys = [("tank", word(tank)), ("plants", word(plants))].into_iter().chain(named);
    let node = |(key, content)| (key_at(span, key), Node { span: span.clone(), content });
    Node { span: span.clone(), content: Content::Map(keys.map(node).collect()) }
}

/// What was measured of single plants, by their numbers.
fn samples(reading: &mut Reading, whole: &Line, plants: &mut [Line]) -> Option<Node> {
    let number = |line: &Line| line.cells.get("plant").and_then(|cell| cell.text.parse::<usize>().ok());
    plants.sort_by_key(number);
    let mut nodes = Vec::new();
    for (at, line) in plants.iter().enumerate() {
        if number(line) != Some(at + 1) {
            let span = line.cells.get("plant").map_or(&line.span, |cell| &cell.span);
            let help =
                format!("number the measured plants of an entry from 1 on; plant {} comes here", at + 1);
            reading.note(span, "this plant has a wrong number, or one before it is missing", help);
            return None;
        }
        nodes.push(sample(reading, whole, line)?);
    }
    Some(Node { span: whole.span.clone(), content: Content::List(nodes) })
}

fn sample(reading: &mut Reading, whole: &Line, line: &Line) -> Option<Node> {
    if let Some((span, title, help)) = strange_cell(whole, line) {
        reading.note(span, title, help);
        return None;
    }
    let mut keys = Vec::new();
    for (key, found_in, estimated_in) in MEASURES {
        let (found, estimate) = (line.cells.get(found_in), line.cells.get(estimated_in));
        if let (None, Some(estimate)) = (found, estimate) {
            let help = format!("fill in \"{found_in}\", or empty \"{estimated_in}\"");
            reading.note(&estimate.span, "this was estimated, but not measured", help);
            return None;
        }
        let Some(found) = found else { continue };
        let mut measured = vec![(key_at(&found.span, "found"), node(found_in, found))];
        measured.extend(estimate.map(|cell| (key_at(&cell.span, "estimate"), node(estimated_in, cell))));
        let measured = Node { span: found.span.clone(), content: Content::Map(measured) };
        keys.push((key_at(&found.span, key), measured));
    }
    Some(Node { span: line.span.clone(), content: Content::Map(keys) })
}

/// A cell that should not be as it is on the line of a plant: its place, what is wrong, and how to mend it.
fn strange_cell<'l>(whole: &Line, line: &'l Line) -> Option<(&'l Range<usize>, String, &'static str)> {
    COLUMNS.iter().find_map(|(name, lines)| {
        let (here, there) = (line.cells.get(name), whole.cells.get(name));
        let span = here.map_or(&line.span, |cell| &cell.span);
        match lines {
            Lines::All if here.map(|cell| &cell.text) != there.map(|cell| &cell.text) => {
                let title = format!("\"{name}\" is another one than in the line of the entry itself");
                Some((span, title, "write the same in all lines of an entry"))
            }
            Lines::Entry if here.is_some() => {
                let title = format!("\"{name}\" is told of the entry as a whole, not of a plant");
                Some((span, title, "empty this cell"))
            }
            _ => None,
        }
    })
}

/// The rows that are not in the journal yet, and those that are. None may say something else than an entry of its number.
fn divided(reading: &mut Reading, rows: Vec<Row>, journal: &Journal) -> (Vec<Row>, Vec<Row>) {
    let mut numbers: BTreeSet<EntryId> = BTreeSet::new();
    let (mut new, mut known) = (Vec::new(), Vec::new());
    for row in rows {
        let id = row.entry.id;
        if !numbers.insert(id) {
            let help = "keep only one of them, or give this one a number of its own";
            reading.note(&row.span, format!("{id} is told twice"), help);
            continue;
        }
        match journal.entry(id) {
            None => new.push(row),
            Some(written) if *written == row.entry => known.push(row),
            Some(_) => {
                let help =
                    "leave this line out to keep what the journal says, or give it a number of its own";
                reading.note(&row.span, format!("the journal says something else in {id}"), help);
            }
        }
    }
    (new, known)
}

/// By number, but what is replaced before what replaces it.
fn in_order(rows: Vec<Row>) -> Vec<Row> {
    let mut waiting: BTreeMap<EntryId, Row> = rows.into_iter().map(|row| (row.entry.id, row)).collect();
    let mut ordered = Vec::new();
    while let Some((first, _)) = waiting.first_key_value() {
        let mut next = Some(*first);
        let mut chain = Vec::new();
        while let Some(row) = next.and_then(|id| waiting.remove(&id)) {
            next = row.entry.replaces;
            chain.push(row);
        }
        ordered.extend(chain.into_iter().rev());
    }
    ordered
}
