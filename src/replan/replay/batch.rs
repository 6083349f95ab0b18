//! Replays one batch, day by day.

use super::alone::Alone;
use super::believed::Believed;
use super::lot::{Happened, Lot, Order, Room};
use super::records::Records;
use crate::domain::ids::TankId;
use crate::domain::journal::{Amount, Entry, EntryId, Kind, Place, What};
use crate::domain::known::KnownEntries;
use crate::domain::plan::{Batch, Origin, Plan};
use crate::domain::state::Tray;
use crate::domain::term::{Stage, Standing, Term};
use crate::replan::refusal::Refusal;
use chrono::NaiveDate;
use std::collections::{BTreeMap, BTreeSet};

/// When something was done, and the entry that says so; `None` if it counts as done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::replan) struct Done {
    pub(in crate::replan) on: NaiveDate,
    pub(in crate::replan) entry: Option<EntryId>,
}

/// A batch as far as it has been replayed.
pub(in crate::replan) struct BatchReplay<'a> {
    pub(in crate::replan) batch: &'a Batch,
    pub(super) room: Room<'a>,
    /// Entries the plan takes into account.
    known: &'a KnownEntries,
    /// Whether its plants stood in a tank before the term began.
    pub(in crate::replan) stood_in_tank: bool,
    /// Parts that cannot have been moved as planned, as others stood in their holes.
    pub(super) shut_out: BTreeSet<usize>,
    /// What was recorded of it.
    pub(super) records: Records<'a>,
    pub(in crate::replan) sown: Option<Done>,
    /// Plugs sown.
    pub(in crate::replan) plugs: u32,
    /// Plugs in the nursery, those included that will be given up.
    pub(super) tray: Tray,
    pub(in crate::replan) lots: Vec<Lot>,
    /// For each part, when its move was settled.
    pub(in crate::replan) moves: Vec<Option<Done>>,
    /// Plugs lost in the nursery, by the entry that says so.
    pub(in crate::replan) plugs_lost: BTreeMap<EntryId, u32>,
    /// Grams recorded.
    pub(in crate::replan) grams: f64,
    pub(super) impossible: Vec<(EntryId, Refusal)>,
    /// When something the plan does not know was last recorded of its seedlings.
    pub(super) nursery_news: Option<NaiveDate>,
}

/// What happens to a batch on a day.
enum Step<'a> {
    Sowing,
    Move(usize),
    Harvest(usize, usize),
    /// So many plants of a part are lost, as the plan tells.
    Loss(usize, u32),
    Recorded(&'a Entry),
    /// Seedlings were alone for longer than they last.
    LeftAlone(Alone),
    /// What the plan tells of it is no news, but it takes plugs.
    Told(&'a Entry),
}

impl Step<'_> {
    /// On one day sowing comes first. Seedlings are counted before some of them are moved; all else that people wrote comes
    /// after what counts as done.
    fn rank(&self) -> u8 {
        match self {
            Self::Recorded(entry) if entry.what.kind() == Kind::Sown => 0,
            Self::Sowing => 0,
            Self::Recorded(entry) if entry.what.kind() == Kind::CameUp => 1,
            Self::Move(_) => 2,
            Self::Harvest(..) => 3,
            Self::Loss(..) => 4,
            Self::Recorded(_) | Self::Told(_) | Self::LeftAlone(_) => 5,
        }
    }
}

impl<'a> BatchReplay<'a> {
    pub(super) fn new(term: &'a Term, plan: &'a Plan, batch: &'a Batch, records: Records<'a>) -> Self {
        Self {
            grams: 0.0,
            batch,
            room: Room { crop: term.crop(&batch.crop), site: term.site(&batch.site) },
            known: &plan.known,
            stood_in_tank: stood_in_tank(term, batch),
            shut_out: BTreeSet::new(),
            records,
            sown: None,
            plugs: 0,
            tray: Tray::default(),
            lots: Vec::new(),
            moves: Vec::new(),
            plugs_lost: BTreeMap::new(),
            impossible: Vec::new(),
            nursery_news: None,
        }
    }

    /// Lets everything happen that was recorded or counts as done, from the beginning.
    pub(super) fn run(&mut self, believed: &Believed<'_>) {
        let parts = self.batch.parts.iter().enumerate();
        self.lots = parts.map(|(number, part)| Lot::planned(number, part)).collect();
        self.moves = vec![None; self.batch.parts.len()];
        self.grams = self.records.told_grams();
        (self.sown, self.plugs, self.tray, self.plugs_lost) = (None, 0, Tray::default(), BTreeMap::new());
        (self.impossible, self.nursery_news) = (Vec::new(), None);
        for (day, step) in self.steps(believed) {
            match step {
                Step::Sowing => self.sow(Done { on: day, entry: None }, self.batch.plugs),
                Step::Move(part) => self.move_as_planned(part, day),
                Step::Harvest(part, harvest) => self.harvest_as_planned(part, harvest, day),
                Step::Loss(part, plants) => self.lose_as_planned(part, plants, day),
                Step::Recorded(entry) => self.record(entry),
                Step::Told(entry) => self.take_told_plugs(entry),
                Step::LeftAlone(alone) => self.lose_those_alone(alone),
            }
        }
        self.give_up_seedlings();
    }

    /// Runs again without the move of a part.
    pub(super) fn run_without(&mut self, part: usize, believed: &Believed<'_>) {
        self.shut_out.insert(part);
        self.run(believed);
    }

    fn steps(&self, believed: &Believed<'_>) -> Vec<(NaiveDate, Step<'a>)> {
        let (batch, records) = (self.batch, &self.records);
        let mut steps = Vec::new();
        if batch.is_standing() || believed.sown(batch, records) {
            steps.push((batch.sown, Step::Sowing));
        }
        for (index, part) in batch.parts.iter().enumerate() {
            let moved = self.stood_in_tank || believed.moved(batch, part, records);
            let moved = moved && !self.comes_with_sowing(index) && !self.shut_out.contains(&index);
            if moved && !part.lost_in_nursery() {
                steps.push((part.transplant, Step::Move(index)));
            }
            for (number, harvest) in part.harvests.iter().enumerate() {
                if believed.harvested(batch, part, harvest, records) {
                    steps.push((harvest.date, Step::Harvest(index, number)));
                }
            }
        }
        let losses = self.planned_losses(believed).into_iter();
        steps.extend(losses.filter(|(day, _)| *day <= believed.today()));
        steps.extend(self.left_alone(believed).into_iter().map(|alone| (alone.lost, Step::LeftAlone(alone))));
        steps.extend(
            records.in_order.iter().map(|(entry, told)| {
                (entry.day, if *told { Step::Told(entry) } else { Step::Recorded(entry) })
            }),
        );
        // A stable sort keeps parts and entries in their order within a day.
        steps.sort_by_key(|(day, step)| (*day, step.rank()));
        steps
    }

    /// Losses that the plan tells. Plants that are lost because of an entry which no longer counts live, and so do seedlings of which
    /// somebody has said so since.
    fn planned_losses(&self, believed: &Believed<'_>) -> Vec<(NaiveDate, Step<'a>)> {
        let mut back: Vec<(&Entry, u32)> =
            self.records.taken_back.iter().map(|old| (*old, lost_by(old))).collect();
        let parts = self.batch.parts.iter().enumerate();
        let losses = parts.filter_map(|(index, part)| {
            let day = part.lost?;
            if part.lost_in_nursery() && self.lived(day, believed) {
                return None;
            }
            let mut plants = part.plants;
            for (old, left) in &mut back {
                let there = match (&old.what, part.lost_in_nursery()) {
                    (What::Lost { place: Place::Tank(tank), .. }, _) => part.tank == *tank,
                    (_, in_nursery) => in_nursery,
                };
                if old.day == day && there {
                    let alive = plants.min(*left);
                    (plants, *left) = (plants - alive, *left - alive);
                }
            }
            (plants > 0).then_some((day, Step::Loss(index, plants)))
        });
        losses.collect()
    }

    pub(super) fn sow(&mut self, done: Done, plugs: u32) {
        self.sown = Some(done);
        self.plugs = plugs;
        self.tray = Tray { plugs, came_up: None };
        for index in 0..self.batch.parts.len() {
            if self.comes_with_sowing(index) && !self.shut_out.contains(&index) {
                self.move_as_planned(index, done.on);
            }
        }
        let last = self.batch.parts.len().checked_sub(1).filter(|last| self.comes_with_sowing(*last));
        let more = self.tray.plugs.min(plugs.saturating_sub(self.batch.plugs));
        if let (Some(last), Some(entry), 1..) = (last, done.entry, more) {
            // More cups than planned stand wherever there was room.
            let mut lot = Lot::spare(Some(last), more, &self.batch.parts[last].tank);
            lot.add(done.on, Happened::Moved, Some(entry));
            self.lots.push(lot);
            self.take_from_tray(more);
        }
    }

    /// Whether a part has its holes from the day it is sown.
    fn comes_with_sowing(&self, index: usize) -> bool {
        self.batch.origin == Origin::InCups && !self.batch.parts[index].lost_in_nursery()
    }

    fn record(&mut self, entry: &Entry) {
        let fits = match &entry.what {
            What::Sown { plugs, .. } => self.record_sowing(entry, *plugs),
            What::CameUp { plugs, .. } => self.count_seedlings(entry, *plugs),
            What::Transplanted { tank, plants, .. } => self.record_move(entry, tank, *plants),
            What::Lost { place: Place::Nursery, plants, .. } => self.lose_seedlings(entry, *plants),
            What::Lost { place: Place::Tank(tank), plants, holes, .. } => {
                self.lose_plants(entry, (tank, holes), *plants)
            }
            What::Behind { .. } => self.is_sown(entry.day),
            What::Measured(measuring) => self.measure(entry, measuring),
            What::Harvested(harvested) => {
                self.grams += harvested.grams;
                self.record_harvest(entry, harvested)
            }
            _ => Ok(()),
        };
        if let Err(refusal) = fits
            && self.is_news(entry)
        {
            self.impossible.push((entry.id, refusal));
        }
    }

    pub(super) fn is_news(&self, entry: &Entry) -> bool {
        !self.known.knows(entry)
    }

    /// Plants that the plan counts as lost.
    fn lose_as_planned(&mut self, index: usize, plants: u32, day: NaiveDate) {
        let in_nursery = self.batch.parts[index].lost_in_nursery();
        let there = |lot: &Lot| if in_nursery { lot.waits() } else { lot.stands() };
        let picked =
            self.pick(plants, Order::LastHoles, |lot| (lot.part == Some(index) && there(lot)).then_some(()));
        let tank = &self.batch.parts[index].tank;
        let entry = self.records.told_by(Kind::Lost, tank, day);
        self.change(&picked, |lot| lot.add(day, Happened::Lost, entry));
        if in_nursery && !self.waits(index) {
            self.moves[index] = Some(Done { on: day, entry: None });
        }
        // Plants that were lost on the day they were moved look like seedlings that never were.
        if in_nursery && entry.is_some() && self.records.told_by(Kind::Transplanted, tank, day).is_none() {
            self.take_from_tray(plants);
        }
    }

    /// Whether seedlings of a part are in the nursery, or are still to be sown.
    pub(in crate::replan) fn waits(&self, part: usize) -> bool {
        self.lots.iter().any(|lot| lot.part == Some(part) && lot.waits())
    }

    /// Whether the batch is sown on that day.
    pub(super) fn is_sown(&self, day: NaiveDate) -> Result<(), Refusal> {
        match self.sown {
            Some(done) if done.on <= day => Ok(()),
            _ => {
                let sown = self.recorded(Kind::Sown, None).unwrap_or(self.batch.sown);
                Err(Refusal::NotSown { batch: self.batch.id.clone(), day, sown })
            }
        }
    }

    /// First day for which such a thing was recorded, of this tank if one is given.
    pub(super) fn recorded(&self, kind: Kind, tank: Option<&TankId>) -> Option<NaiveDate> {
        let alike = |entry: &&&Entry| {
            entry.what.kind() == kind && tank.is_none_or(|tank| entry.what.is_of_tank(tank))
        };
        self.records.news.iter().filter(alike).map(|entry| entry.day).min()
    }

    /// What stands in the nursery. Once nothing waits to be moved any more, what is left over counts as given up.
    pub(in crate::replan) fn tray(&self) -> Tray {
        if self.lots.iter().any(Lot::waits) { self.tray } else { Tray::default() }
    }

    /// An entry that tells of plants which were moved with these.
    pub(super) fn evidence(&self, lot: &Lot) -> Option<EntryId> {
        let with_it = self.lots.iter().filter(|other| other.part == lot.part && other.moved() == lot.moved());
        with_it.flat_map(|other| &other.events).find_map(|event| event.entry)
    }

    /// Plants moved to tanks.
    pub(in crate::replan) fn moved(&self) -> u32 {
        self.count(|lot| lot.moved().is_some())
    }

    /// Plugs and plants lost, without seedlings that were given up.
    pub(in crate::replan) fn lost(&self) -> u32 {
        let lost = |lot: &Lot| lot.end().is_some_and(|end| end.what == Happened::Lost);
        self.plugs_lost.values().sum::<u32>() + self.count(|lot| lot.moved().is_some() && lost(lot))
    }

    /// Plants pulled.
    pub(in crate::replan) fn pulled(&self) -> u32 {
        self.count(|lot| lot.end().is_some_and(|end| end.what != Happened::Lost) && lot.moved().is_some())
    }

    fn count(&self, which: impl Fn(&Lot) -> bool) -> u32 {
        self.lots.iter().filter(|lot| which(lot)).map(|lot| lot.plants).sum()
    }
}

/// How many plants an entry counted as lost or left behind.
fn lost_by(entry: &Entry) -> u32 {
    match &entry.what {
        What::Lost { plants: Amount::Plants(plants), .. } => *plants,
        What::Lost { .. } | What::Sown { .. } | What::CameUp { .. } | What::Transplanted { .. } => u32::MAX,
        _ => 0,
    }
}

/// Whether the plants of a batch that stood there before the term began were in a tank already.
fn stood_in_tank(term: &Term, batch: &Batch) -> bool {
    let in_tank =
        |standing: &Standing| standing.batch == batch.id && matches!(standing.stage, Stage::Tank { .. });
    let long_ago = batch.parts.iter().all(|part| part.transplant < term.start);
    batch.is_standing() && (long_ago || term.standing.iter().any(in_tank))
}
