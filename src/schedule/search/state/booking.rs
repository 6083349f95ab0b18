//! What the plants of a change use: cells, holes, water, minutes, sowings and days with work.

use super::super::super::instance::{Candidate, Index, Path};
use super::super::change::Change;
use super::State;

impl State<'_> {
    /// Books what the plants of a change use.
    pub(in super::super) fn occupy(&mut self, change: &Change) {
        let instance = self.instance;
        let number = change.candidate as usize;
        let candidate = &instance.candidates[number];
        let before = self.totals[number];
        self.batch(change.candidate, candidate, -1);
        self.seedlings(change.candidate, candidate, -1);
        self.shift(change, candidate);
        self.seedlings(change.candidate, candidate, 1);
        self.batch(change.candidate, candidate, 1);
        if let Some(rhythm) = self.rhythm.as_mut().filter(|_| candidate.keeps_rhythm()) {
            let (begun, uneven) = rhythm.book(change.candidate, before, self.totals[number]);
            self.effort_points += instance.net.term.rules.series_price() * f64::from(begun)
                + rhythm.price.unwrap_or(0.0) * f64::from(uneven);
        }
    }

    /// Books (or unbooks) what depends on the size of the whole batch: sowing, plugs, smallest size.
    fn batch(&mut self, number: u32, candidate: &Candidate, sign: i32) {
        let plants = self.totals[number as usize];
        let Some(day) = candidate.sow_index.filter(|_| plants > 0) else {
            return;
        };
        let rules = &self.instance.net.term.rules;
        let plugs = f64::from(self.instance.plugs(candidate, plants));
        let site = candidate.site;
        if plants < rules.smallest_batch as i32 && !candidate.given {
            self.ledger.blame(sign);
        }
        if candidate.offered.is_some_and(|most| plants > most) {
            self.ledger.blame(sign);
        }
        if candidate.start.laid() {
            self.ledger.sowings(site, day, sign);
            self.ledger.minutes(site, day, f64::from(sign) * plugs * rules.minutes.sow);
        }
        let work = self.work(site, day, sign > 0);
        let sowing = rules.weights.sowing + self.instance.plug_price(candidate) * plugs;
        self.effort_points += f64::from(sign) * sowing + work;
    }

    /// Books (or unbooks) that there is something to do at a site on a class day; returns what that adds in points.
    pub(in super::super) fn work(&mut self, site: usize, day: Index, begins: bool) -> f64 {
        let rules = &self.instance.net.term.rules;
        let (visits, idle) = self.ledger.work(site, day, begins);
        rules.weights.visit * f64::from(visits) + rules.idle_price() * f64::from(idle)
    }

    /// Books (or unbooks) the nursery cells of a batch: after each transplanting, those still waiting.
    fn seedlings(&mut self, number: u32, candidate: &Candidate, sign: i32) {
        if candidate.in_tank() || self.totals[number as usize] <= 0 {
            return;
        }
        let mut from = candidate.sow_index.unwrap_or(0);
        let mut waiting = self.totals[number as usize];
        for lot in &self.lots[number as usize] {
            if lot.path.moved > from {
                let cells = self.instance.cells(candidate, waiting, self.totals[number as usize]) as i32;
                self.ledger.cells(candidate.site, from..lot.path.moved, sign * cells);
                from = lot.path.moved;
            }
            waiting -= lot.plants;
        }
    }

    /// Books plants on (or off) a path: holes, water, minutes, visits, and the list of parts.
    fn shift(&mut self, change: &Change, candidate: &Candidate) {
        let net = self.instance.net;
        let rules = &net.term.rules;
        let site = &net.sites[candidate.site];
        let (path, plants) = (&change.path, change.plants);
        if path.lost_in_nursery() {
            return self.list(change, candidate);
        }
        let yields = self.instance.yields(candidate);
        let room = yields.room[usize::from(path.tank)];
        let from = if candidate.in_tank() { 0 } else { site.class_days[usize::from(path.moved)] };
        let leaves = self.instance.leaves(candidate, path);
        let free_again = leaves + rules.turnover_days as i32;
        self.ledger.holes(candidate.site, path.tank, self.hole_days(candidate, path), room, plants);
        let before = if candidate.in_tank() { 0 } else { path.moved + 1 };
        // Plants may be lost on any day, but are pulled on a class day.
        let (last, left) = if path.lost.is_some() {
            let until = |day: i32| site.class_days.partition_point(|other| *other < day) as Index;
            (until(leaves + 1).saturating_sub(1), until(leaves))
        } else {
            (path.last(), path.last())
        };
        self.ledger.stays(candidate.site, path.tank, before..left, plants);
        let is_new = !candidate.in_tank() && usize::from(path.moved) >= site.past_days;
        let further =
            self.ledger.crops((candidate.site, path.tank), candidate.crop, path.moved..left, plants, is_new);
        self.effort_points += rules.mixed_price() * f64::from(further);
        self.ledger.water(candidate.site, path.tank, path.moved, last, &yields.litres, plants);
        let holes = f64::from(room) * f64::from(plants);
        self.effort_points += rules.weights.hole_day * holes * f64::from(free_again - from);
        if candidate.gives_heads(path) {
            let late = site.overmature(candidate.crop, candidate.sown, leaves);
            self.effort_points += rules.weights.overmature * f64::from(plants) * f64::from(late);
        }
        if !candidate.in_tank() && candidate.start.waits() {
            let minutes = f64::from(plants) * rules.minutes.transplant;
            self.ledger.minutes(candidate.site, path.moved, minutes);
        }
        for day in path.harvests() {
            self.ledger.minutes(candidate.site, *day, f64::from(plants) * rules.minutes.harvest);
        }
        self.list(change, candidate);
    }

    /// Class days on which plants on a path take their holes.
    pub(in super::super) fn hole_days(&self, candidate: &Candidate, path: &Path) -> std::ops::Range<Index> {
        let site = &self.instance.net.sites[candidate.site];
        let rested = match path.lost {
            Some(loss) => site.rested(&self.instance.net.term.rules, loss.day),
            None => site.rested[usize::from(path.last())],
        };
        path.moved..rested
    }
}
