//! A spreadsheet's line to an entry.

use super::columns::Cells;
use super::{Clerk, Draft, Field, Import};
use crate::domain::growth::Way;
use crate::domain::ids::{BatchId, SiteId, TankId, is_plain};
use crate::domain::journal::{Amount, Harvested, Kind, Place, What};
use crate::domain::state::State;
use crate::domain::text;
use crate::domain::units::Mass;
use crate::files::journal_file::KINDS;
use crate::files::problem::{Problem, TextFile, suggest};
use crate::files::sheet::{self, Cell};
use crate::replan::state::state;
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

/// Ways of harvesting, as sheets, calendars and the journal put them.
const WAYS: [(&str, Way); 6] = [
    ("cut", Way::Cut),
    ("whole", Way::WholeHead),
    ("whole head", Way::WholeHead),
    ("whole heads", Way::WholeHead),
    ("pull", Way::WholeHead),
    ("pulled", Way::WholeHead),
];

/// Reads lines and notes every mistake. An `Option` given back is `None` only after one was noted.
pub(super) struct Reader<'a> {
    clerk: &'a Clerk<'a>,
    file: &'a TextFile,
    import: &'a Import,
    pub(super) problems: Vec<Problem>,
    /// How things stood on days that were asked for.
    then: BTreeMap<NaiveDate, State>,
}

impl<'a> Reader<'a> {
    pub(super) fn new(clerk: &'a Clerk<'a>, file: &'a TextFile, import: &'a Import) -> Self {
        Self { clerk, file, import, problems: Vec::new(), then: BTreeMap::new() }
    }

    /// One line as an entry to be.
    pub(super) fn line(&mut self, cells: &Cells) -> Option<Draft> {
        let kind = self.kind(cells);
        let day = self.need(cells, Field::Day).and_then(|cell| self.date(cell));
        let until = match cells.cells.get(&Field::Until) {
            Some(cell) => Some(self.date(cell)?),
            None => None,
        };
        let what = kind.and_then(|kind| self.what(cells, kind, (day, until)));
        let named = cells.cells.get(&Field::Site).map(|cell| cell.text.as_str());
        let (day, what) = (day?, what?);
        let site = match (what.batch(), what.tank()) {
            (Some(batch), _) => self.clerk.site_of_batch(batch, named),
            (None, Some(tank)) => self.clerk.site_of_tank(tank, named),
            (None, None) => named.map(SiteId::new),
        };
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
        let found = kinds().find(|(known, _)| *known == word);
        if found.is_none() {
            let help = format!(
                "say what it means with --words \"{written}=harvested\"; {}",
                suggest(&word, kinds().map(|(known, _)| known))
            );
            self.note(&span, format!("\"{written}\" cannot be recorded"), help);
        }
        found.map(|(_, kind)| kind)
    }

    fn what(
        &mut self,
        cells: &Cells,
        kind: Kind,
        (day, until): (Option<NaiveDate>, Option<NaiveDate>),
    ) -> Option<What> {
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
            Kind::Lost => self.lost(cells, day)?,
            Kind::Harvested => What::Harvested(self.harvested(cells)?),
            Kind::TankOut => What::TankOut { tank: self.tank(cells)?, until },
            Kind::TankBack => What::TankBack { tank: self.tank(cells)? },
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

    fn lost(&mut self, cells: &Cells, day: Option<NaiveDate>) -> Option<What> {
        let batch = self.batch(cells);
        let place = match (cells.cells.get(&Field::Tank), batch.as_ref()) {
            (Some(cell), _) if self.word(&cell.text) == "nursery" => Some(Place::Nursery),
            (Some(cell), _) => self.id(cell).map(|tank| Place::Tank(TankId::new(tank))),
            (None, Some(batch)) => self.only_place(cells, batch, day),
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
        let cause = self.need(cells, Field::Cause).and_then(|cell| self.text(cell, 1_000));
        Some(What::Lost { batch: batch?, place: place?, plants: plants?, holes: Vec::new(), cause: cause? })
    }

    /// Where plants of a batch were lost if that is not written: in the nursery where plugs are counted, else where all of
    /// them stand.
    fn only_place(&mut self, cells: &Cells, batch: &BatchId, day: Option<NaiveDate>) -> Option<Place> {
        let is_filled = |field| cells.cells.contains_key(&field);
        if is_filled(Field::Plugs) && !is_filled(Field::Plants) {
            return Some(Place::Nursery);
        }
        let Clerk { term, plan, journal, .. } = self.clerk;
        let then =
            self.then.entry(day?).or_insert_with(|| state(term, plan, journal, day.unwrap_or_default()));
        // What is no batch is told when all lines are held against the plan.
        let Some(batch_then) = then.batch(batch) else { return Some(Place::Nursery) };
        let plugs = batch_then.tray.plugs;
        let mut tanks: Vec<TankId> = batch_then.stands.iter().map(|stand| stand.tank.clone()).collect();
        tanks.sort_unstable();
        tanks.dedup();
        match (&tanks[..], plugs) {
            ([tank], 0) => return Some(Place::Tank(tank.clone())),
            ([], 1..) => return Some(Place::Nursery),
            _ => {}
        }
        let help = "fill in the column of \"tank\": the name of the tank, or nursery";
        self.note(&cells.whole, format!("it is not clear where plants of {batch} were lost"), help);
        None
    }

    fn harvested(&mut self, cells: &Cells) -> Option<Harvested> {
        let (batch, plants) = (self.batch(cells), self.count(cells, Field::Plants, 1));
        let tank = self.tank_of(cells, batch.as_ref());
        let way = self.need(cells, Field::Way).and_then(|cell| self.way(cell));
        let mass = self.need(cells, Field::Mass).and_then(|cell| self.mass(cell));
        Some(Harvested {
            batch: batch?,
            tank: tank?,
            plants: plants?,
            holes: Vec::new(),
            way: way?,
            grams: mass?.grams(),
            samples: Vec::new(),
        })
    }

    fn id<'c>(&mut self, cell: &'c Cell) -> Option<&'c str> {
        if is_plain(&cell.text) {
            return Some(&cell.text);
        }
        let help = "write it as in plan and term file: small letters, digits and hyphens";
        self.note(&cell.span, format!("\"{}\" cannot be a name", cell.text), help);
        None
    }

    fn batch(&mut self, cells: &Cells) -> Option<BatchId> {
        let cell = self.need(cells, Field::Batch)?;
        self.id(cell).map(BatchId::new)
    }

    /// The tank written, or the only one planned for the batch. Without a batch nothing more is noted: that was.
    fn tank_of(&mut self, cells: &Cells, batch: Option<&BatchId>) -> Option<TankId> {
        if cells.cells.contains_key(&Field::Tank) {
            return self.tank(cells);
        }
        let batch = batch?;
        if let Some(tank) = self.clerk.tank_of_batch(batch, None) {
            return Some(tank);
        }
        let known: Vec<&str> = self.clerk.plan.batches.iter().map(|batch| batch.id.as_str()).collect();
        if known.contains(&batch.as_str()) {
            return self.tank(cells);
        }
        let span = cells.cells.get(&Field::Batch).map_or(cells.whole.clone(), |cell| cell.span.clone());
        let help = suggest(batch.as_str(), known);
        self.note(&span, format!("there is no batch in the plan called \"{batch}\""), help);
        None
    }

    fn tank(&mut self, cells: &Cells) -> Option<TankId> {
        let cell = self.need(cells, Field::Tank)?;
        self.id(cell).map(TankId::new)
    }

    fn count(&mut self, cells: &Cells, field: Field, least: u32) -> Option<u32> {
        let cell = self.need(cells, field)?;
        let number = cell.text.parse().ok().filter(|number| (least..=100_000).contains(number));
        if number.is_none() {
            let help = format!("write digits only, {least} or more");
            self.note(&cell.span, format!("\"{}\" is no number of {}", cell.text, field.name()), help);
        }
        number
    }

    /// Words on one line.
    fn text(&mut self, cell: &Cell, most: usize) -> Option<String> {
        let line = cell.text.split_whitespace().collect::<Vec<_>>().join(" ");
        if line.chars().count() > most {
            self.note(
                &cell.span,
                "this does not fit into the journal",
                format!("use at most {most} letters"),
            );
            return None;
        }
        if let Err(unfit) = text::check(&line) {
            self.note(&cell.span, unfit.to_string(), unfit.help());
            return None;
        }
        Some(line)
    }

    fn way(&mut self, cell: &Cell) -> Option<Way> {
        let word = self.word(&cell.text);
        let found = WAYS.iter().find(|(known, _)| *known == word);
        if found.is_none() {
            let help = format!("write cut or whole, or say what it means: --words \"{}=cut\"", cell.text);
            self.note(&cell.span, format!("\"{}\" is no way of harvesting", cell.text), help);
        }
        found.map(|(_, way)| *way)
    }

    fn mass(&mut self, cell: &Cell) -> Option<Mass> {
        let Some(mut text) = (if self.import.decimal_comma {
            with_decimal_point(&cell.text)
        } else {
            Some(cell.text.clone())
        }) else {
            let help = "with --decimal-comma a point only parts thousands: 1,5 is one and a half, 1.500 fifteen hundred";
            self.note(&cell.span, format!("\"{}\" is not a mass", cell.text), help);
            return None;
        };
        let bare = text.ends_with(|c: char| c.is_ascii_digit());
        if let Some(unit) = self.import.mass_unit.filter(|_| bare) {
            text = format!("{text} {}", unit.word());
        }
        match text.parse::<Mass>() {
            Ok(mass) => Some(mass),
            Err(error) => {
                let mut help = error.to_string();
                if bare && self.import.mass_unit.is_none() {
                    help.push_str("; or state the unit of all masses with --mass-unit");
                } else if text.contains(',') {
                    help.push_str("; or use --decimal-comma");
                }
                self.note(&cell.span, format!("\"{}\" is not a mass", cell.text), help);
                None
            }
        }
    }

    fn date(&mut self, cell: &Cell) -> Option<NaiveDate> {
        let read = sheet::date(&cell.text, self.import.date_format.as_deref());
        if let Err(help) = read {
            self.note(&cell.span, format!("\"{}\" is not a date", cell.text), help);
        }
        read.ok()
    }
}

/// A quantity that is written with a decimal comma, with a decimal point instead; `None` if a point in it parts no
/// thousands.
fn with_decimal_point(text: &str) -> Option<String> {
    let end = text.find(|c: char| !c.is_ascii_digit() && !matches!(c, '.' | ',')).unwrap_or(text.len());
    let (number, unit) = text.split_at(end);
    let (whole, decimals) =
        number.split_once(',').map_or((number, None), |(whole, rest)| (whole, Some(rest)));
    let mut groups = whole.split('.');
    let first = groups.next().unwrap_or_default();
    let rest: Vec<&str> = groups.collect();
    let parts_thousands =
        rest.is_empty() || ((1..=3).contains(&first.len()) && rest.iter().all(|group| group.len() == 3));
    if !parts_thousands || decimals.is_some_and(|decimals| decimals.contains(['.', ','])) {
        return None;
    }
    let decimals = decimals.map(|decimals| format!(".{decimals}")).unwrap_or_default();
    Some(format!("{first}{}{decimals}{unit}", rest.concat()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_point_beside_a_decimal_comma_only_parts_thousands() {
        for (written, meant) in [
            ("1,5 kg", Some("1.5 kg")),
            ("289,5", Some("289.5")),
            ("480", Some("480")),
            ("1.500 g", Some("1500 g")),
            ("1.250.000,5 g", Some("1250000.5 g")),
            ("1.5 kg", None),
            ("1500.000 g", None),
            (".500 g", None),
            ("1.50,0 g", None),
            ("1,500.5 g", None),
            ("1,2,3 g", None),
        ] {
            assert_eq!(with_decimal_point(written).as_deref(), meant, "{written}");
        }
    }
}
