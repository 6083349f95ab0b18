//! Plants of one batch in tanks: harvests and losses.

use super::batch::BatchReplay;
use super::likeness::{Match, nearest};
use super::lot::{Event, Happened, Lot, Order};
use super::meant::Picked;
use crate::domain::growth::Way;
use crate::domain::ids::TankId;
use crate::domain::journal::{Amount, Entry, EntryId, Harvested, InTank, Kind, Measuring};
use crate::replan::refusal::{Absence, LastTaken, Refusal};
use chrono::NaiveDate;

impl BatchReplay<'_> {
    /// Takes a planned harvest from the plants of a part that were not harvested for it yet.
    pub(super) fn harvest_as_planned(&mut self, part: usize, number: usize, day: NaiveDate) {
        let planned = &self.batch.parts[part];
        let way = planned.harvests[number].way;
        let entry = self.records.told_by(Kind::Harvested, &planned.tank, day);
        let limits = (planned.cuts_before, self.most_harvests());
        for lot in self.lots.iter_mut().filter(|lot| lot.part == Some(part) && lot.harvests_done <= number) {
            if can_be_harvested(lot, day) {
                take(lot, (day, way), Some(number), entry, limits);
            }
        }
    }

    pub(super) fn record_harvest(&mut self, entry: &Entry, harvested: &Harvested) -> Result<(), Refusal> {
        let taken: Vec<Result<(), Refusal>> =
            harvested.places.iter().map(|place| self.harvest_from(entry, place, harvested.way)).collect();
        taken.into_iter().collect()
    }

    fn harvest_from(&mut self, entry: &Entry, place: &InTank, way: Way) -> Result<(), Refusal> {
        let (tank, day) = (&place.tank, entry.day);
        let here = |lot: &Lot| lot.tank == *tank && can_be_harvested(lot, day);
        let standing = self.plants(here);
        let likeness = |lot: &Lot| self.likeness(lot, day, way);
        let (picked, missing) = if place.holes.is_empty() {
            let usual = self.pick(place.plants, Order::FirstHoles, |lot| {
                let again = lot.harvests().next_back().is_some_and(|last| last.day == day);
                here(lot).then(|| (again, likeness(lot)))
            });
            (usual, Vec::new())
        } else {
            self.pick_holes(&place.holes, here)
        };
        let cut_again = if way == Way::Cut { self.cut_on(&picked, day) } else { None };
        let (batch, most) = (self.batch, self.most_harvests());
        self.change(&picked, |lot| {
            let part = lot.part.map(|part| &batch.parts[part]);
            let planned = nearest(part, lot.harvests_done, day, way).planned;
            let limits = (part.map_or(0, |part| part.cuts_before), most);
            take(lot, (day, way), planned, Some(entry.id), limits);
        });
        self.enough_plants(tank, day, place.plants, standing)?;
        self.none_missing(tank, missing)?;
        cut_again.map_or(Ok(()), |entry| {
            Err(Refusal::CutThatDay { batch: batch.id.clone(), tank: tank.clone(), day, entry })
        })
    }

    /// The entry that says that all these plants were cut on a day.
    fn cut_on(&self, picked: &[Picked], day: NaiveDate) -> Option<EntryId> {
        let that_day = |lot: &Lot| {
            let last = lot.harvests().next_back().filter(|last| last.day == day)?;
            last.entry
        };
        let entries: Option<Vec<EntryId>> =
            picked.iter().map(|picked| that_day(self.lot_of(picked))).collect();
        entries?.into_iter().max()
    }

    fn likeness(&self, lot: &Lot, day: NaiveDate, way: Way) -> Match {
        nearest(lot.part.map(|part| &self.batch.parts[part]), lot.harvests_done, day, way)
    }

    /// Harvests that a plant gives in all.
    fn most_harvests(&self) -> u32 {
        let crop = self.room.crop.map(|wanted| &wanted.crop);
        crop.map_or(u32::MAX, |crop| crop.regrowth.as_ref().map_or(1, |regrowth| regrowth.harvests.value))
    }

    pub(super) fn lose_plants(
        &mut self,
        entry: &Entry,
        (tank, holes): (&TankId, &[u32]),
        amount: Amount,
    ) -> Result<(), Refusal> {
        let here = |lot: &Lot| lot.tank == *tank && lot.stands();
        let standing = self.plants(here);
        let stated = match amount {
            // Losing all where nothing stands is as impossible as losing one.
            Amount::All => standing.max(1),
            Amount::Plants(plants) => plants,
        };
        let (picked, missing) = if holes.is_empty() {
            (self.pick(stated, Order::LastHoles, |lot| here(lot).then_some(())), Vec::new())
        } else {
            self.pick_holes(holes, here)
        };
        self.change(&picked, |lot| lot.lose(entry.day, Some(entry.id)));
        self.enough_plants(tank, entry.day, stated, standing)?;
        self.none_missing(tank, missing)
    }

    /// Whether the plants that were measured stood there that day, before anything was pulled.
    pub(super) fn measure(&mut self, entry: &Entry, measuring: &Measuring) -> Result<(), Refusal> {
        let (tank, day) = (&measuring.tank, entry.day);
        let here = |lot: &Lot| lot.tank == *tank && stood_on(lot, day);
        let standing = self.plants(here);
        let (_, missing) = self.pick_holes(&measuring.holes, here);
        self.enough_plants(tank, day, measuring.samples.len() as u32, standing)?;
        self.none_missing(tank, missing)
    }

    /// Whether plants stood in all holes that were named.
    fn none_missing(&self, tank: &TankId, missing: Vec<u32>) -> Result<(), Refusal> {
        if missing.is_empty() {
            return Ok(());
        }
        Err(Refusal::NotInHoles { batch: self.batch.id.clone(), tank: tank.clone(), holes: missing })
    }

    fn plants(&self, which: impl Fn(&Lot) -> bool) -> u32 {
        self.lots.iter().filter(|lot| which(lot)).map(|lot| lot.plants).sum()
    }

    fn enough_plants(
        &self,
        tank: &TankId,
        day: NaiveDate,
        stated: u32,
        standing: u32,
    ) -> Result<(), Refusal> {
        let batch = self.batch.id.clone();
        if standing == 0 {
            self.is_sown(day)?;
            return Err(Refusal::NotInTank { batch, tank: tank.clone(), why: self.absence(tank, day) });
        }
        if stated > standing {
            return Err(Refusal::TooManyPlants { batch, tank: tank.clone(), stated, standing });
        }
        Ok(())
    }

    fn absence(&self, tank: &TankId, day: NaiveDate) -> Absence {
        if let Some(moved) =
            self.lots.iter().filter(|lot| lot.tank == *tank && lot.stands()).find_map(Lot::moved)
        {
            return Absence::MovedLater(moved);
        }
        let there = |lot: &&Lot| lot.tank == *tank && lot.moved().is_some();
        let gone = self.lots.iter().filter(there).filter_map(Lot::end).max_by_key(|end| end.day);
        if let Some(end) = gone {
            let by = match (end.what, end.entry) {
                (Happened::Lost, Some(entry)) => LastTaken::Loss(entry),
                (_, Some(entry)) => LastTaken::Harvest(entry),
                (Happened::Lost, None) => LastTaken::LossOfPlan,
                (_, None) => LastTaken::Plan,
            };
            return Absence::Gone { since: end.day, by };
        }
        let mut tanks: Vec<TankId> =
            self.lots.iter().filter(|lot| lot.stands()).map(|lot| lot.tank.clone()).collect();
        if !tanks.is_empty() {
            tanks.sort_unstable();
            tanks.dedup();
            return Absence::In(tanks);
        }
        let planned = self.batch.parts.iter().filter(|part| part.tank == *tank).map(|part| part.transplant);
        match self.recorded(Kind::Transplanted, Some(tank)).or(planned.min()) {
            Some(move_day) if move_day >= day => Absence::MovedLater(move_day),
            Some(_) => Absence::LostBefore,
            None => Absence::NeverThere,
        }
    }
}

/// Whether plants stood in a tank at some time of a day.
pub(in crate::replan) fn stood_on(lot: &Lot, day: NaiveDate) -> bool {
    lot.moved().is_some_and(|moved| moved <= day) && lot.end().is_none_or(|end| end.day >= day)
}

/// Whether plants stand in a tank on a day, moved there before.
fn can_be_harvested(lot: &Lot, day: NaiveDate) -> bool {
    lot.stands() && lot.moved().is_some_and(|moved| moved < day)
}

/// Cuts or pulls plants that were cut so many times before the term and give so many harvests in all.
fn take(
    lot: &mut Lot,
    (day, way): (NaiveDate, Way),
    planned: Option<usize>,
    entry: Option<EntryId>,
    (cuts_before, most): (u32, u32),
) {
    let number = cuts_before + lot.harvests().count() as u32 + 1;
    if let Some(today) = lot.events.last_mut().filter(|last| last.day == day) {
        // Cut twice on one day is cut once; what was cut and pulled was pulled.
        if way == Way::WholeHead {
            *today = Event { what: Happened::Pulled(today.what.harvest()), entry, ..*today };
        }
        return;
    }
    lot.harvests_done = planned.map_or(lot.harvests_done, |planned| planned + 1);
    let ends = way == Way::WholeHead || number >= most;
    lot.add(day, if ends { Happened::Pulled(planned) } else { Happened::Cut(planned) }, entry);
}
