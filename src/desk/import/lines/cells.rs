//! Single cells of a spreadsheet's line.

use super::{Cells, Field, Reader};
use crate::desk::way;
use crate::domain::growth::Way;
use crate::domain::ids::{BatchId, TankId, is_plain};
use crate::domain::text;
use crate::domain::units;
use crate::files::problem::suggest;
use crate::files::sheet::{self, Cell};
use chrono::NaiveDate;

impl Reader<'_> {
    pub(super) fn id<'c>(&mut self, cell: &'c Cell) -> Option<&'c str> {
        if is_plain(&cell.text) {
            return Some(&cell.text);
        }
        let help = "write it as in plan and term file: small letters, digits and hyphens";
        self.note(&cell.span, format!("\"{}\" cannot be a name", cell.text), help);
        None
    }

    /// The tank written, or the only one planned for the batch. Without a batch nothing more is noted: that was.
    pub(super) fn tank_of(&mut self, cells: &Cells, batch: Option<&BatchId>) -> Option<TankId> {
        if cells.cells.contains_key(&Field::Tank) {
            return self.tank(cells, batch);
        }
        let batch = batch?;
        if let Some(tank) = self.clerk.tank_of_batch(batch, None) {
            return Some(tank);
        }
        let known: Vec<&str> = self.clerk.plan.batches.iter().map(|batch| batch.id.as_str()).collect();
        if known.contains(&batch.as_str()) {
            return self.tank(cells, Some(batch));
        }
        let span = cells.cells.get(&Field::Batch).map_or(cells.whole.clone(), |cell| cell.span.clone());
        let help = suggest(batch.as_str(), known);
        self.note(&span, format!("there is no batch in the plan called \"{batch}\""), help);
        None
    }

    pub(super) fn tank(&mut self, cells: &Cells, batch: Option<&BatchId>) -> Option<TankId> {
        let cell = self.need(cells, Field::Tank)?;
        let named = cells.cells.get(&Field::Site).map(|cell| self.clerk.site_named(&cell.text));
        let site = named.or_else(|| self.clerk.site_of_batch(batch?, None));
        let tank = self.clerk.tank_named(&cell.text, site.as_ref());
        is_plain(tank.as_str()).then_some(()).or_else(|| self.id(cell).map(drop)).map(|()| tank)
    }

    pub(super) fn count(&mut self, cells: &Cells, field: Field, least: u32) -> Option<u32> {
        let cell = self.need(cells, field)?;
        let number = cell.text.parse().ok().filter(|number| (least..=100_000).contains(number));
        if number.is_none() {
            let help = format!("write digits only, {least} or more");
            self.note(&cell.span, format!("\"{}\" is no number of {}", cell.text, field.name()), help);
        }
        number
    }

    /// Words on one line.
    pub(super) fn text(&mut self, cell: &Cell, most: usize) -> Option<String> {
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

    pub(super) fn way(&mut self, cell: &Cell) -> Option<Way> {
        let found = way(&self.word(&cell.text));
        if let Err(help) = &found {
            let help = format!("{help}; or say what it means: --words \"{}=cut\"", cell.text);
            self.note(&cell.span, format!("\"{}\" is no way of harvesting", cell.text), help);
        }
        found.ok()
    }

    pub(super) fn amount(&mut self, cell: &Cell) -> Option<units::Amount> {
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
        if let Some(unit) = self.mass_unit.filter(|_| bare) {
            text = format!("{text} {}", unit.word());
        }
        match text.parse::<units::Amount>() {
            Ok(amount) => Some(amount),
            Err(error) => {
                let mut help = error.to_string();
                if bare && self.mass_unit.is_none() {
                    help.push_str("; or state the unit of all masses with --mass-unit");
                } else if text.contains(',') {
                    help.push_str("; or use --decimal-comma");
                }
                self.note(&cell.span, format!("\"{}\" is not a mass", cell.text), help);
                None
            }
        }
    }

    pub(super) fn date(&mut self, cell: &Cell) -> Option<NaiveDate> {
        let help = match sheet::date(&cell.text, self.import.date_format.as_deref()) {
            Ok(date) => return Some(date),
            Err(help) => help,
        };
        let term = self.clerk.term;
        match sheet::serial_date(&cell.text) {
            Some(date) if (term.start..=term.end).contains(&date) => {
                let told = self.taken.serial_dates.get_or_insert_with(|| (0, cell.text.clone(), date));
                told.0 += 1;
                return Some(date);
            }
            Some(date) => {
                let title = format!("\"{}\" is not a date", cell.text);
                let help = format!(
                    "{help}; as spreadsheets count days it would be {date}, which is outside the term"
                );
                self.note(&cell.span, title, help);
            }
            None => self.note(&cell.span, format!("\"{}\" is not a date", cell.text), help),
        }
        None
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
