//! Windows and masses, worked out anew from the crop figures.
//!
//! Deliberately a second time: the planner has its own formulas, and only what was written twice can
//! disagree. The rules are those told at the head of the domain's `growth` module.

use crate::domain::crop::{Crop, DaySpan};
use crate::domain::growth::Way;
use crate::domain::site::Site;
use std::fmt;

/// Room for rounding when a duration is stretched to whole days.
const ROUNDING: f64 = 1e-9;

/// A crop at a site.
pub(super) struct Figures<'a> {
    crop: &'a Crop,
    site: &'a Site,
}

/// Fewest and most days, both allowed.
#[derive(Clone, Copy)]
pub(super) struct Days {
    first: i64,
    last: i64,
}

impl Days {
    pub(super) fn allow(self, days: i64) -> bool {
        self.first <= days && days <= self.last
    }
}

impl fmt::Display for Days {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.first == self.last {
            write!(f, "{} days", self.first)
        } else {
            write!(f, "{} to {} days", self.first, self.last)
        }
    }
}

impl<'a> Figures<'a> {
    pub(super) fn new(crop: &'a Crop, site: &'a Site) -> Self {
        Self { crop, site }
    }

    /// Library days stretched by the site's pace: the first whole day at or after the shortest
    /// duration, the last whole day at or before the longest; at least one day.
    fn stretch(&self, shortest: u32, longest: u32) -> Days {
        let first = (self.site.pace * f64::from(shortest) - ROUNDING).ceil() as i64;
        let last = (self.site.pace * f64::from(longest) + ROUNDING).floor() as i64;
        Days { first, last: last.max(first) }
    }

    /// Ages fit for transplanting.
    pub(super) fn nursery(&self) -> Days {
        let span = self.crop.nursery.value;
        self.stretch(span.min, span.max)
    }

    /// Ages fit for a first harvest, or `None` if the crop cannot be harvested that way.
    pub(super) fn first_harvest(&self, way: Way) -> Option<Days> {
        let young = self.crop.first_cut.as_ref();
        let span: DaySpan = match way {
            Way::Cut if self.crop.regrowth.is_none() => return None,
            Way::Cut => young?.value,
            Way::WholeHead => self.crop.whole_head.as_ref().or(young)?.value,
        };
        let spoilt = span.usual + self.crop.hold.value.max;
        Some(self.stretch(span.min, span.max.min(spoilt)))
    }

    /// Days between two harvests, if the crop regrows.
    pub(super) fn regrowth(&self) -> Option<Days> {
        let span = self.crop.regrowth.as_ref()?.interval.value;
        Some(self.stretch(span.min, span.max))
    }

    /// Harvests a plant gives at most.
    pub(super) fn harvests(&self) -> u32 {
        self.crop.regrowth.as_ref().map_or(1, |again| again.harvests.value)
    }

    /// Plugs needed for plants at the chance that a plug gives one.
    pub(super) fn plugs(&self, plants: u64) -> u64 {
        (plants as f64 / self.chance_per_plug() - ROUNDING).ceil() as u64
    }

    /// A plug gives a plant unless every seed fails or the seedling is lost.
    fn chance_per_plug(&self) -> f64 {
        let all_fail: f64 =
            (0..self.crop.seeds_per_plug.value).map(|_| 1.0 - self.crop.germination.value).product();
        self.crop.nursery_survival.value * (1.0 - all_fail)
    }

    /// Grams standing in one plant: before the first harvest `days` after sowing, before later ones
    /// `days` after the cut before. `None` if the crop does not give that harvest.
    pub(super) fn standing_grams(&self, number: u64, days: i64) -> Option<f64> {
        if number <= 1 {
            return Some(self.curve(days as f64 / self.site.pace));
        }
        let again = self.crop.regrowth.as_ref()?;
        let full = self.curve(f64::from(self.crop.first_cut.as_ref()?.value.usual));
        let strength = again.strength.value.get(number as usize - 2)?;
        let grown = (days as f64 / (self.site.pace * f64::from(again.interval.value.usual))).min(1.0);
        let taken = again.taken.value;
        Some(full * strength * (1.0 - taken + taken * grown))
    }

    /// Fresh grams at a library age, by straight lines between the published points, from nothing at
    /// sowing and level after the last point.
    fn curve(&self, age: f64) -> f64 {
        let points: Vec<(f64, f64)> = std::iter::once((0.0, 0.0))
            .chain(self.crop.growth.value.points().map(|(day, mass)| (f64::from(day), mass.grams())))
            .collect();
        let level = points.last().map_or(0.0, |point| point.1);
        points
            .windows(2)
            .find(|pair| age < pair[1].0)
            .map_or(level, |pair| {
                let share = (age - pair[0].0) / (pair[1].0 - pair[0].0);
                pair[0].1 * (1.0 - share) + pair[1].1 * share
            })
            .max(0.0)
    }

    /// Share of the leaf a harvest takes.
    pub(super) fn taken(&self, way: Way) -> f64 {
        match (way, &self.crop.regrowth) {
            (Way::Cut, Some(again)) => again.taken.value,
            (Way::Cut, None) | (Way::WholeHead, _) => 1.0,
        }
    }
}
