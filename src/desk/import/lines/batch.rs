//! The batch of a line, by its id or by crop and day.

use super::{Cells, Field, Reader};
use crate::domain::calendar::days_between;
use crate::domain::ids::{BatchId, CropId};
use crate::domain::journal::Kind;
use crate::domain::plan::Batch;
use crate::files::sheet::Cell;
use chrono::NaiveDate;

/// Work so many days from the day it was planned for is taken for it.
const SAME_WORK: i64 = 7;

impl Reader<'_> {
    /// The batch that is written, else the only one of the crop for which such work is planned about the day.
    pub(super) fn batch(&mut self, cells: &Cells) -> Option<BatchId> {
        let crop = cells.cells.get(&Field::Crop);
        match (cells.cells.get(&Field::Batch), crop) {
            (None, Some(crop)) => self.batch_of(cells, crop),
            (_, crop) => {
                let cell = self.need(cells, Field::Batch)?;
                let batch = self.id(cell).map(BatchId::new)?;
                crop.is_none_or(|crop| self.is_of_crop(&batch, crop)).then_some(batch)
            }
        }
    }

    /// Whether a batch is of the crop that stands beside it. What is no batch is told when all lines are held against the plan.
    fn is_of_crop(&mut self, batch: &BatchId, cell: &Cell) -> bool {
        let planned = self.clerk.plan.batches.iter().find(|planned| planned.id == *batch);
        let crop = planned.and_then(|planned| self.clerk.term.crop(&planned.crop));
        let Some(crop) = crop.map(|wanted| &wanted.crop).filter(|crop| !crop.is_called(&cell.text)) else {
            return true;
        };
        let title = format!("batch {batch} is {} in the plan, not \"{}\"", crop.id, cell.text);
        let help = "correct the batch or the crop; if the column holds something else, name it with --columns \"crop=...\"";
        self.note(&cell.span, title, help);
        false
    }

    fn batch_of(&mut self, cells: &Cells, cell: &Cell) -> Option<BatchId> {
        let crop = match self.clerk.crop_named(&cell.text) {
            Ok(crop) => crop,
            Err(trouble) => {
                self.note_trouble(cells, Field::Crop, &trouble);
                return None;
            }
        };
        let (Some(kind), Some(day)) = self.line else { return None };
        let found = self.candidates(cells, &crop, (kind, day));
        if let [only] = &found[..] {
            self.taken.batches.push(format!("{} of {day} is {only}", cell.text));
            return Some(only.clone());
        }
        let several: Vec<&str> = found.iter().map(BatchId::as_str).collect();
        let title = if several.is_empty() {
            format!("no batch of \"{}\" is planned for that about {day}", cell.text)
        } else {
            format!("\"{}\" may be any of these batches on {day}: {}", cell.text, several.join(", "))
        };
        self.note(&cell.span, title, "add a column \"batch\" and fill in the batch of this line");
        None
    }

    /// Batches of a crop, at the site and in the tank if they are written, for which the work is planned about a day; for all else those
    /// that live.
    fn candidates(&mut self, cells: &Cells, crop: &CropId, (kind, day): (Kind, NaiveDate)) -> Vec<BatchId> {
        let site = cells.cells.get(&Field::Site).map(|cell| self.clerk.site_named(&cell.text));
        let tank = cells.cells.get(&Field::Tank).filter(|cell| !cell.text.contains([',', ';', '+', '&']));
        let tank = tank.map(|cell| self.clerk.tank_named(&cell.text, site.as_ref()));
        let living: Vec<BatchId> =
            self.state(day).batches.iter().filter(|own| own.lives()).map(|own| own.batch.clone()).collect();
        let here = |batch: &&Batch| {
            batch.crop == *crop
                && site.as_ref().is_none_or(|site| batch.site == *site)
                && tank.as_ref().is_none_or(|tank| batch.parts.iter().any(|part| part.tank == *tank))
        };
        let fits = |batch: &&Batch| {
            planned(batch, kind).map_or_else(
                || living.contains(&batch.id),
                |days| days.iter().any(|planned| days_between(*planned, day).abs() <= SAME_WORK),
            )
        };
        let batches = self.clerk.plan.batches.iter();
        batches.filter(here).filter(fits).map(|batch| batch.id.clone()).collect()
    }
}

/// Days for which such work is planned; `None` if it is not planned at all.
fn planned(batch: &Batch, kind: Kind) -> Option<Vec<NaiveDate>> {
    let parts = batch.parts.iter();
    match kind {
        Kind::Sown => Some(vec![batch.sown]),
        Kind::Transplanted => Some(parts.map(|part| part.transplant).collect()),
        Kind::Harvested => Some(parts.flat_map(|part| &part.harvests).map(|harvest| harvest.date).collect()),
        _ => None,
    }
}
