//! A spreadsheet's line to an entry.

mod batch;
mod cells;

use super::columns::Cells;
use super::{Clerk, Draft, Field, Import, MassUnit};
use crate::desk::places::only_place;
use crate::desk::{Named, Trouble};
use crate::domain::growth::Way;
use crate::domain::ids::BatchId;
use crate::domain::journal::{Amount, Harvested, InTank, Kind, Place, What};
use crate::domain::state::State;
use crate::files::journal_file::KINDS;
use crate::files::problem::{Problem, TextFile, suggest};
use crate::files::sheet::Cell;
use crate::replan::state::state;
use crate::report::words::counted;
use chrono::NaiveDate;
use std::collections::BTreeMap;
use std::ops::Range;

/// What a line may report: all but what is judged by eye, plants that stay, what is put off, and a correction of the target and of
/// entries.
fn kinds() -> impl Iterator<Item = (&'static str, Kind)> {
    KINDS.into_iter().filter(|(_, kind)| {
        !matches!(kind, Kind::Behind | Kind::Measured | Kind::PutOff | Kind::TargetChanged | Kind::Withdrawn)
    })
}

/// So many batches that were found are told.
const MOST_BATCHES: usize = 8;

/// What lists of people call it, besides the journal's own words.
const USUAL: [(&str, Kind); 14] = [
    ("harvest", Kind::Harvested),
    ("harvesting", Kind::Harvested),
    ("sow", Kind::Sown),
    ("sowing", Kind::Sown),
    ("seeded", Kind::Sown),
    ("germinated", Kind::CameUp),
    ("transplant", Kind::Transplanted),
    ("transplanting", Kind::Transplanted),
    ("moved", Kind::Transplanted),
    ("loss", Kind::Lost),
    ("losses", Kind::Lost),
    ("died", Kind::Lost),
    ("notes", Kind::Note),
    ("comment", Kind::Note),
];

impl Taken {
    /// What to tell of it.
    pub(super) fn told(&self) -> Vec<String> {
        let mut told = Vec::new();
        if let Some((count, text, day)) = &self.serial_dates {
            let number = if *count == 1 {
                "1 date is a number".to_owned()
            } else {
                format!("{count} dates are numbers")
            };
            told.push(format!("{number}, as spreadsheets count days: {text} is {day}."));
        }
        if !self.batches.is_empty() {
            let named = self.batches.iter().take(MOST_BATCHES).cloned().collect::<Vec<_>>().join(", ");
            let more = self.batches.len().saturating_sub(MOST_BATCHES);
            let more = if more > 0 { format!(" and {more} more") } else { String::new() };
            told.push(format!("Batches found by crop and day: {named}{more}."));
        }
        if self.words_left > 0 {
            let lines = counted(self.words_left as u32, "line");
            told.push(format!("What {lines} say in words besides is left out; the journal keeps notes as entries of their own."));
        }
        told
    }
}

/// Reads lines and notes every mistake. An `Option` given back is `None` only after one was noted.
pub(super) struct Reader<'a> {
    clerk: &'a Clerk<'a>,
    file: &'a TextFile,
    import: &'a Import,
    pub(super) problems: Vec<Problem>,
    /// How things stood on days that were asked for.
    then: BTreeMap<NaiveDate, State>,
    /// Unit of masses without one.
    mass_unit: Option<MassUnit>,
    /// What the line reports, and its day, as far as they could be read.
    line: (Option<Kind>, Option<NaiveDate>),
    pub(super) taken: Taken,
}

/// What was understood of cells that do not say it outright.
#[derive(Debug, Default)]
pub(super) struct Taken {
    /// Dates that are numbers, as spreadsheets keep them: how many, and one with its day.
    pub(super) serial_dates: Option<(usize, String, NaiveDate)>,
    /// Batches that were found by crop and day, in words.
    pub(super) batches: Vec<String>,
    /// Lines of which words beside the entry are left out.
    pub(super) words_left: usize,
}

impl<'a> Reader<'a> {
    pub(super) fn new(
        clerk: &'a Clerk<'a>,
        file: &'a TextFile,
        import: &'a Import,
        mass_unit: Option<MassUnit>,
    ) -> Self {
        let (problems, then, taken) = (Vec::new(), BTreeMap::new(), Taken::default());
        Self { clerk, file, import, problems, then, mass_unit, line: (None, None), taken }
    }

    /// One line as an entry to be.
    pub(super) fn line(&mut self, cells: &Cells) -> Option<Draft> {
        let kind = self.kind(cells);
        let day = self.need(cells, Field::Day).and_then(|cell| self.date(cell));
        let until = match cells.cells.get(&Field::Until) {
            Some(cell) => Some(self.date(cell)?),
            None => None,
        };
        self.line = (kind, day);
        let what = kind.and_then(|kind| self.what(cells, kind, until));
        let named = cells.cells.get(&Field::Site).map(|cell| cell.text.as_str());
        let (day, what) = (day?, what?);
        let site = match (what.batch(), what.tank()) {
            (Some(batch), _) => self.clerk.site_of_batch(batch, named),
            (None, Some(tank)) => self.clerk.site_of_tank(tank, named),
            (None, None) => named.map(|typed| self.clerk.site_named(typed)),
        };
        if cells.cells.contains_key(&Field::Text) && !matches!(what.kind(), Kind::Note | Kind::Lost) {
            self.taken.words_left += 1;
        }
        let by = match cells.cells.get(&Field::By) {
            Some(cell) => Some(self.text(cell, 80)?),
            None => None,
        };
        Some(Draft { day, site, by, what, replaces: None })
    }

    fn note(&mut self, span: &Range<usize>, title: impl Into<String>, help: impl Into<String>) {
        self.problems.push(self.file.problem(span.clone(), title, help));
    }

    /// That a line goes on beyond the headings, so that nobody knows which cell belongs to which of them.
    pub(super) fn note_cell_without_heading(&mut self, cell: &Cell) {
        self.note(
            &cell.span,
            format!("this line has more cells than there are headings: \"{}\" stands under none", cell.text),
            "name the column in the first line, or put quotation marks around a cell with a comma in it: \"1,5\"",
        );
    }

    fn need<'c>(&mut self, cells: &'c Cells, field: Field) -> Option<&'c Cell> {
        let cell = cells.cells.get(&field);
        if cell.is_none() {
            let name = field.name();
            let help = format!("fill in the column of \"{name}\", or name it with --columns \"{name}=...\"");
            self.note(&cells.whole, format!("this line says nothing of \"{name}\""), help);
        }
        cell
    }

    /// A word of a cell as --words maps it.
    fn word(&self, text: &str) -> String {
        let pairs = self.import.words.iter().flat_map(|pairs| &pairs.0);
        let mapped = pairs.into_iter().find(|(word, _)| word.to_lowercase() == text.to_lowercase());
        mapped.map_or(text, |(_, meaning)| meaning).to_lowercase().replace(['-', '_'], " ")
    }

    fn kind(&mut self, cells: &Cells) -> Option<Kind> {
        let (written, span) = match (cells.cells.get(&Field::What), &self.import.what) {
            (Some(cell), _) => (cell.text.clone(), cell.span.clone()),
            (None, Some(what)) => (what.clone(), cells.whole.clone()),
            (None, None) => (self.need(cells, Field::What)?.text.clone(), cells.whole.clone()),
        };
        let word = self.word(&written);
        let found = kinds().chain(USUAL).find(|(known, _)| *known == word);
        if found.is_none() {
            let help = format!(
                "say what it means with --words \"{written}=harvested\"; {}",
                suggest(&word, kinds().map(|(known, _)| known))
            );
            self.note(&span, format!("\"{written}\" cannot be recorded"), help);
        }
        found.map(|(_, kind)| kind)
    }

    fn what(&mut self, cells: &Cells, kind: Kind, until: Option<NaiveDate>) -> Option<What> {
        Some(match kind {
            Kind::Sown => {
                let (batch, plugs) = (self.batch(cells), self.count(cells, Field::Plugs, 1));
                What::Sown { batch: batch?, plugs: plugs? }
            }
            Kind::CameUp => {
                let (batch, plugs) = (self.batch(cells), self.count(cells, Field::Plugs, 0));
                What::CameUp { batch: batch?, plugs: plugs? }
            }
            Kind::Transplanted => {
                let (batch, plants) = (self.batch(cells), self.count(cells, Field::Plants, 1));
                let tank = self.tank_of(cells, batch.as_ref());
                What::Transplanted { batch: batch?, tank: tank?, plants: plants? }
            }
            Kind::Lost => self.lost(cells)?,
            Kind::Harvested => What::Harvested(self.harvested(cells)?),
            Kind::TankOut => What::TankOut { tank: self.tank(cells, None)?, until },
            Kind::TankBack => What::TankBack { tank: self.tank(cells, None)? },
            Kind::ClassLost => What::ClassLost,
            Kind::ClassAdded => What::ClassAdded,
            Kind::Note
            | Kind::Behind
            | Kind::Measured
            | Kind::PutOff
            | Kind::TargetChanged
            | Kind::Withdrawn => {
                let batch = match cells.cells.get(&Field::Batch) {
                    Some(_) => Some(self.batch(cells)?),
                    None => None,
                };
                What::Note {
                    batch,
                    text: self.need(cells, Field::Text).and_then(|cell| self.text(cell, 1_000))?,
                }
            }
        })
    }

    fn lost(&mut self, cells: &Cells) -> Option<What> {
        let batch = self.batch(cells);
        let place = match (cells.cells.get(&Field::Tank), batch.as_ref()) {
            (Some(cell), _) if self.word(&cell.text) == "nursery" => Some(Place::Nursery),
            (Some(_), batch) => self.tank(cells, batch).map(Place::Tank),
            (None, Some(batch)) => self.only_place(cells, batch),
            (None, None) => None,
        };
        let in_nursery = place == Some(Place::Nursery);
        // In the nursery a plant is a plug, whatever the column is called.
        let fields = if in_nursery { [Field::Plugs, Field::Plants] } else { [Field::Plants, Field::Plugs] };
        let field = fields.into_iter().find(|field| cells.cells.contains_key(field));
        let all = |field: &Field| cells.cells.get(field).is_some_and(|cell| self.word(&cell.text) == "all");
        let plants = match field {
            Some(field) if all(&field) => Some(Amount::All),
            Some(field) => self.count(cells, field, 1).map(Amount::Plants),
            None => {
                let help = "write a number as \"plants\" or \"plugs\", or the word all";
                self.note(&cells.whole, "this line does not say how many were lost", help);
                None
            }
        };
        // Who writes no reason in a column of its own may have noted it.
        let noted = if cells.cells.contains_key(&Field::Cause) { Field::Cause } else { Field::Text };
        let cause = if cells.cells.contains_key(&noted) { noted } else { Field::Cause };
        let cause = self.need(cells, cause).and_then(|cell| self.text(cell, 1_000));
        Some(What::Lost { batch: batch?, place: place?, plants: plants?, holes: Vec::new(), cause: cause? })
    }

    /// Where plants of a batch were lost if that is not written: in the nursery where plugs are counted, else where all of
    /// them stand.
    fn only_place(&mut self, cells: &Cells, batch: &BatchId) -> Option<Place> {
        let is_filled = |field| cells.cells.contains_key(&field);
        if is_filled(Field::Plugs) && !is_filled(Field::Plants) {
            return Some(Place::Nursery);
        }
        let day = self.line.1?;
        // What is no batch is told when all lines are held against the plan.
        let Some(batch_then) = self.state(day).batch(batch) else { return Some(Place::Nursery) };
        if let Some(place) = only_place(batch_then) {
            return Some(place);
        }
        let help = "fill in the column of \"tank\": the name of the tank, or nursery";
        self.note(&cells.whole, format!("it is not clear where plants of {batch} were lost"), help);
        None
    }

    /// How things stood on a day.
    pub(super) fn state(&mut self, day: NaiveDate) -> &State {
        let Clerk { term, plan, journal, .. } = self.clerk;
        self.then.entry(day).or_insert_with(|| state(term, plan, journal, day))
    }

    fn harvested(&mut self, cells: &Cells) -> Option<Harvested> {
        let (batch, plants) = (self.batch(cells), self.count(cells, Field::Plants, 1));
        let way = self.need(cells, Field::Way).and_then(|cell| self.way(cell));
        let amount = self.need(cells, Field::Mass).and_then(|cell| self.amount(cell));
        let (batch, way) = (batch?, way?);
        let places = self.places(cells, (&batch, way), plants?);
        let amount = amount?;
        let (grams, measured_as) = match self.clerk.grams(amount, &batch) {
            Ok(read) => read,
            Err(trouble) => {
                self.note_trouble(cells, Field::Mass, &trouble);
                return None;
            }
        };
        Some(Harvested { batch, places: places?, way, grams, measured_as, samples: Vec::new() })
    }

    /// The tanks written, or those planned for the harvest, with the plants of each.
    fn places(&mut self, cells: &Cells, (batch, way): (&BatchId, Way), plants: u32) -> Option<Vec<InTank>> {
        let day = self.line.1?;
        let site = self.clerk.site_of_batch(batch, None);
        let tanks = match cells.cells.get(&Field::Tank) {
            Some(cell) => {
                let names = cell.text.split([',', ';', '+', '&', '/']).flat_map(|names| names.split(" and "));
                Ok(names.map(|name| Named::all_of(self.clerk.tank_named(name, site.as_ref()))).collect())
            }
            None => {
                let tanks = self.clerk.tanks_of_harvest(batch, (day, way));
                tanks.map(|tanks| tanks.into_iter().map(Named::assumed).collect())
            }
        };
        let places =
            tanks.and_then(|tanks| self.clerk.shared_out((batch, day, way), (Some(plants), tanks), None));
        match places {
            Ok(places) => Some(places),
            Err(trouble) => {
                self.note_trouble(cells, Field::Tank, &trouble);
                None
            }
        }
    }

    /// That what a cell says cannot be meant, or the line if that is not filled in.
    fn note_trouble(&mut self, cells: &Cells, field: Field, trouble: &Trouble) {
        let span = cells.cells.get(&field).map_or(cells.whole.clone(), |cell| cell.span.clone());
        match trouble {
            Trouble::Told { what, help } | Trouble::Usage { what, help } => {
                self.note(&span, what.trim_start_matches("not recorded: "), help);
            }
            Trouble::Files(problems) => self.problems.extend(problems.iter().cloned()),
        }
    }
}
