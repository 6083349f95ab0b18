//! When a crop can be harvested at a site, and what a plant then weighs.
//!
//! The library's days and masses hold for a site with pace and yield factor 1. A pace of 1.1 stretches
//! every growing duration by a tenth: a plant of 33 days there is as far as one of 30 elsewhere.
//!
//! The first harvest weighs what the growth curve says. A plant that was cut starts again from what
//! was left and is full again after the usual interval, a little weaker each time (common practice, no
//! source): before harvest number `k`, `r` days after the cut before,
//!
//! `standing = reference * strength(k) * (left + taken * min(1, r / usual interval))`,
//!
//! where `reference` is the curve at the usual day of the first cut and `left = 1 - taken`.

use super::crop::{Crop, DaySpan, Regrowth};
use super::site::Site;

/// How greens leave a plant.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Way {
    /// About two thirds of the leaves are taken; the plant stays and grows again.
    Cut,
    /// The plant is pulled, roots off.
    WholeHead,
}

/// Ages or intervals, in days, on which a harvest is allowed; both ends included.
pub type DayWindow = std::ops::RangeInclusive<u32>;

/// A crop at a site.
#[derive(Debug, Clone, Copy)]
pub struct Growing<'a> {
    /// The crop.
    pub crop: &'a Crop,
    /// Growing days here against the library's.
    pub pace: f64,
    /// Harvested mass here against the library's.
    pub yield_factor: f64,
}

impl<'a> Growing<'a> {
    /// `crop` as it grows at `site`.
    pub fn new(crop: &'a Crop, site: &Site) -> Self {
        Self { crop, pace: site.pace, yield_factor: site.yield_factor }
    }

    /// Ages at which a seedling may be transplanted.
    pub fn nursery_window(&self) -> DayWindow {
        self.paced(self.crop.nursery.value.min, self.crop.nursery.value.max)
    }

    /// Ages at which a first cut may be taken that leaves the plant to regrow, if the crop regrows.
    pub fn cut_window(&self) -> Option<DayWindow> {
        let first_cut = self.crop.first_cut.as_ref().filter(|_| self.crop.regrowth.is_some())?;
        Some(self.harvest_window(first_cut.value))
    }

    /// Ages at which a plant that was never cut may be pulled. Crops that are only grown young are
    /// pulled in the window of their first cut.
    pub fn pull_window(&self) -> Option<DayWindow> {
        let span = self.crop.whole_head.as_ref().or(self.crop.first_cut.as_ref())?;
        Some(self.harvest_window(span.value))
    }

    /// Days after a cut on which the next harvest may be taken, if the crop regrows.
    pub fn regrowth_window(&self) -> Option<DayWindow> {
        let regrowth = self.crop.regrowth.as_ref()?;
        Some(self.paced(regrowth.interval.value.min, regrowth.interval.value.max))
    }

    /// Most harvests one plant gives, pulling included.
    pub fn harvests(&self) -> u32 {
        self.crop.regrowth.as_ref().map_or(1, |regrowth| regrowth.harvests.value)
    }

    /// From the earliest day to the latest, not beyond the usual day plus the time the plant holds.
    fn harvest_window(&self, span: DaySpan) -> DayWindow {
        self.paced(span.min, span.max.min(span.usual + self.crop.hold.value.max))
    }

    /// Library days to days here, rounded inwards but never to nothing.
    fn paced(&self, min: u32, max: u32) -> DayWindow {
        let first = (f64::from(min) * self.pace - 1e-9).ceil() as u32;
        let last = (f64::from(max) * self.pace + 1e-9).floor() as u32;
        first..=last.max(first)
    }

    /// Grams standing in a plant that was never cut, at `age` days.
    pub fn standing_first(&self, age: u32) -> f64 {
        self.crop.growth.value.grams_at(f64::from(age) / self.pace)
    }

    /// Grams standing before harvest `number` (2 or more), `interval` days after the cut before.
    /// Nil for a crop that does not regrow or gives fewer harvests.
    pub fn standing_again(&self, number: u32, interval: u32) -> f64 {
        let (Some(regrowth), Some(first_cut)) = (&self.crop.regrowth, &self.crop.first_cut) else {
            return 0.0;
        };
        let strength = regrowth.strength.value.get(number as usize - 2).copied().unwrap_or(0.0);
        let reference = self.crop.growth.value.grams_at(f64::from(first_cut.value.usual));
        let usual = f64::from(regrowth.interval.value.usual) * self.pace;
        let taken = regrowth.taken.value;
        reference * strength * ((1.0 - taken) + taken * (f64::from(interval) / usual).min(1.0))
    }

    /// Share of the standing leaf that a harvest takes.
    pub fn taken(&self, way: Way) -> f64 {
        match (way, &self.crop.regrowth) {
            (Way::Cut, Some(Regrowth { taken, .. })) => taken.value,
            _ => 1.0,
        }
    }

    /// Ready-to-eat grams to expect from one plant put into the tank, given what stands in a plant:
    /// standing mass, share taken, survival in the tank, the site's yield factor and trimming.
    pub fn expected(&self, standing_grams: f64, way: Way) -> f64 {
        standing_grams
            * self.taken(way)
            * self.crop.tank_survival.value
            * self.yield_factor
            * self.crop.ready_to_eat.value
    }
}
