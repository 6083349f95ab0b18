//! Why harvests have their days: the other class days on which the plants could have been harvested, and what speaks against each.

use super::batch::Ours;
use crate::domain::calendar::{days_between, plus_days};
use crate::domain::explain::{AgainstHarvest, HarvestDay, HarvestExplained};
use crate::domain::growth::{Stand, Way};
use crate::domain::ids::BatchId;
use crate::domain::plan::{Harvest, Part};
use chrono::NaiveDate;

impl Ours<'_> {
    /// The batch's harvests by day, with the time in which each may be taken.
    pub(super) fn harvests(&self) -> Vec<HarvestExplained> {
        let mut all: Vec<HarvestExplained> = Vec::new();
        for (part, harvest) in self.taken() {
            let (date, way, days) = (harvest.date, harvest.way, harvest.arithmetic.days);
            let same = |other: &&mut HarvestExplained| {
                (other.date, other.way, other.number, other.days) == (date, way, harvest.number, days)
            };
            let serves = harvest.serves.iter().map(|served| (served.date, served.grams));
            match all.iter_mut().find(same) {
                Some(together) => {
                    together.plants += part.plants;
                    for (day, grams) in serves {
                        *together.serves.entry(day).or_default() += grams;
                    }
                }
                None => all.push(HarvestExplained {
                    date,
                    way,
                    number: harvest.number,
                    days,
                    allowed: self.ages(harvest),
                    plants: part.plants,
                    serves: serves.collect(),
                    plant_grams: harvest.grams / f64::from(part.plants.max(1)),
                    other_days: self.other_days(part, harvest),
                }),
            }
        }
        all.sort_by_key(|harvest| (harvest.date, harvest.number));
        all
    }

    /// Class days still to come, other than the planned one, on which the plants would be of the right age.
    fn other_days(&self, part: &Part, harvest: &Harvest) -> Vec<HarvestDay> {
        let Some(allowed) = self.ages(harvest).filter(|_| self.open <= harvest.date) else {
            return Vec::new();
        };
        let age = |day: NaiveDate| i64::from(harvest.arithmetic.days) + days_between(harvest.date, day);
        let fits = |day: &NaiveDate| u32::try_from(age(*day)).is_ok_and(|age| allowed.contains(&age));
        let moved = plus_days(part.transplant, self.growing.tank_days());
        let days = self.site.class_days.iter().copied();
        let open = days.filter(|day| *day != harvest.date && *day >= self.open && *day >= moved);
        open.filter(fits)
            .map(|day| HarvestDay {
                day,
                grams: self.grams_then(part, harvest, day),
                against: self.against_harvest(part, harvest, day),
            })
            .collect()
    }

    /// Grams that a plant would give on another day, all its earlier harvests being as planned; unknown of plants that were cut before
    /// the term.
    fn grams_then(&self, part: &Part, harvest: &Harvest, day: NaiveDate) -> Option<f64> {
        let earlier = part.harvests.iter().take_while(|other| other.date < harvest.date);
        let (mut stand, mut since) = (None, part.transplant);
        for cut in earlier {
            stand = Some(self.growing.cut(self.grown(part, stand, since, cut.date)));
            since = cut.date;
        }
        let known = part.cuts_before == 0;
        known.then(|| self.grams(&self.grown(part, stand, since, day), harvest.way))
    }

    /// A plant on a day, from its last cut on or from when it was moved.
    fn grown(&self, part: &Part, cut: Option<Stand>, since: NaiveDate, day: NaiveDate) -> Stand {
        match cut {
            Some(stand) => self.growing.later(stand, u32::try_from(days_between(since, day)).unwrap_or(0)),
            None => self.planted(self.batch.sown, part.transplant, day),
        }
    }

    /// Plants that are to come into holes of a part before they would be free, were it pulled on another day.
    fn next_in_holes(&self, part: &Part, harvest: &Harvest, day: NaiveDate) -> Option<(BatchId, NaiveDate)> {
        let free = plus_days(day, self.term.rules.turnover_days);
        let batches = self.plan.batches.iter().filter(|other| other.site == self.site.id);
        let parts = batches.flat_map(|batch| batch.parts.iter().map(move |part| (batch, part)));
        let wanted = |other: &Part| {
            let holes = || other.holes.iter().chain(&other.kept_empty);
            let ours = |hole: &u32| part.holes.contains(hole) || part.kept_empty.contains(hole);
            other.tank == part.tank && !other.lost_in_nursery() && holes().any(ours)
        };
        let next = parts
            .filter(|(_, other)| harvest.date <= other.transplant && other.transplant < free && wanted(other))
            .min_by_key(|(_, other)| other.transplant)?;
        (harvest.way == Way::WholeHead).then(|| (next.0.id.clone(), next.1.transplant))
    }

    fn against_harvest(&self, part: &Part, harvest: &Harvest, day: NaiveDate) -> Option<AgainstHarvest> {
        let served = || harvest.serves.iter().map(|served| served.date);
        if let Some(first) = served().min().filter(|first| *first < day) {
            return Some(AgainstHarvest::TooLate { serving: first });
        }
        let keeps = self.growing.crop.keeps(harvest.way, harvest.number).value;
        if let Some(last) = served().max().filter(|last| plus_days(day, keeps) < *last) {
            return Some(AgainstHarvest::NotKept { serving: last, days: keeps });
        }
        if let Some((batch, moved)) = self.next_in_holes(part, harvest, day) {
            return Some(AgainstHarvest::HolesWanted { batch, day: moved });
        }
        let next = part.harvests.iter().find(|other| other.date > harvest.date)?;
        let regrows = self.growing.regrowth_window()?;
        let days = days_between(day, next.date);
        (!u32::try_from(days).is_ok_and(|days| regrows.contains(&days)))
            .then_some(AgainstHarvest::NextCut { day: next.date })
    }
}
