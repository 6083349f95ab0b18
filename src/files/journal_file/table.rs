//! The journal as a table for spreadsheets and statistics, and back.
//!
//! Each line is one observation: what an entry says as a whole, or one plant of a harvest that was measured, on a line
//! of its own right below with the plant's number in `plant`. Every line has all that one may group by. Units stand in
//! the headings, numbers in full, days as in ISO 8601. Entries that were corrected or taken back are there, too; `status`
//! tells what counts.
//!
//! The file is CSV as in RFC 4180, UTF-8. It begins with a byte-order mark: without one, some spreadsheet programs take
//! umlauts for something else.

mod lines;
mod read;

use super::shape::{self, PlaceShape};
use crate::domain::ids::{BatchId, CropId};
use crate::domain::journal::{Entry, EntryId, Journal, Kind, Measured, Sample, What};
use crate::files::formula::defused;
use serde_yaml::FlowMap;
use std::collections::{BTreeMap, BTreeSet};

pub(crate) use lines::Spelling;
pub(crate) use read::{Row, is_table, read};

/// The heading line's beginning, by which a file shows what it is.
pub const MARK: &str = "term,entry,plant,day,";

/// On which lines of an entry a column is filled in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Lines {
    /// On all of them, with the same.
    All,
    /// On the first, which tells the entry.
    Entry,
    /// On those of measured plants.
    Plants,
}

/// The columns. People's formulas and scripts go by these names, so none may change or go.
const COLUMNS: [(&str, Lines); 37] = [
    ("term", Lines::All),
    ("entry", Lines::All),
    ("plant", Lines::Plants),
    ("day", Lines::All),
    ("site", Lines::All),
    ("crop", Lines::All),
    ("batch", Lines::All),
    ("tank", Lines::All),
    ("what", Lines::All),
    ("status", Lines::All),
    ("way", Lines::All),
    ("plugs", Lines::Entry),
    ("plants", Lines::Entry),
    ("measured_plants", Lines::Entry),
    ("harvested_grams", Lines::Entry),
    ("height_cm", Lines::Plants),
    ("height_estimate_cm", Lines::Plants),
    ("width_cm", Lines::Plants),
    ("width_estimate_cm", Lines::Plants),
    ("leaves", Lines::Plants),
    ("leaves_estimate", Lines::Plants),
    ("longest_root_cm", Lines::Plants),
    ("longest_root_estimate_cm", Lines::Plants),
    ("plant_grams", Lines::Plants),
    ("plant_estimate_grams", Lines::Plants),
    ("days_behind", Lines::Entry),
    ("target_grams", Lines::Entry),
    ("holds", Lines::Entry),
    ("until", Lines::Entry),
    ("holes", Lines::Entry),
    ("cause", Lines::Entry),
    ("text", Lines::Entry),
    ("by", Lines::All),
    ("recorded", Lines::All),
    ("replaces", Lines::All),
    ("places", Lines::Entry),
    ("measured_as", Lines::Entry),
];

/// Columns that came later: older tables do without.
const LATER: [&str; 2] = ["places", "measured_as"];

/// What is measured of a plant: its key in the journal, and the columns of what was found and what was estimated.
const MEASURES: [(&str, &str, &str); 5] = [
    ("height", "height_cm", "height_estimate_cm"),
    ("width", "width_cm", "width_estimate_cm"),
    ("leaves", "leaves", "leaves_estimate"),
    ("longest-root", "longest_root_cm", "longest_root_estimate_cm"),
    ("mass", "plant_grams", "plant_estimate_grams"),
];

/// The column for the grams of a kind of entry: nobody should sum up what was wanted with what was harvested.
fn grams_of(kind: Kind) -> &'static str {
    if kind == Kind::TargetChanged { "target_grams" } else { "harvested_grams" }
}

/// What the lines tell besides the entries.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(crate) struct Beside {
    /// What people call the term.
    pub(crate) term: String,
    /// The crop of each batch.
    pub(crate) crops: BTreeMap<BatchId, CropId>,
    /// Entries in force that cannot be true.
    pub(crate) untrue: BTreeSet<EntryId>,
}

/// The status of an entry in force that cannot be true.
pub(crate) const UNTRUE: &str = "cannot be true";

impl Beside {
    /// The crop of an entry's batch.
    pub(crate) fn crop(&self, entry: &Entry) -> Option<&CropId> {
        entry.what.batch().and_then(|batch| self.crops.get(batch))
    }

    /// Whether an entry counts, and if not, why.
    pub(crate) fn status(&self, journal: &Journal, entry: &Entry) -> &'static str {
        match journal.replaced_by(entry.id) {
            Some(newer) if newer.what == What::Withdrawn => "withdrawn",
            Some(_) => "replaced",
            None if entry.what == What::Withdrawn => "takes back",
            None if self.untrue.contains(&entry.id) => UNTRUE,
            None => "counts",
        }
    }
}

/// The cells of a line by their columns; those that are empty are left out.
type Cells = BTreeMap<&'static str, String>;

/// A journal as CSV.
pub(crate) fn csv(journal: &Journal, beside: &Beside) -> String {
    let mut text = String::from("\u{feff}");
    text.push_str(&line(COLUMNS.iter().map(|(name, _)| (*name).to_owned())));
    for entry in journal.entries() {
        let whole = cells(journal, beside, entry);
        let plants =
            entry.what.samples().iter().zip(1..).map(|(sample, number)| plant(&whole, sample, number));
        for cells in std::iter::once(&whole).chain(&plants.collect::<Vec<_>>()) {
            let cell = |name: &str| cells.get(name).map(|text| defused(text)).unwrap_or_default();
            text.push_str(&line(COLUMNS.iter().map(|(name, _)| cell(name))));
        }
    }
    text
}

/// Cells as a line of the file. Semicolons and tabs part cells for some programs, so they are quoted as commas are, which
/// the crate csv would not do.
fn line(cells: impl Iterator<Item = String>) -> String {
    let quoted = |cell: String| {
        if cell.contains([',', ';', '\t', '"', '\r', '\n']) {
            format!("\"{}\"", cell.replace('"', "\"\""))
        } else {
            cell
        }
    };
    cells.map(quoted).collect::<Vec<_>>().join(",") + "\r\n"
}

/// What an entry tells as a whole.
fn cells(journal: &Journal, beside: &Beside, entry: &Entry) -> Cells {
    let shape = shape::entry(entry);
    let measured = Some(entry.what.samples().len()).filter(|number| *number > 0);
    let cells = [
        ("term", Some(beside.term.clone())),
        ("entry", Some(shape.id)),
        ("day", Some(shape.day.to_string())),
        ("site", shape.site),
        ("crop", beside.crop(entry).map(ToString::to_string)),
        ("batch", shape.batch),
        ("tank", shape.tank),
        ("what", Some(shape.what.to_owned())),
        ("status", Some(beside.status(journal, entry).to_owned())),
        ("way", shape.way.map(str::to_owned)),
        ("plugs", shape.plugs.map(|plugs| plugs.to_string())),
        ("plants", shape.plants.map(|plants| plants.to_string())),
        ("measured_plants", measured.map(|number| number.to_string())),
        (grams_of(entry.what.kind()), shape.grams.map(|grams| grams.to_string())),
        ("days_behind", shape.days.map(|days| days.to_string())),
        ("holds", shape.holds.map(str::to_owned)),
        ("until", shape.until.map(|until| until.to_string())),
        ("holes", shape.holes.map(|holes| list(&holes.0))),
        ("places", Some(places(&shape.places)).filter(|text| !text.is_empty())),
        ("measured_as", shape.measured_as),
        ("cause", shape.cause),
        ("text", shape.text),
        ("by", shape.by),
        ("recorded", Some(shape.recorded)),
        ("replaces", shape.replaces),
    ];
    cells.into_iter().filter_map(|(name, cell)| Some((name, cell?))).collect()
}

/// Numbers parted by semicolons: behind other marks, some program would read them as one number or a date.
fn list(numbers: &[u32]) -> String {
    numbers.iter().map(ToString::to_string).collect::<Vec<_>>().join("; ")
}

/// `blue: 6 (1; 2; 3; 4; 5; 6), red: 2`: each tank with its plants and, if they are said, their holes.
fn places(places: &[FlowMap<PlaceShape>]) -> String {
    let told = |FlowMap(place): &FlowMap<PlaceShape>| {
        let holes = if place.holes.is_empty() { String::new() } else { format!(" ({})", list(&place.holes)) };
        format!("{}: {}{holes}", place.tank, place.plants)
    };
    places.iter().map(told).collect::<Vec<_>>().join(", ")
}

/// The line of a measured plant.
fn plant(whole: &Cells, sample: &Sample, number: u32) -> Cells {
    let on_all = |name: &str| COLUMNS.contains(&(name, Lines::All));
    let mut cells: Cells = whole.clone();
    cells.retain(|name, _| on_all(name));
    cells.insert("plant", number.to_string());
    let Sample { height_cm, width_cm, leaves, longest_root_cm, mass_g } = *sample;
    let measured = [height_cm, width_cm, leaves, longest_root_cm, mass_g];
    for ((_, found_in, estimated_in), measured) in MEASURES.iter().zip(measured) {
        let Some(Measured { estimate, found }) = measured else { continue };
        cells.insert(found_in, found.to_string());
        cells.extend(estimate.map(|estimate| (*estimated_in, estimate.to_string())));
    }
    cells
}
