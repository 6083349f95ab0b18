//! A plan in the making: parts of batches on their paths, with everything they use and yield.

mod booking;
mod steady;

use super::super::instance::{Candidate, Index, Instance, Lot};
use super::super::supply::{Greens, Supply, Taken};
use super::change::Change;
use super::chores;
use super::habit::Habit;
use super::ledger::Ledger;
use super::rhythm::Rhythm;
use crate::domain::plan::Origin;

/// A plan in the making.
#[derive(Clone)]
pub(super) struct State<'g> {
    pub(super) instance: &'g Instance<'g>,
    /// By candidate, in order of transplanting.
    lots: Vec<Vec<Lot>>,
    totals: Vec<i32>,
    /// Candidates with plants, and where each is found in that list.
    active: Vec<u32>,
    seat: Vec<u32>,
    pub(super) ledger: Ledger,
    /// If there is to be one.
    pub(super) rhythm: Option<Rhythm<'g>>,
    supply: Supply,
    /// Points of all that is not supply.
    effort_points: f64,
    /// What people already have in their calendars, and the points for what differs from it.
    habit: Option<&'g Habit>,
    change_points: f64,
    /// Points for what differs up to which it has its usual price.
    few_changes: f64,
    /// By site: whether it is to be left alone.
    alone: Vec<bool>,
    /// By candidate.
    change_prices: Vec<f64>,
    /// Points for the tasks of each candidate, which are among those above.
    chores: Vec<f64>,
    /// Candidates priced last, with what their tasks and their changes cost before.
    former: Vec<(usize, f64, f64)>,
}

impl<'g> State<'g> {
    /// A plan without any plants.
    pub(super) fn new(instance: &'g Instance<'g>) -> Self {
        let count = instance.candidates.len();
        let ledger = Ledger::new(instance);
        let rules = &instance.net.term.rules;
        let idle = rules.idle_price() * f64::from(ledger.idle());
        let rhythm = instance.rhythm.as_ref().map(Rhythm::new);
        Self {
            instance,
            lots: vec![Vec::new(); count],
            totals: vec![0; count],
            active: Vec::new(),
            seat: vec![u32::MAX; count],
            ledger,
            rhythm,
            supply: Supply::new(instance.net),
            effort_points: idle,
            habit: None,
            change_points: 0.0,
            few_changes: f64::INFINITY,
            alone: vec![false; instance.net.sites.len()],
            change_prices: vec![0.0; count],
            chores: vec![0.0; count],
            former: Vec::new(),
        }
    }

    /// What people already have in their calendars, when a plan is made anew.
    pub(super) fn habit(&self) -> Option<&'g Habit> {
        self.habit
    }

    /// The parts of all candidates.
    pub(super) fn all_lots(&self) -> &[Vec<Lot>] {
        &self.lots
    }

    /// Points of the whole plan.
    pub(super) fn points(&self) -> f64 {
        self.effort_points + self.supply.points()
    }

    /// Points to be judged by: those of the plan, and those for what differs from people's calendars.
    pub(super) fn judged(&self) -> f64 {
        self.points() + self.for_changes(self.change_points)
    }

    /// From now on, what differs from people's calendars costs points.
    pub(super) fn keep_to(&mut self, habit: &'g Habit) {
        self.habit = Some(habit);
        let prices = self.lots.iter().enumerate().map(|(number, lots)| habit.price(number, lots));
        self.change_prices = prices.collect();
        self.change_points = self.change_prices.iter().sum();
    }

    /// Grams short at each serving.
    pub(super) fn short(&self) -> &[f64] {
        self.supply.short()
    }

    /// Grams missing at one serving.
    pub(super) fn need(&self, serving: usize) -> f64 {
        self.supply.needs().nth(serving).unwrap_or(0.0)
    }

    /// Grams missing at each serving, to its target and to what is promised.
    pub(super) fn needs(&self) -> impl Iterator<Item = f64> + '_ {
        self.supply.needs()
    }

    /// Candidates with plants.
    pub(super) fn active(&self) -> &[u32] {
        &self.active
    }

    /// The parts of a candidate.
    pub(super) fn lots(&self, candidate: u32) -> &[Lot] {
        &self.lots[candidate as usize]
    }

    /// Plants of a candidate.
    pub(super) fn plants(&self, candidate: u32) -> i32 {
        self.totals[candidate as usize]
    }

    /// Changes that take all plants off a batch.
    pub(super) fn clear(&self, candidate: u32, changes: &mut Vec<Change>) {
        changes.extend(self.lots(candidate).iter().map(|lot| Change {
            candidate,
            path: lot.path,
            plants: -lot.plants,
        }));
    }

    /// Whether a batch grows already, so that there are no more and no fewer plants of it.
    pub(super) fn given(&self, candidate: u32) -> bool {
        self.instance.candidates[candidate as usize].given
    }

    /// Whether all of a candidate's work is past, so that nothing about it can change.
    pub(super) fn is_over(&self, candidate: u32) -> bool {
        let own = &self.instance.candidates[candidate as usize];
        let open = self.instance.net.sites[own.site].past_days as Index;
        let over = |lot: &Lot| lot.path.lost.is_some() || lot.path.last() < open;
        own.given && self.lots(candidate).iter().all(over)
    }

    /// Whether all limits and the rhythm are kept.
    pub(super) fn sound(&self) -> bool {
        self.ledger.sound() && self.rhythm.as_ref().is_none_or(Rhythm::sound)
    }

    /// While batches are sown one after the other, what is out of rhythm does not count.
    pub(super) fn pause_rhythm(&mut self, paused: bool) {
        if let Some(rhythm) = &mut self.rhythm {
            rhythm.paused = paused;
        }
    }

    /// From now on, plants may be out of rhythm, but each costs so many points; or, without a price, they may not.
    pub(super) fn allow_uneven(&mut self, price: Option<f64>) {
        if let Some(rhythm) = &mut self.rhythm {
            let before = std::mem::replace(&mut rhythm.price, price);
            self.effort_points += (price.unwrap_or(0.0) - before.unwrap_or(0.0)) * f64::from(rhythm.uneven());
        }
    }

    /// Whether plants may be out of rhythm for now.
    pub(super) fn may_be_uneven(&self) -> bool {
        self.rhythm.as_ref().is_some_and(|rhythm| rhythm.price.is_some())
    }

    /// Makes the changes if the result keeps all limits and `accept` likes the change in points; else
    /// leaves everything as it was.
    pub(super) fn attempt(&mut self, changes: &[Change], accept: impl FnOnce(f64) -> bool) -> bool {
        if self.touches_others(changes) {
            return false;
        }
        let before = self.efforts();
        for change in changes {
            self.occupy(change);
        }
        self.judge(changes, before, accept)
    }

    /// Points of all that is not supply, and for what differs from people's calendars.
    pub(super) fn efforts(&self) -> (f64, f64) {
        (self.effort_points, self.change_points)
    }

    /// Keeps changes that are occupied if the result keeps all limits and `accept` likes the change in points; else leaves
    /// everything as it was, with its points.
    pub(super) fn judge(
        &mut self,
        changes: &[Change],
        before: (f64, f64),
        accept: impl FnOnce(f64) -> bool,
    ) -> bool {
        // Where something does not fit, its greens need not be looked at.
        if self.sound() {
            self.price(changes);
            for change in changes {
                self.bring(change);
            }
            let points = self.effort_points - before.0 + self.for_changes(self.change_points)
                - self.for_changes(before.1)
                + self.supply.try_out();
            if accept(points) {
                self.supply.agree();
                return true;
            }
            self.supply.forget();
            self.unprice();
        }
        self.vacate(changes, before);
        false
    }

    /// Takes back what changes occupy.
    pub(super) fn vacate(&mut self, changes: &[Change], before: (f64, f64)) {
        for change in changes.iter().rev() {
            self.occupy(&change.reverse());
        }
        (self.effort_points, self.change_points) = before;
    }

    /// What each serving takes from which pot.
    pub(super) fn taken(&mut self) -> Vec<Taken> {
        self.supply.taken()
    }

    /// What a change would add in points, if it keeps all limits.
    pub(super) fn probe(&mut self, change: Change) -> Option<f64> {
        let mut points = None;
        self.attempt(&[change], |found| {
            points = Some(found);
            false
        });
        points
    }

    /// Books a change, sound or not.
    pub(super) fn book(&mut self, change: &Change) {
        self.occupy(change);
        self.price(&[*change]);
        self.bring(change);
    }

    /// Prices the tasks of the batches that changes touch; keeps the old prices in mind until the next time.
    fn price(&mut self, changes: &[Change]) {
        self.former.clear();
        for change in changes {
            let number = change.candidate as usize;
            if self.former.iter().any(|(priced, ..)| *priced == number) {
                continue;
            }
            let candidate = &self.instance.candidates[number];
            let moved = !candidate.in_tank() && candidate.start.waits();
            let handfuls = &self.instance.yields(candidate).handfuls;
            let chores = chores::price(&self.instance.net.term.rules, handfuls, moved, &self.lots[number]);
            let tasks = std::mem::replace(&mut self.chores[number], chores);
            self.effort_points += chores - tasks;
            let price = self.habit.map_or(0.0, |habit| habit.price(number, &self.lots[number]));
            let before = std::mem::replace(&mut self.change_prices[number], price);
            self.change_points += price - before;
            self.former.push((number, tasks, before));
        }
    }

    /// Takes the last prices back.
    fn unprice(&mut self) {
        for (number, tasks, before) in self.former.drain(..).rev() {
            (self.chores[number], self.change_prices[number]) = (tasks, before);
        }
    }

    /// Settles what was booked without asking.
    pub(super) fn settle(&mut self) {
        self.supply.try_out();
        self.supply.agree();
    }

    /// Keeps the list of parts, and the days with work, which do not depend on how many plants there are.
    fn list(&mut self, change: &Change, candidate: &Candidate) {
        let number = change.candidate as usize;
        let lots = &mut self.lots[number];
        let found = lots.iter().position(|lot| lot.path == change.path);
        let appears = if let Some(place) = found {
            lots[place].plants += change.plants;
            let gone = lots[place].plants == 0;
            if gone {
                lots.remove(place);
            }
            gone.then_some(false)
        } else {
            let place = lots.partition_point(|lot| lot.path.moved <= change.path.moved);
            lots.insert(place, Lot { path: change.path, plants: change.plants });
            Some(true)
        };
        self.totals[number] += change.plants;
        let Some(begins) = appears else { return };
        let mut points = 0.0;
        if !candidate.in_tank() && !change.path.lost_in_nursery() {
            points += self.work(candidate.site, change.path.moved, begins);
        }
        for day in change.path.harvests() {
            points += self.work(candidate.site, *day, begins);
        }
        self.effort_points += points;
        self.enlist(change.candidate);
    }

    /// Keeps the list of candidates with plants.
    fn enlist(&mut self, candidate: u32) {
        let seat = self.seat[candidate as usize];
        let has_plants = !self.lots[candidate as usize].is_empty();
        if has_plants && seat == u32::MAX {
            self.seat[candidate as usize] = self.active.len() as u32;
            self.active.push(candidate);
        } else if !has_plants && seat != u32::MAX {
            self.active.swap_remove(seat as usize);
            if let Some(moved) = self.active.get(seat as usize) {
                self.seat[*moved as usize] = seat;
            }
            self.seat[candidate as usize] = u32::MAX;
        }
    }

    /// Books the greens that the plants of a change bring.
    fn bring(&mut self, change: &Change) {
        let instance = self.instance;
        let candidate = &instance.candidates[change.candidate as usize];
        let weights = &instance.net.term.rules.weights;
        let yields = instance.yields(candidate);
        let heads = candidate.gives_heads(&change.path);
        for (position, (day, way, standing)) in instance.harvests(candidate, &change.path).enumerate() {
            let grams = instance.expected(candidate, standing, way) * f64::from(change.plants);
            match yields.reach(day, heads) {
                Some(reach) => {
                    let cut = instance.net.sites[candidate.site].class_days[usize::from(day)];
                    let tank = (candidate.site, usize::from(change.path.tank));
                    let in_cups = candidate.start.origin == Origin::InCups;
                    let comes = if instance.sure > 0.0 {
                        instance.comes(candidate, &change.path, (position, standing))
                    } else {
                        (1.0, 0.0)
                    };
                    let Change { candidate: batch, plants, .. } = *change;
                    let crop = candidate.crop;
                    let greens = Greens { crop, tank, grams, batch, comes, plants, in_cups };
                    self.supply.add((cut, reach), &greens);
                }
                None => self.effort_points += weights.surplus * grams,
            }
        }
    }
}
