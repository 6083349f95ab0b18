//! Plants that would stand in one hole: a harvest that was taken later than planned, or not at all, leaves no room for
//! what the plan has put into its holes meanwhile.

use super::batch::BatchReplay;
use super::lot::Lot;
use crate::domain::journal::EntryId;
use chrono::NaiveDate;

/// A lot, by its batch's and its own number.
type At = (usize, usize);

/// Ends every clash: plants that nobody says were moved still wait in the nursery; where somebody does, those that stood
/// there before are gone.
pub(super) fn part(batches: &mut [BatchReplay<'_>]) {
    while let Some((first, second)) = clash(batches) {
        let event = batches[second.0].lots[second.1].events[0];
        match event.entry {
            Some(entry) => gone(&mut batches[first.0].lots[first.1], event.day, entry),
            None => batches[second.0].send_back(second.1),
        }
    }
}

fn gone(lot: &mut Lot, day: NaiveDate, entry: EntryId) {
    lot.lose(day, Some(entry));
}

impl BatchReplay<'_> {
    /// Puts plants back into the nursery that cannot have been moved.
    fn send_back(&mut self, lot: usize) {
        let lot = &mut self.lots[lot];
        lot.events.clear();
        lot.harvests_done = 0;
        self.tray.plugs += lot.plants;
        self.tray.came_up = self.tray.came_up.map(|up| up + lot.plants);
        if let Some(part) = lot.part {
            self.moves[part] = None;
        }
    }
}

/// Two lots in the same holes, the earlier one first. What stood there before the term began is as it was told.
fn clash(batches: &[BatchReplay<'_>]) -> Option<(At, At)> {
    let mut standing: Vec<(At, &BatchReplay, &Lot)> = Vec::new();
    for (at, batch) in batches.iter().enumerate() {
        let lots = batch.lots.iter().enumerate().filter(|(_, lot)| lot.stands());
        standing.extend(lots.map(|(number, lot)| ((at, number), batch, lot)));
    }
    standing.sort_by_key(|(_, _, lot)| lot.moved());
    let mut rest = &standing[..];
    while let [(first, batch, lot), others @ ..] = rest {
        let meets = others.iter().find(|(_, other, with)| {
            !other.stood_in_tank
                && (&batch.batch.site, &lot.tank) == (&other.batch.site, &with.tank)
                && holes(lot).any(|hole| holes(with).any(|other| other == hole))
        });
        if let Some((second, _, _)) = meets {
            return Some((*first, *second));
        }
        rest = others;
    }
    None
}

fn holes(lot: &Lot) -> impl Iterator<Item = u32> {
    lot.holes.iter().chain(&lot.kept_empty).copied()
}
