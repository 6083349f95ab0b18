//! Splitting a part, so that something can happen to some of its plants only.

use crate::domain::lid::Place;
use crate::domain::plan::{Batch, Part};
use crate::domain::site::Site;
use crate::domain::term::{Term, WantedCrop};
use std::collections::BTreeSet;

/// A batch's crop and site, which tell the places plants take on a lid.
pub(super) struct Ground<'t> {
    pub(super) wanted: &'t WantedCrop,
    site: &'t Site,
}

impl<'t> Ground<'t> {
    /// `None` if the term knows no such crop or site.
    pub(super) fn of(term: &'t Term, batch: &Batch) -> Option<Self> {
        Some(Self { wanted: term.crop(&batch.crop)?, site: term.site(&batch.site)? })
    }

    fn places(&self, part: &Part) -> Vec<Place> {
        let tank = self.site.tank(&part.tank);
        let room = tank.and_then(|tank| tank.lid.room_for(self.wanted.crop.spacing.value.cm()));
        tank.zip(room).map_or_else(Vec::new, |(tank, room)| tank.lid.places(room))
    }

    /// Takes so many plants, those in the last holes, off a part; they keep their dates.
    fn split(&self, part: &mut Part, plants: u32) -> Part {
        let mut off = Part { plants, ..part.clone() };
        part.plants -= plants;
        if !part.holes.is_empty() {
            off.holes = part.holes.split_off(part.holes.len().saturating_sub(plants as usize));
            let beside: BTreeSet<u32> = self
                .places(part)
                .into_iter()
                .filter(|place| off.holes.contains(&place.hole))
                .flat_map(|place| place.kept_empty)
                .collect();
            off.kept_empty.retain(|hole| beside.contains(hole));
            part.kept_empty.retain(|hole| !beside.contains(hole));
        }
        off
    }

    /// Changes up to so many plants of a batch, in parts that fit, in order of the key; a part is split where it has
    /// more. Returns how many plants were changed.
    pub(super) fn change<K: Ord>(
        &self,
        batch: &mut Batch,
        plants: u32,
        key: impl Fn(&Part) -> Option<K>,
        change: impl Fn(&mut Part),
    ) -> u32 {
        let mut fitting: Vec<(K, usize)> =
            batch.parts.iter().enumerate().filter_map(|(at, part)| Some((key(part)?, at))).collect();
        fitting.sort();
        let mut left = plants;
        for (_, at) in fitting {
            let part = &mut batch.parts[at];
            let now = left.min(part.plants);
            if now == part.plants {
                change(part);
            } else if now > 0 {
                let mut off = self.split(part, now);
                change(&mut off);
                batch.parts.push(off);
            }
            left -= now;
        }
        plants - left
    }
}
