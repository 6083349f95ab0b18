//! Plants that a class may leave standing until its next day, as they are not ready.

use super::setting::{Pick, can_be, each};
use crate::domain::calendar::{days_between, plus_days};
use crate::domain::growth::Growing;
use crate::domain::luck::Pacing;
use crate::domain::plan::{Arithmetic, Batch, Harvest, Part, Plan};
use crate::domain::site::Site;
use crate::domain::term::Term;
use crate::schedule::{Kitchen, Pot};
use chrono::NaiveDate;

/// Share of the planned mass below which plants are seen not to be ready: so much by eye (from memory).
pub(super) const READY: f64 = 0.85;

/// A term and its plan, asked what may wait.
#[derive(Clone, Copy)]
pub(super) struct Waiting<'a, 't> {
    pub(super) term: &'t Term,
    pub(super) plan: &'a Plan,
    pub(super) kitchen: &'a Kitchen<'t>,
    /// The first day that is played.
    pub(super) from: NaiveDate,
}

impl<'t> Waiting<'_, 't> {
    /// Heads on the first class day after their planned pulling: if they are not too old then, no serving day is missed by it,
    /// and nobody needs their holes before.
    pub(super) fn later(
        &self,
        (site, batch, part): (&Site, &Batch, &Part),
        (harvest, pot): (&Harvest, Pot),
        growing: &Growing<'t>,
    ) -> Option<Pick<'t>> {
        let class = site.class_days.partition_point(|class| *class <= harvest.date);
        let day = *site.class_days.get(class)?;
        let Arithmetic { days, standing_grams, .. } = harvest.arithmetic;
        let waits = u32::try_from(days_between(harvest.date, day)).ok()?;
        let may_wait = harvest.pulls_uncut() && growing.pull_window()?.contains(&(days + waits));
        if !may_wait
            || !can_be(site, part, day, self.from)
            || self.is_awaited((site, batch, part), (harvest.date, day))
        {
            return None;
        }
        let keeps = growing.crop.keeps(harvest.way, harvest.number).value;
        let later = self.kitchen.pot((day, keeps), &batch.crop, (&batch.site, &part.tank))?;
        if later.first() != pot.first() {
            return None;
        }
        let curve = &growing.crop.growth.value;
        let heavier = curve.grams_at(curve.age_at(standing_grams) + f64::from(waits) / growing.pace);
        Some(Pick {
            day: days_between(self.term.start, day),
            pot: Some(later),
            each: each(part, harvest) * heavier / standing_grams,
            growth: Pacing::new(growing, (days + waits, true), heavier),
            later: None,
        })
    }

    /// Whether other plants come into the tank that need the room of a part which leaves on the second day and not on the
    /// first.
    fn is_awaited(
        &self,
        (site, batch, part): (&Site, &Batch, &Part),
        (planned, day): (NaiveDate, NaiveDate),
    ) -> bool {
        let Some(tank) = site.tank(&part.tank) else { return true };
        let spacing =
            |batch: &Batch| self.term.crop(&batch.crop).map_or(0.0, |wanted| wanted.crop.spacing.value.cm());
        let rested = plus_days(day, self.term.rules.turnover_days);
        let others = self.plan.batches.iter().filter(|other| other.site == batch.site);
        let comes = others.flat_map(|other| other.parts.iter().map(move |part| (other, part)));
        let mut comes = comes.filter(|(_, other)| {
            other.tank == part.tank
                && (planned..rested).contains(&other.transplant)
                && !other.lost_in_nursery()
        });
        comes.any(|(other, comer)| {
            let needs = |hole: &u32| comer.holes.contains(hole) || comer.kept_empty.contains(hole);
            let crowds = |hole: &u32| {
                let own = (*hole, spacing(batch));
                comer.holes.iter().any(|new| tank.lid.crowds(own, (*new, spacing(other))))
            };
            part.holes.iter().any(|hole| needs(hole) || crowds(hole)) || part.kept_empty.iter().any(needs)
        })
    }
}
