//! Which plants an entry is about: plants are picked one by one, by their holes.

use super::batch::BatchReplay;
use super::lot::{Lot, Order};

/// Plants of one lot that were picked.
pub(super) struct Picked {
    lot: usize,
    plants: u32,
    holes: Vec<u32>,
}

impl BatchReplay<'_> {
    /// Picks up to so many plants of lots with a key, in order of the keys, and of equal ones from one end of the lid.
    /// Plants in holes that are not known come last.
    pub(super) fn pick<K: Ord>(
        &self,
        plants: u32,
        order: Order,
        key: impl Fn(&Lot) -> Option<K>,
    ) -> Vec<Picked> {
        let mut all: Vec<(K, i64, usize)> = Vec::new();
        for (at, lot) in self.lots.iter().enumerate() {
            for number in 0..lot.plants as usize {
                let Some(key) = key(lot) else { break };
                let place = match (lot.holes.get(number), order) {
                    (Some(hole), Order::FirstHoles) => i64::from(*hole),
                    (Some(hole), Order::LastHoles) => -i64::from(*hole),
                    (None, _) => i64::MAX,
                };
                all.push((key, place, at));
            }
        }
        all.sort();
        let chosen = all.into_iter().take(plants as usize);
        together(chosen.map(|(_, place, at)| {
            let hole = (place != i64::MAX).then(|| place.unsigned_abs() as u32);
            (at, hole)
        }))
    }

    /// The plants in these holes, and the holes in which none can be. Where nobody knows the holes of plants, any may be
    /// theirs in which no other plant of the batch stood meanwhile.
    pub(super) fn pick_holes(&self, holes: &[u32], here: impl Fn(&Lot) -> bool) -> (Vec<Picked>, Vec<u32>) {
        let lots: Vec<(usize, &Lot)> = self.lots.iter().enumerate().filter(|(_, lot)| here(lot)).collect();
        let mut unknown: Vec<(usize, &Lot)> = lots
            .iter()
            .filter(|(_, lot)| lot.holes.is_empty())
            .flat_map(|lot| std::iter::repeat_n(*lot, lot.1.plants as usize))
            .collect();
        let mut found = Vec::new();
        let mut missing = Vec::new();
        for hole in holes {
            let known = lots.iter().find(|(_, lot)| lot.holes.contains(hole)).map(|(at, _)| *at);
            let of_unknown = || {
                let at = unknown.iter().rposition(|(_, lot)| !self.was_anothers(*hole, lot))?;
                Some(unknown.remove(at).0)
            };
            match known.or_else(of_unknown) {
                Some(at) => found.push((at, Some(*hole))),
                None => missing.push(*hole),
            }
        }
        (together(found.into_iter()), missing)
    }

    /// Whether another plant of the batch stood in a hole after those of a lot came into that tank.
    fn was_anothers(&self, hole: u32, lot: &Lot) -> bool {
        let came = lot.moved();
        self.lots.iter().filter(|other| other.tank == lot.tank && other.holes.contains(&hole)).any(|other| {
            let left = other.end().map(|end| end.day);
            let left_before = left.is_some_and(|left| Some(left) <= came) && other.moved() < came;
            other.moved().is_some() && !left_before
        })
    }

    /// The lot of plants that were picked.
    pub(super) fn lot_of(&self, picked: &Picked) -> &Lot {
        &self.lots[picked.lot]
    }

    /// Takes the plants off their lots, lets something happen to each of these new lots and puts them back.
    pub(super) fn change(&mut self, picked: &[Picked], mut change: impl FnMut(&mut Lot)) {
        for Picked { lot: at, plants, holes } in picked {
            let room = self.room;
            let lot = &mut self.lots[*at];
            if *plants >= lot.plants {
                if lot.holes.is_empty() {
                    lot.stand_in(holes, &room);
                }
                change(lot);
            } else {
                let mut off = lot.split(*plants, holes, &room);
                change(&mut off);
                self.lots.push(off);
            }
        }
    }
}

/// How many plants were picked.
pub(super) fn count(picked: &[Picked]) -> u32 {
    picked.iter().map(|picked| picked.plants).sum()
}

fn together(plants: impl Iterator<Item = (usize, Option<u32>)>) -> Vec<Picked> {
    let mut picked: Vec<Picked> = Vec::new();
    for (lot, hole) in plants {
        let at = picked.iter().position(|known| known.lot == lot).unwrap_or_else(|| {
            picked.push(Picked { lot, plants: 0, holes: Vec::new() });
            picked.len() - 1
        });
        picked[at].plants += 1;
        picked[at].holes.extend(hole);
    }
    picked
}
