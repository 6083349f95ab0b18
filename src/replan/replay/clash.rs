//! Plants that would stand in one hole: some came earlier than planned, or a harvest that was taken later than planned, or
//! not at all, leaves no room for what the plan has put into its holes meanwhile.

use super::batch::BatchReplay;
use super::believed::Believed;
use super::crowd;
use super::lot::Lot;
use crate::domain::term::Term;

/// A lot, by its batch's and its own number.
type At = (usize, usize);

/// Ends every clash: plants of which nobody says that they came into the tank still wait in the nursery; where somebody
/// does, they stand in other holes, which cannot be told, or if there are none, those that stood there before are gone.
pub(super) fn part(term: &Term, batches: &mut [BatchReplay<'_>], believed: &Believed<'_>) {
    while let Some((first, second)) = clash(batches) {
        let later = &batches[second.0].lots[second.1];
        let (moved, part) = (later.moved(), later.part);
        match (batches[second.0].evidence(later), moved, part) {
            (None, _, Some(part)) => batches[second.0].run_without(part, believed),
            (Some(_), Some(_), _) if crowd::has_room(term, batches, second) => {
                let later = &mut batches[second.0].lots[second.1];
                later.holes.clear();
                later.kept_empty.clear();
            }
            (entry, Some(moved), _) => batches[first.0].lots[first.1].lose(moved, entry),
            // Nothing stands that was not moved.
            (_, None, _) => return,
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
