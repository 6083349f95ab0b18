//! Plants of one batch into tanks and out of them.

use super::batch::{BatchReplay, Done};
use crate::domain::calendar::days_between;
use crate::domain::growth::Way;
use crate::domain::ids::TankId;
use crate::domain::journal::{Amount, Entry, Harvested, Kind};
use crate::domain::plan::Part;
use crate::domain::state::Stand;
use crate::replan::refusal::{Absence, LastTaken, Refusal};
use chrono::NaiveDate;

impl BatchReplay<'_> {
    /// Moves a part on its planned day, with as many plants as there are; settled moves are left alone.
    pub(super) fn move_as_planned(&mut self, index: usize, day: NaiveDate) {
        if self.moves[index].is_some() || self.is_sown(day).is_err() {
            return;
        }
        let part = &self.batch.parts[index];
        let plants = part.plants.min(self.tray.seedlings());
        let entry = self.records.told_by(Kind::Transplanted, &part.tank, day);
        self.moves[index] = Some(Done { on: day, entry });
        self.place(Some(index), &part.tank, day, plants);
    }

    pub(super) fn record_move(&mut self, entry: &Entry, tank: &TankId, plants: u32) -> Result<(), Refusal> {
        self.is_sown(entry.day)?;
        let standing = self.tray.plugs;
        let mut left = plants.min(standing);
        let parts = self.parts_meant(tank, entry.day);
        for &index in &parts {
            self.moves[index].get_or_insert(Done { on: entry.day, entry: Some(entry.id) });
            let room = self.batch.parts[index].plants.saturating_sub(self.moved_of[index]);
            self.place(Some(index), tank, entry.day, left.min(room));
            left -= left.min(room);
        }
        // More than planned: spare seedlings, treated as the last part.
        self.place(parts.last().copied(), tank, entry.day, left);
        self.enough_plugs(plants, standing)
    }

    /// The parts a recorded move to a tank is about: those planned for one day and the same tank, with plants still
    /// to be moved if there are such, as near in time as may be. If none was planned for this tank, parts not moved yet
    /// are meant, which then go to another tank than planned.
    fn parts_meant(&self, tank: &TankId, day: NaiveDate) -> Vec<usize> {
        let parts = || self.batch.parts.iter().enumerate();
        let best = parts()
            .filter(|(index, part)| part.tank == *tank || self.moves[*index].is_none())
            .min_by_key(|(index, part)| {
                let full = self.moved_of[*index] >= part.plants;
                (part.tank != *tank, full, days_between(part.transplant, day).abs(), *index)
            });
        let Some((_, best)) = best else {
            return Vec::new();
        };
        let alike = |part: &Part| part.tank == best.tank && part.transplant == best.transplant;
        parts().filter(|(_, part)| alike(part)).map(|(index, _)| index).collect()
    }

    /// Takes plants out of the nursery and puts them into a tank.
    fn place(&mut self, part: Option<usize>, tank: &TankId, day: NaiveDate, plants: u32) {
        if plants == 0 {
            return;
        }
        self.take_from_tray(plants);
        self.moved += plants;
        let planned = part.map(|index| (index, &self.batch.parts[index]));
        let mut holes = Vec::new();
        if let Some((index, part)) = planned {
            let before = self.moved_of[index] as usize;
            self.moved_of[index] += plants;
            if part.tank == *tank {
                let free = part.holes.get(before..before + plants as usize);
                holes = free.map(<[u32]>::to_vec).unwrap_or_default();
            }
        }
        self.stands.push(Stand {
            tank: tank.clone(),
            plants,
            holes,
            transplanted: day,
            cuts_before: planned.map_or(0, |(_, part)| part.cuts_before),
            cuts: Vec::new(),
            part,
            harvests_done: 0,
        });
    }

    /// Takes a planned harvest from the plants of a part that were not harvested for it yet.
    pub(super) fn harvest_as_planned(&mut self, part: usize, number: usize, day: NaiveDate) {
        let planned = &self.batch.parts[part];
        let way = planned.harvests[number].way;
        let entry = self.records.told_by(Kind::Harvested, &planned.tank, day);
        for index in (0..self.stands.len()).rev() {
            let stand = &self.stands[index];
            if stand.part == Some(part) && stand.harvests_done <= number && stand.transplanted <= day {
                let plants = stand.plants;
                self.stands[index].harvests_done = number;
                self.take(index, plants, way, Done { on: day, entry });
            }
        }
    }

    pub(super) fn record_harvest(&mut self, entry: &Entry, harvested: &Harvested) -> Result<(), Refusal> {
        let (tank, way) = (&harvested.tank, harvested.way);
        let mut order: Vec<usize> = self.in_tank(tank).collect();
        order.sort_by_key(|index| self.distance(&self.stands[*index], way, entry.day));
        let standing: u32 = order.iter().map(|index| self.stands[*index].plants).sum();
        let mut left = harvested.plants.min(standing);
        let mut takings: Vec<(usize, u32)> = Vec::new();
        for index in order {
            let plants = left.min(self.stands[index].plants);
            left -= plants;
            takings.push((index, plants));
        }
        // From behind, as plants that are pulled leave the list.
        takings.sort_unstable_by(|one, other| other.cmp(one));
        for (index, plants) in takings.into_iter().filter(|(_, plants)| *plants > 0) {
            self.take(index, plants, way, Done { on: entry.day, entry: Some(entry.id) });
        }
        self.enough_plants(tank, entry.day, harvested.plants, standing)
    }

    /// How far the next planned harvest of a stand is from one that was taken: of the other way first, then in days.
    fn distance(&self, stand: &Stand, way: Way, day: NaiveDate) -> (bool, i64) {
        let next = stand.part.and_then(|part| self.batch.parts[part].harvests.get(stand.harvests_done));
        next.map_or((true, i64::MAX), |next| (next.way != way, days_between(next.date, day).abs()))
    }

    /// Cuts or pulls some plants of a stand.
    fn take(&mut self, index: usize, plants: u32, way: Way, done: Done) {
        let mut taken = self.split(index, plants);
        if let Some(part) = taken.part {
            self.harvests.entry((part, taken.harvests_done)).or_insert(done);
        }
        if way == Way::Cut {
            taken.harvests_done += 1;
            taken.cuts.push(done.on);
            self.stands.push(taken);
        } else {
            self.pulled += plants;
            let by = done.entry.map_or(LastTaken::Plan, LastTaken::Harvest);
            self.gone.insert(taken.tank, (done.on, by));
        }
    }

    /// Takes some plants out of a stand, those in its first holes; none of it stays in the list if all are taken.
    fn split(&mut self, index: usize, plants: u32) -> Stand {
        if plants >= self.stands[index].plants {
            return self.stands.remove(index);
        }
        let stand = &mut self.stands[index];
        stand.plants -= plants;
        let known = stand.holes.len().min(plants as usize);
        let holes = stand.holes.drain(..known).collect();
        Stand { plants, holes, ..stand.clone() }
    }

    pub(super) fn lose_plants(
        &mut self,
        entry: &Entry,
        tank: &TankId,
        amount: Amount,
    ) -> Result<(), Refusal> {
        let order: Vec<usize> = self.in_tank(tank).collect();
        let standing: u32 = order.iter().map(|index| self.stands[*index].plants).sum();
        let stated = match amount {
            // Losing all where nothing stands is as impossible as losing one.
            Amount::All => standing.max(1),
            Amount::Plants(plants) => plants,
        };
        let mut left = stated.min(standing);
        for index in order.into_iter().rev() {
            let stand = &mut self.stands[index];
            let plants = left.min(stand.plants);
            left -= plants;
            stand.plants -= plants;
            stand.holes.truncate(stand.plants as usize);
        }
        self.stands.retain(|stand| stand.plants > 0);
        self.lost += stated.min(standing);
        if standing > 0 && self.in_tank(tank).next().is_none() {
            self.gone.insert(tank.clone(), (entry.day, LastTaken::Loss(entry.id)));
        }
        self.enough_plants(tank, entry.day, stated, standing)
    }

    fn in_tank(&self, tank: &TankId) -> impl Iterator<Item = usize> {
        let stands = self.stands.iter().enumerate();
        stands.filter(move |(_, stand)| stand.tank == *tank).map(|(index, _)| index)
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
        if let Some((since, by)) = self.gone.get(tank) {
            return Absence::Gone { since: *since, by: *by };
        }
        if !self.stands.is_empty() {
            let mut tanks: Vec<TankId> = self.stands.iter().map(|stand| stand.tank.clone()).collect();
            tanks.sort_unstable();
            tanks.dedup();
            return Absence::In(tanks);
        }
        let planned = self.batch.parts.iter().filter(|part| part.tank == *tank).map(|part| part.transplant);
        match self.recorded(Kind::Transplanted, Some(tank)).or(planned.min()) {
            Some(move_day) if move_day > day => Absence::MovedLater(move_day),
            Some(_) => Absence::LostBefore,
            None => Absence::NeverThere,
        }
    }
}
