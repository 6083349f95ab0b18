//! A tank with more plants than room, as more were moved there than had been planned.

use super::batch::BatchReplay;
use super::believed::Believed;
use super::lot::Lot;
use crate::domain::ids::{SiteId, TankId};
use crate::domain::journal::EntryId;
use crate::domain::lid;
use crate::domain::term::Term;
use crate::replan::refusal::Refusal;
use chrono::NaiveDate;

/// Ends every crowd that can be: plants of which nobody says that they came into the tank still wait in the nursery.
/// Returns the entries that bring more plants into a tank than have room there.
pub(super) fn part(
    term: &Term,
    batches: &mut [BatchReplay<'_>],
    believed: &Believed<'_>,
) -> Vec<(EntryId, Refusal)> {
    while let Some((batch, part)) = unproven(term, batches, believed) {
        batches[batch].run_without(part, believed);
    }
    let mut told: Vec<(EntryId, Refusal)> = Vec::new();
    for (batch, lot) in arrivals(batches) {
        let entry = lot.events.first().and_then(|moved| moved.entry);
        if let (Some(entry), Some(crowd)) = (entry, Crowd::with(term, batches, (batch, lot)))
            && told.iter().all(|(other, _)| *other != entry)
        {
            told.push((entry, crowd.refusal(batches, entry)));
        }
    }
    told
}

/// Whether all that stood in its tank when a lot came had room there.
pub(super) fn has_room(term: &Term, batches: &[BatchReplay<'_>], (batch, lot): (usize, usize)) -> bool {
    Crowd::with(term, batches, (batch, &batches[batch].lots[lot])).is_none()
}

/// The last part that counts as moved into a tank without room for it: those before it found some. What a plan made anew
/// tells of the days before was found to be so then.
fn unproven(term: &Term, batches: &[BatchReplay<'_>], believed: &Believed<'_>) -> Option<(usize, usize)> {
    let untold = |(_, lot): &(usize, &Lot)| lot.moved().is_some_and(|day| !believed.is_past_of_plan(day));
    arrivals(batches).into_iter().rev().filter(untold).find_map(|(batch, lot)| {
        let part =
            lot.part.filter(|_| !batches[batch].stood_in_tank && batches[batch].evidence(lot).is_none())?;
        Crowd::with(term, batches, (batch, lot)).map(|_| (batch, part))
    })
}

/// Lots that came into a tank, by day, with the number of their batch.
fn arrivals<'a>(batches: &'a [BatchReplay<'_>]) -> Vec<(usize, &'a Lot)> {
    let lots = batches.iter().enumerate().flat_map(|(at, batch)| batch.lots.iter().map(move |lot| (at, lot)));
    let mut moved: Vec<(usize, &Lot)> = lots.filter(|(_, lot)| lot.moved().is_some()).collect();
    moved.sort_by_key(|(_, lot)| lot.moved());
    moved
}

/// A tank that has no room for all that stands there at the end of a day.
struct Crowd<'a> {
    site: &'a SiteId,
    tank: &'a TankId,
    day: NaiveDate,
    holes: u32,
}

impl<'a> Crowd<'a> {
    /// The crowd that a lot comes to, if so.
    fn with(term: &Term, batches: &'a [BatchReplay<'_>], (at, lot): (usize, &'a Lot)) -> Option<Self> {
        let site = &batches[at].batch.site;
        let lid = term.site(site)?.tank(&lot.tank)?.lid;
        let crowd = Self { site, tank: &lot.tank, day: lot.moved()?, holes: lid.holes() };
        // Wide plants fill pairs and blocks of holes, of which a lid may have fewer than its holes would make.
        let full = [lid::Room::Single, lid::Room::Pair, lid::Room::Block].into_iter().any(|room| {
            let taken = crowd.standing(batches).map(|(batch, lot)| {
                let each = batch.room.holes_each(crowd.tank);
                if each < room.holes() { 0 } else { lot.plants * each / room.holes() }
            });
            taken.sum::<u32>() > lid.spots(room).len() as u32
        });
        full.then_some(crowd)
    }

    fn standing<'b, 's: 'b>(
        &'b self,
        batches: &'b [BatchReplay<'s>],
    ) -> impl Iterator<Item = (&'b BatchReplay<'s>, &'b Lot)> {
        let here = batches.iter().filter(|batch| batch.batch.site == *self.site);
        let lots = here.flat_map(|batch| batch.lots.iter().map(move |lot| (batch, lot)));
        lots.filter(|(_, lot)| {
            lot.tank == *self.tank
                && lot.moved().is_some_and(|moved| moved <= self.day)
                && lot.end().is_none_or(|end| end.day > self.day)
        })
    }

    fn refusal(&self, batches: &[BatchReplay<'_>], entry: EntryId) -> Refusal {
        let by_it = |lot: &Lot| lot.events.first().is_some_and(|event| event.entry == Some(entry));
        let others = self.standing(batches).filter(|(_, lot)| !by_it(lot));
        Refusal::TankFull {
            tank: self.tank.clone(),
            holes: self.holes,
            day: self.day,
            others: others.map(|(_, lot)| lot.plants).sum(),
        }
    }
}
