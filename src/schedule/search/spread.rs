//! Steps whose plants find no room in one tank: they are given to several, or are made fewer.
//!
//! A step puts all its plants into one tank, so where tanks are small, or nearly full, hardly any step of a whole batch
//! would fit.

use super::super::instance::{Candidate, Instance, Path};
use super::change::Change;
use super::state::State;

impl<'g> State<'g> {
    /// As [`State::attempt`], but where the changes do not fit, new plants go to every tank with room for some of them, the
    /// one they were meant for first; plants without room anywhere are left out.
    pub(super) fn attempt_spread(&mut self, changes: &[Change], accept: impl FnOnce(f64) -> bool) -> bool {
        if self.touches_others(changes) {
            return false;
        }
        let before = self.efforts();
        for change in changes {
            self.occupy(change);
        }
        if self.ledger.sound() || !changes.iter().all(|change| self.may_spread(change)) {
            return self.judge(changes, before, accept);
        }
        self.vacate(changes, before);
        let mut spread = Vec::new();
        self.fit(changes, &mut spread);
        self.judge(&spread, before, accept)
    }

    /// What [`State::attempt_spread`] would add in points, if anything of it fits.
    pub(super) fn probe_spread(&mut self, changes: &[Change]) -> Option<f64> {
        let mut points = None;
        self.attempt_spread(changes, |found| {
            points = Some(found);
            false
        });
        points
    }

    /// Whether the plants of a change can be fewer, or be put into another tank.
    fn may_spread(&self, change: &Change) -> bool {
        change.plants < 0 || !self.instance.candidates[change.candidate as usize].given
    }

    /// Books the changes as far as tanks have room, and lists what was booked.
    fn fit(&mut self, changes: &[Change], booked: &mut Vec<Change>) {
        for change in changes.iter().filter(|change| change.plants < 0) {
            self.occupy(change);
            booked.push(*change);
        }
        for change in changes.iter().filter(|change| change.plants > 0) {
            let instance: &'g Instance<'g> = self.instance;
            let candidate = &instance.candidates[change.candidate as usize];
            let mut left = change.plants;
            for tank in tanks(instance, candidate, change.path.tank) {
                let path = change.path.in_tank(tank);
                let plants = left.min(self.room(candidate, &path));
                if plants > 0 && instance.allows(candidate, &path) {
                    let part = Change { path, plants, ..*change };
                    self.occupy(&part);
                    booked.push(part);
                    left -= plants;
                }
                if left == 0 {
                    break;
                }
            }
        }
    }

    /// Plants for which a path's tank has room.
    fn room(&self, candidate: &Candidate, path: &Path) -> i32 {
        let room = self.instance.yields(candidate).room[usize::from(path.tank)];
        self.ledger.free(candidate.site, path.tank, self.hole_days(candidate, path), room)
            / room.max(1) as i32
    }
}

/// Tanks a candidate can stand in, from this one on.
fn tanks<'g>(
    instance: &'g Instance,
    candidate: &Candidate,
    first: u16,
) -> impl Iterator<Item = u16> + use<'g> {
    let others: &[u16] = if candidate.fixed_tank.is_some() { &[] } else { &instance.yields(candidate).tanks };
    let (before, after) = others.split_at(others.partition_point(|tank| *tank <= first));
    std::iter::once(first).chain(after.iter().chain(before).copied().filter(move |tank| *tank != first))
}
