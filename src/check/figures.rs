//! Windows and masses, worked out anew from the crop figures.
//!
//! Deliberately a second time: the planner has its own formulas, and only what was written twice can
//! disagree. The rules are those told at the head of the domain's `growth` module.

use crate::domain::calendar::days_between;
use crate::domain::crop::{Crop, DaySpan, SEEDLING_RATE};
use crate::domain::growth::{HELD_DAYS, PLUG_GRAMS_PER_CM3, Way, YOUNG};
use crate::domain::plan::{Harvest, Origin};
use crate::domain::site::{CropHere, Site};
use chrono::NaiveDate;
use std::fmt;

/// Room for rounding when a duration is stretched to whole days.
const ROUNDING: f64 = 1e-9;

/// A crop at a site.
pub(super) struct Figures<'a> {
    crop: &'a Crop,
    site: &'a Site,
    here: CropHere,
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

    /// The same for plants that grew before the plan was made anew: a little younger will do.
    pub(super) fn or_younger(self) -> Self {
        Self { first: or_younger(self.first), ..self }
    }
}

/// The first whole day of those for which a plant must have grown that should have grown so many.
pub(super) fn or_younger(days: i64) -> i64 {
    (days as f64 * YOUNG - ROUNDING).ceil() as i64
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
        Self { crop, site, here: site.crop_here(&crop.id) }
    }

    /// Library days stretched by the site's pace: the first whole day at or after the shortest
    /// duration, the last whole day at or before the longest; at least one day.
    fn stretch(&self, shortest: u32, longest: f64) -> Days {
        let first = (self.here.pace * f64::from(shortest) - ROUNDING).ceil() as i64;
        let last = (self.here.pace * longest + ROUNDING).floor() as i64;
        Days { first, last: last.max(first) }
    }

    /// Ages fit for transplanting.
    pub(super) fn nursery(&self) -> Days {
        let span = self.crop.nursery.value;
        self.stretch(span.min, f64::from(span.max).min(self.full_plug() + HELD_DAYS))
    }

    /// Days for which what comes up is as tender as a seedling in the nursery.
    pub(super) fn seedling_days(&self) -> u32 {
        u32::try_from(self.nursery().first).unwrap_or(0)
    }

    /// Share of plants in a tank that live until the harvest; of those sown there, the share of cups.
    pub(super) fn survival(&self, origin: Origin) -> f64 {
        let in_tank = self.crop.tank_survival.value;
        if origin == Origin::InCups { in_tank * self.chance_per_plug() } else { in_tank }
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
        Some(self.stretch(span.min, f64::from(span.max.min(spoilt))))
    }

    /// Last age at which a plant that was never cut is at its best.
    pub(super) fn prime(&self) -> Option<i64> {
        let span = self.crop.whole_head.as_ref().or(self.crop.first_cut.as_ref())?.value;
        Some(self.stretch(span.min, f64::from(span.usual + self.crop.hold.value.usual)).last)
    }

    /// Days between two harvests, if the crop regrows.
    pub(super) fn regrowth(&self) -> Option<Days> {
        let span = self.crop.regrowth.as_ref()?.interval.value;
        Some(self.stretch(span.min, f64::from(span.max)))
    }

    /// Age beyond which a plant that was cut is not harvested any more.
    pub(super) fn oldest(&self) -> Option<i64> {
        let until = self.crop.regrowth.as_ref()?.until.as_ref()?;
        Some((self.here.pace * f64::from(until.value) + ROUNDING).floor() as i64)
    }

    /// Harvests a plant gives at most.
    pub(super) fn harvests(&self) -> u32 {
        self.crop.regrowth.as_ref().map_or(1, |again| again.harvests.value)
    }

    /// Plugs needed for plants at the chance that a plug gives one.
    pub(super) fn plugs(&self, plants: u64) -> u64 {
        (plants as f64 / self.chance_per_plug() - ROUNDING).ceil() as u64
    }

    /// Plugs that give fewer plants in half as many cases as a day may fail that is to be `sure`. The last of the plants comes
    /// with a certain plug with a chance (negative binomial) that follows from the one of the plug before.
    pub(super) fn plugs_for_sure(&self, plants: u64, sure: f64) -> u64 {
        let expected = self.plugs(plants);
        let (each, fails) = (self.chance_per_plug(), 1.0 - self.chance_per_plug());
        if sure <= 0.0 || fails <= 0.0 || plants == 0 {
            return expected;
        }
        // As logarithms, because with few of many plugs they hardly ever come.
        let mut with_this = plants as f64 * each.ln();
        let mut came = 0.0;
        for plugs in plants..=4 * expected {
            came += with_this.exp();
            if plugs >= expected && came >= f64::midpoint(1.0, sure) - ROUNDING {
                return plugs;
            }
            with_this += (plugs as f64 / (plugs + 1 - plants) as f64 * fails).ln();
        }
        expected
    }

    /// Mean of the mass at a harvest against the planned one, and its standard deviation, where batches are slow or fast: in a
    /// sixth of cases by √3 standard deviations each way, else by none.
    pub(super) fn comes(&self, harvest: &Harvest) -> (f64, f64) {
        let (days, grams) =
            (f64::from(harvest.arithmetic.days) / self.here.pace, harvest.arithmetic.standing_grams);
        let by = 3.0_f64.sqrt() * self.crop.variation.value.days / f64::from(self.crop.usual_days()) * days;
        let full = harvest.number <= 1 && grams >= self.curve(f64::MAX);
        let age = if full { days.max(self.age_of(grams)) } else { self.age_of(grams) };
        let share = |later: f64| self.curve(age + later) / self.curve(age);
        let (slow, fast) = (share(-by), share(by));
        let mean = (slow + fast) / 6.0 + 2.0 / 3.0;
        let off = |share: f64| (share - mean).powi(2);
        (mean, ((off(slow) + off(fast)) / 6.0 + off(1.0) * 2.0 / 3.0).sqrt())
    }

    /// A plug gives a plant unless every seed fails or the seedling is lost.
    fn chance_per_plug(&self) -> f64 {
        let all_fail: f64 =
            (0..self.crop.seeds_per_plug.value).map(|_| 1.0 - self.crop.germination.value).product();
        self.crop.nursery_survival.value * (1.0 - all_fail)
    }

    /// Fewest days between transplanting and a first harvest.
    pub(super) fn tank_days(&self) -> i64 {
        (self.here.pace * f64::from(self.crop.tank_days.value) - ROUNDING).ceil() as i64
    }

    /// Days after a harvest on which its greens are still good.
    pub(super) fn keeps(&self, harvest: &Harvest) -> u32 {
        let heads = harvest.way == Way::WholeHead && harvest.number <= 1;
        if heads { self.crop.shelf_life.value } else { self.crop.cut_shelf_life.value }
    }

    /// Grams standing in one plant before each of its harvests, those before the term included: it was sown on the first
    /// day, came into its tank on the second, and all its harvests but the last of these are cuts.
    pub(super) fn standing_grams(
        &self,
        sown: NaiveDate,
        moved: NaiveDate,
        harvests: &[NaiveDate],
    ) -> Vec<f64> {
        let library_days = |from: NaiveDate, to: NaiveDate| days_between(from, to) as f64 / self.here.pace;
        let in_plug = library_days(sown, moved).min(self.full_plug());
        // What the plant has grown since the day below, as the age of one that was never cut.
        let (mut since, mut age, mut pause, mut floor, mut ceiling) =
            (moved, in_plug, 0.0, 0.0, f64::INFINITY);
        let mut pace_after = 1.0;
        let mut all = Vec::new();
        for (number, day) in harvests.iter().enumerate() {
            age += pace_after * (library_days(since, *day) - pause).max(0.0);
            let grams = self.curve(age).min(ceiling).max(floor);
            all.push(grams);
            let Some(again) = &self.crop.regrowth else { break };
            let Some(strength) = again.strength.value.get(number) else { break };
            floor = grams * (1.0 - again.taken.value);
            (since, age, pause) = (*day, self.age_of(floor), again.lag.value);
            (pace_after, ceiling) = (again.vigour.value, strength * self.curve(f64::MAX));
        }
        all
    }

    /// Library days until a plug stops growing.
    fn full_plug(&self) -> f64 {
        let width = self.site.nursery.cell_cm;
        self.age_of(PLUG_GRAMS_PER_CM3 * width * width * width).max(0.0)
    }

    /// Age at which an uncut plant comes to weigh so much, found by halving; the last point's where it never does.
    fn age_of(&self, grams: f64) -> f64 {
        let last = self.crop.growth.value.points().last().map_or(0.0, |(day, _)| f64::from(day));
        let (mut young, mut old) = (-200.0, last);
        for _ in 0..100 {
            let middle = f64::midpoint(young, old);
            if self.curve(middle) < grams { young = middle } else { old = middle }
        }
        old
    }

    /// Fresh grams at a library age: between two points the logarithm rises evenly, before the first one at the rate of
    /// seedlings, after the last one nothing changes.
    fn curve(&self, age: f64) -> f64 {
        let points: Vec<(f64, f64)> =
            self.crop.growth.value.points().map(|(day, mass)| (f64::from(day), mass.grams().ln())).collect();
        let (Some(first), Some(last)) = (points.first(), points.last()) else { return 0.0 };
        if age <= first.0 {
            return (first.1 - SEEDLING_RATE * (first.0 - age)).exp();
        }
        let between = points.windows(2).find(|pair| age < pair[1].0);
        let log = between.map_or(last.1, |pair| {
            pair[0].1 + (pair[1].1 - pair[0].1) * (age - pair[0].0) / (pair[1].0 - pair[0].0)
        });
        log.exp()
    }

    /// Harvested mass here against the library's.
    pub(super) fn yield_factor(&self) -> f64 {
        self.here.yield_factor
    }

    /// Share of the leaf a harvest takes.
    pub(super) fn taken(&self, way: Way) -> f64 {
        match (way, &self.crop.regrowth) {
            (Way::Cut, Some(again)) => again.taken.value,
            (Way::Cut, None) | (Way::WholeHead, _) => 1.0,
        }
    }
}
