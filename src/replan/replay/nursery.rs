//! Plugs and seedlings of one batch in the nursery.

use super::batch::{BatchReplay, Done};
use super::lot::{Happened, Lot, Order};
use super::meant::count;
use crate::domain::calendar::days_between;
use crate::domain::ids::TankId;
use crate::domain::journal::{Amount, Entry, EntryId, Kind, What};
use crate::domain::plan::Origin;
use crate::domain::state::Tray;
use crate::replan::refusal::Refusal;
use chrono::NaiveDate;

impl BatchReplay<'_> {
    pub(super) fn record_sowing(&mut self, entry: &Entry, plugs: u32) -> Result<(), Refusal> {
        let batch = self.batch.id.clone();
        if self.batch.is_standing() {
            return Err(Refusal::StoodBefore(batch));
        }
        if let Some(Done { on, entry: Some(entry) }) = self.sown {
            return Err(Refusal::SownBefore { batch, on, entry });
        }
        self.sow(Done { on: entry.day, entry: Some(entry.id) }, plugs);
        self.note_news(entry);
        Ok(())
    }

    pub(super) fn count_seedlings(&mut self, entry: &Entry, plugs: u32) -> Result<(), Refusal> {
        self.is_sown(entry.day)?;
        self.is_in_nursery()?;
        let standing = self.tray.plugs;
        self.tray.came_up = Some(plugs.min(standing));
        self.note_news(entry);
        self.enough_plugs(plugs, standing)
    }

    pub(super) fn lose_seedlings(&mut self, entry: &Entry, plugs: Amount) -> Result<(), Refusal> {
        self.is_sown(entry.day)?;
        self.is_in_nursery()?;
        let standing = self.tray.plugs;
        let stated = match plugs {
            // Losing all where nothing stands is as impossible as losing one.
            Amount::All => standing.max(1),
            Amount::Plants(plugs) => plugs,
        };
        self.take_from_tray(stated);
        *self.plugs_lost.entry(entry.id).or_default() += stated.min(standing);
        self.note_news(entry);
        self.enough_plugs(stated, standing)
    }

    /// What is sown in cups never was in the nursery.
    fn is_in_nursery(&self) -> Result<(), Refusal> {
        match self.batch.origin {
            Origin::InCups => Err(Refusal::InCups(self.batch.id.clone())),
            _ => Ok(()),
        }
    }

    fn note_news(&mut self, entry: &Entry) {
        if self.is_news(entry) {
            self.nursery_news = Some(entry.day);
        }
    }

    /// Takes plugs out of the nursery, those with seedlings first.
    pub(super) fn take_from_tray(&mut self, plugs: u32) {
        self.tray.plugs = self.tray.plugs.saturating_sub(plugs);
        self.tray.came_up = self.tray.came_up.map(|up| up.saturating_sub(plugs));
    }

    /// A move that the plan tells itself took as many plugs as were recorded.
    pub(super) fn take_told_plugs(&mut self, entry: &Entry) {
        if let What::Transplanted { plants, .. } = entry.what {
            self.take_from_tray(plants);
        }
    }

    fn enough_plugs(&self, stated: u32, standing: u32) -> Result<(), Refusal> {
        if stated <= standing {
            return Ok(());
        }
        Err(Refusal::TooManyPlugs { batch: self.batch.id.clone(), stated, standing, sown: self.plugs })
    }

    /// Moves a part on its planned day, with as many plants as there are; settled moves are left alone.
    pub(super) fn move_as_planned(&mut self, index: usize, day: NaiveDate) {
        if self.moves[index].is_some() || self.is_sown(day).is_err() {
            return;
        }
        let part = &self.batch.parts[index];
        let entry = self.records.told_by(Kind::Transplanted, &part.tank, day);
        let most = if entry.is_some() { part.plants } else { part.plants.min(self.tray.seedlings()) };
        self.moves[index] = Some(Done { on: day, entry });
        let picked =
            self.pick(most, Order::FirstHoles, |lot| (lot.part == Some(index) && lot.waits()).then_some(()));
        self.change(&picked, |lot| lot.add(day, Happened::Moved, entry));
        if entry.is_none() {
            self.take_from_tray(count(&picked));
        }
    }

    pub(super) fn record_move(&mut self, entry: &Entry, tank: &TankId, plants: u32) -> Result<(), Refusal> {
        self.is_sown(entry.day)?;
        self.has_come_up(entry.day)?;
        let standing = self.tray.plugs;
        let moved = plants.min(standing);
        self.take_from_tray(moved);
        let settled = self.parts_settled(tank, entry.day);
        for part in &settled {
            self.moves[*part].get_or_insert(Done { on: entry.day, entry: Some(entry.id) });
        }
        let picked = self.pick(moved, Order::FirstHoles, |lot| self.nearness(lot, &settled, tank, entry.day));
        let spare = moved - count(&picked);
        self.change(&picked, |lot| arrive(lot, tank, entry.day, entry.id));
        if spare > 0 {
            let part = settled.last().copied();
            let mut lot = Lot::spare(part, spare, tank);
            lot.add(entry.day, Happened::Moved, Some(entry.id));
            self.lots.push(lot);
        }
        self.enough_plugs(plants, standing)
    }

    /// Whether seedlings can be up on a day.
    fn has_come_up(&self, day: NaiveDate) -> Result<(), Refusal> {
        let days = self.room.crop.map_or(0, |wanted| wanted.crop.emergence.value.min);
        match self.sown.filter(|_| self.batch.origin == Origin::Sown) {
            Some(sown) if days_between(sown.on, day) < i64::from(days) => {
                Err(Refusal::NotUp { batch: self.batch.id.clone(), sown: sown.on, day, days })
            }
            _ => Ok(()),
        }
    }

    /// The parts whose move is settled by a recorded one: those planned for one day and the same tank, with plants still
    /// to be moved if there are such, as near in time as may be. If none was planned for this tank, parts not moved yet
    /// are meant, which then go to another tank than planned.
    fn parts_settled(&self, tank: &TankId, day: NaiveDate) -> Vec<usize> {
        let parts = || self.batch.parts.iter().enumerate();
        let best = parts()
            .filter(|(index, part)| part.tank == *tank || self.moves[*index].is_none())
            .min_by_key(|(index, part)| {
                let full = !self.waits(*index);
                (part.tank != *tank, full, days_between(part.transplant, day).abs(), *index)
            });
        let Some((_, best)) = best else {
            return Vec::new();
        };
        let alike = |index: usize| {
            let part = &self.batch.parts[index];
            part.tank == best.tank && part.transplant == best.transplant
        };
        (0..self.batch.parts.len()).filter(|index| alike(*index)).collect()
    }

    /// Which seedlings move first, of those that can at all.
    fn nearness(
        &self,
        lot: &Lot,
        settled: &[usize],
        tank: &TankId,
        day: NaiveDate,
    ) -> Option<(u8, i64, usize)> {
        let part = lot.part?;
        let planned = &self.batch.parts[part];
        let rank = match (lot.waits(), lot.lost_in_nursery()) {
            (true, _) if settled.contains(&part) => 0,
            (true, _) if planned.tank == *tank => 1,
            (true, _) if self.moves[part].is_none() => 2,
            (true, _) => 3,
            (false, true) => 4,
            (false, false) => return None,
        };
        Some((rank, days_between(planned.transplant, day).abs(), part))
    }

    /// Gives up seedlings that will not come into a tank: those for which none is left, and those that did not move with
    /// the others.
    pub(super) fn give_up_seedlings(&mut self) {
        if let Some(day) = self.nursery_news.filter(|_| self.sown.is_some()) {
            let waiting: u32 = self.lots.iter().filter(|lot| lot.waits()).map(|lot| lot.plants).sum();
            let missing = waiting.saturating_sub(self.expected());
            let picked = self.pick(missing, Order::LastHoles, |lot| {
                let part = lot.part.filter(|_| lot.waits())?;
                Some(std::cmp::Reverse((self.batch.parts[part].transplant, part)))
            });
            self.change(&picked, |lot| lot.lose(day, None));
        }
        self.give_up_cups();
        for index in 0..self.moves.len() {
            let Some(Done { on, entry }) = self.moves[index] else { continue };
            for lot in self.lots.iter_mut().filter(|lot| lot.part == Some(index) && lot.waits()) {
                lot.lose(on, entry);
            }
        }
    }

    /// Gives up cups for which there was no room when they were sown: they cannot wait anywhere.
    fn give_up_cups(&mut self) {
        let Some(Done { on, .. }) = self.sown.filter(|_| self.batch.origin == Origin::InCups) else { return };
        let shut_out = |lot: &Lot| lot.part.is_some_and(|part| self.shut_out.contains(&part));
        let picked =
            self.pick(u32::MAX, Order::LastHoles, |lot| (lot.waits() && shut_out(lot)).then_some(()));
        self.change(&picked, |lot| lot.lose(on, None));
        self.take_from_tray(count(&picked));
    }

    /// Plants that can be expected of what is in the nursery. Seedlings that stood there before the term, or
    /// were bought, are counted as they are.
    fn expected(&self) -> u32 {
        let Tray { plugs, came_up } = self.tray;
        let Some(wanted) = self.room.crop.filter(|_| self.batch.origin == Origin::Sown) else {
            return self.tray.seedlings();
        };
        let (number, share) = match came_up {
            Some(up) => (up, wanted.crop.nursery_survival.value),
            None => (plugs, wanted.crop.plants_per_plug()),
        };
        // Without the small allowance, a rounding error could cost a plant.
        (f64::from(number) * share + 1e-9).floor() as u32
    }
}

/// Puts seedlings into a tank; in another one than planned nobody knows their holes.
fn arrive(lot: &mut Lot, tank: &TankId, day: NaiveDate, entry: EntryId) {
    if lot.tank != *tank {
        lot.tank = tank.clone();
        lot.holes.clear();
        lot.kept_empty.clear();
    }
    // Some had been given up.
    lot.events.clear();
    lot.add(day, Happened::Moved, Some(entry));
}
