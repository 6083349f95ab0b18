//! Plants that would stand in one hole: a harvest recorded later than planned leaves no room for what the plan has put
//! into its holes meanwhile.

use super::carry::{end, still_in_nursery};
use crate::domain::growth::Way;
use crate::domain::journal::{self, Entry, Kind};
use crate::domain::plan::{Batch, Part, Plan};
use chrono::NaiveDate;

/// A part, by its batch's and its own place in the plan.
type Place = (usize, usize);

/// Ends every clash: plants that nobody says were moved still wait in the nursery; where somebody does, those that
/// stood there before are gone.
pub(super) fn part_clashes(plan: &mut Plan, past: &[&Entry], today: NaiveDate) {
    while let Some((first, second)) = clash(plan, today) {
        let batch = &plan.batches[second.0];
        let later = &batch.parts[second.1];
        if past.iter().any(|entry| tells_move(entry, batch, later)) {
            let moved = later.transplant;
            let earlier = &mut plan.batches[first.0].parts[first.1];
            let tank = journal::Place::Tank(earlier.tank.clone());
            end(earlier, &tank, moved);
        } else {
            still_in_nursery(&mut plan.batches[second.0].parts[second.1], today);
        }
    }
}

fn tells_move(entry: &Entry, batch: &Batch, part: &Part) -> bool {
    (entry.what.kind(), entry.what.batch(), entry.what.tank(), entry.day)
        == (Kind::Transplanted, Some(&batch.id), Some(&part.tank), part.transplant)
}

/// Two parts that stand in the same holes today, the earlier one first.
fn clash(plan: &Plan, today: NaiveDate) -> Option<(Place, Place)> {
    let mut standing: Vec<(Place, &Batch, &Part)> = Vec::new();
    for (at, batch) in plan.batches.iter().enumerate() {
        let parts = batch.parts.iter().enumerate().filter(|(_, part)| stands(part, today));
        standing.extend(parts.map(|(number, part)| ((at, number), batch, part)));
    }
    standing.sort_by_key(|(_, _, part)| part.transplant);
    let mut rest = &standing[..];
    while let [(place, batch, part), others @ ..] = rest {
        let meets = others.iter().find(|(_, other, with)| {
            (&batch.site, &part.tank) == (&other.site, &with.tank)
                && holes(part).any(|hole| holes(with).any(|other| other == hole))
        });
        if let Some((other, _, _)) = meets {
            return Some((*place, *other));
        }
        rest = others;
    }
    None
}

/// Whether a part stands in its tank on a day, moved there before.
pub(super) fn stands(part: &Part, today: NaiveDate) -> bool {
    let pulled = part.harvests.last().filter(|last| last.way == Way::WholeHead);
    part.lost.is_none() && part.transplant < today && pulled.is_none_or(|pulled| pulled.date > today)
}

fn holes(part: &Part) -> impl Iterator<Item = u32> {
    part.holes.iter().chain(&part.kept_empty).copied()
}
