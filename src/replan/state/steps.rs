//! What a plan asks for of one batch, and how far that is.

use crate::domain::growth::Way;
use crate::domain::ids::TankId;
use crate::domain::plan::Origin;
use crate::domain::state::{Progress, Step};
use crate::domain::task_numbers::TaskKind;
use crate::replan::replay::{BatchReplay, Done, Lot};
use chrono::NaiveDate;
use std::collections::BTreeMap;

/// Every planned step of a batch; what is done alike in one go is one step.
pub(super) fn of(replay: &BatchReplay<'_>, today: NaiveDate) -> Vec<Step> {
    let batch = replay.batch;
    let mut steps = Steps { replay, today, found: Vec::new() };
    if !batch.is_standing() {
        let progress = replay.sown.map_or_else(|| steps.open(batch.sown), |done| settled(batch.sown, done));
        steps.add(batch.sown, TaskKind::Sow, None, None, (batch.plugs, 0.0), progress);
    }
    let expected = steps.moves();
    for (index, plants) in expected.into_iter().enumerate() {
        steps.harvests(index, plants);
    }
    steps.found
}

struct Steps<'a, 'b> {
    replay: &'a BatchReplay<'b>,
    today: NaiveDate,
    found: Vec<Step>,
}

impl Steps<'_, '_> {
    /// Adds the moves; gives for each part the plants still to be moved.
    fn moves(&mut self) -> Vec<u32> {
        let replay = self.replay;
        let mut left = replay.sown.map_or(u32::MAX, |_| replay.tray().seedlings());
        let mut expected = vec![0; replay.batch.parts.len()];
        let mut order: Vec<usize> = (0..expected.len()).collect();
        order.sort_by_key(|index| replay.batch.parts[*index].transplant);
        for index in order {
            let part = &replay.batch.parts[index];
            if replay.batch.origin == Origin::InCups && !part.lost_in_nursery() {
                // There is no move; before the sowing, all of it is still to come.
                expected[index] = if replay.sown.is_some() { 0 } else { part.plants };
                continue;
            }
            // Seedlings that the plan does not count on move, too, where they are fit.
            let ready = |lot: &Lot| lot.waits() || (lot.lost_in_nursery() && part.lost.is_none());
            let moved_anyway = replay.moves[index].is_some_and(|done| done.entry.is_some());
            if replay.stood_in_tank || (part.lost_in_nursery() && !moved_anyway) {
                continue;
            }
            let (number, progress) = if let Some(done) = replay.moves[index] {
                (self.plants(index, |lot| lot.moved().is_some()), settled(part.transplant, done))
            } else {
                expected[index] = left.min(self.plants(index, ready));
                left -= expected[index];
                self.move_ahead(part.transplant, expected[index], part.plants)
            };
            self.add(part.transplant, TaskKind::Transplant, Some(&part.tank), None, (number, 0.0), progress);
        }
        expected
    }

    fn plants(&self, part: usize, which: impl Fn(&Lot) -> bool) -> u32 {
        let lots = self.replay.lots.iter().filter(|lot| lot.part == Some(part) && which(lot));
        lots.map(|lot| lot.plants).sum()
    }

    /// A move that is not settled: with nothing to move, it is dropped.
    fn move_ahead(&self, day: NaiveDate, plants: u32, planned: u32) -> (u32, Progress) {
        let unsown_and_late = self.replay.sown.is_none() && day <= self.today;
        if plants == 0 || unsown_and_late {
            return (planned, Progress::Dropped);
        }
        (plants, self.open(day))
    }

    /// Adds the harvests of a part of which so many plants are still to be moved.
    fn harvests(&mut self, index: usize, expected: u32) {
        let part = &self.replay.batch.parts[index];
        for (number, harvest) in part.harvests.iter().enumerate() {
            let mut open: BTreeMap<&TankId, u32> = BTreeMap::new();
            for lot in self.replay.lots.iter().filter(|lot| lot.part == Some(index) && lot.stands()) {
                if lot.harvests_done <= number {
                    *open.entry(&lot.tank).or_default() += lot.plants;
                }
            }
            if expected > 0 && harvest.date > self.today {
                *open.entry(&part.tank).or_default() += expected;
            }
            let of =
                |plants: u32| (plants, harvest.grams * f64::from(plants) / f64::from(part.plants.max(1)));
            let way = Some(harvest.way);
            if open.is_empty() {
                let done = self.done(index, number);
                let progress = done.map_or(Progress::Dropped, |done| settled(harvest.date, done));
                self.add(harvest.date, TaskKind::Harvest, Some(&part.tank), way, of(part.plants), progress);
            }
            for (tank, plants) in open {
                self.add(
                    harvest.date,
                    TaskKind::Harvest,
                    Some(tank),
                    way,
                    of(plants),
                    self.open(harvest.date),
                );
            }
        }
    }

    /// When a planned harvest of a part was first taken.
    fn done(&self, part: usize, harvest: usize) -> Option<Done> {
        let lots = self.replay.lots.iter().filter(|lot| lot.part == Some(part));
        let taken = lots.flat_map(|lot| &lot.events).filter(|event| event.what.harvest() == Some(harvest));
        taken.min_by_key(|event| event.day).map(|event| Done { on: event.day, entry: event.entry })
    }

    fn open(&self, day: NaiveDate) -> Progress {
        match day.cmp(&self.today) {
            std::cmp::Ordering::Less => Progress::Overdue,
            std::cmp::Ordering::Equal => Progress::Due,
            std::cmp::Ordering::Greater => Progress::Coming,
        }
    }

    fn add(
        &mut self,
        day: NaiveDate,
        work: TaskKind,
        tank: Option<&TankId>,
        way: Option<Way>,
        (number, grams): (u32, f64),
        progress: Progress,
    ) {
        let alike = |step: &&mut Step| {
            (step.day, step.work, step.tank.as_ref(), step.way, step.progress)
                == (day, work, tank, way, progress)
        };
        if let Some(step) = self.found.iter_mut().find(alike) {
            step.number += number;
            step.grams += grams;
            return;
        }
        let batch = self.replay.batch;
        self.found.push(Step {
            day,
            site: batch.site.clone(),
            work,
            batch: batch.id.clone(),
            tank: tank.cloned(),
            way,
            number,
            grams,
            progress,
        });
    }
}

/// How far work is that was recorded or counts as done.
fn settled(planned: NaiveDate, done: Done) -> Progress {
    match done {
        Done { entry: None, .. } => Progress::TakenAsDone,
        Done { on, .. } if on < planned => Progress::DoneEarly { on },
        Done { on, .. } => Progress::Done { on },
    }
}
