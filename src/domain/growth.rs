//! What stands in a plant on a day: seedling, uncut plant, and a plant that grows again after a cut.
//!
//! This is the one place that says what a crop does at a site. The library's days and masses hold for a site with pace
//! and yield factor 1. A pace of 1.1 stretches every growing duration by a tenth: a plant of 33 days there is as far as
//! one of 30 elsewhere.
//!
//! # The law
//!
//! Let `W(a)` be what a plant weighs at age `a` if it is never cut. One number then says all about a plant: the age of
//! an uncut plant of the same mass, which is by and large a plant with the same leaf area. It rises by a day a day, but
//!
//! - a **plug stops growing** at a ceiling set by its cell, when its roots fill it. Days it is held beyond that are lost
//!   one for one, and after a week of them it is too old to be planted. Trials of seedling age find that the small cell
//!   costs time and not the birthday: crisp lettuce from cells of 10 cm3 was about seven days behind the same from 50 cm3
//!   (T. J. Leme de Lima, master's thesis, Federal University of São Carlos, 2017); in cabbage the pot's width mattered and the age hardly
//!   (`HortScience` 16(3):423, 1981). The ceiling's mass goes with the cell's volume ([`PLUG_GRAMS_PER_CM3`]).
//! - a **cut** that leaves the share `left` puts it back to the age at which an uncut plant weighs `left` of what stood.
//!   For `lag` days it does not grow, then at `vigour` against an uncut plant, and never beyond `strength` of `W`'s end.
//!
//! It follows that a plant regains its old mass after `lag + ln(1 / left) / r` days where it grows at an even relative
//! rate `r` and full vigour, which is textbook growth analysis.

use super::crop::{Crop, DaySpan, Figure, Regrowth};
use super::site::Site;

/// Fresh grams that a plug grows to for each cm3 of its cell: by that, lettuce in the usual cube of 2.5 cm stops at about
/// 4 g, on day 14 to 18 (from memory).
pub const PLUG_GRAMS_PER_CM3: f64 = 0.25;

/// Days that a plug may be held after it stopped growing, and can still be planted.
pub const HELD_DAYS: f64 = 7.0;

/// Share of the days it should have until a harvest after which a plant that grows already may be harvested, so that one that was sown
/// or moved late keeps its day: it weighs less, by the law above, but a light head is better than none (common practice, no source).
pub const YOUNG: f64 = 0.85;

/// The fewest days until a harvest that usually takes `days`, for a plant that grows already ([`YOUNG`]).
#[must_use]
pub fn young(days: u32) -> u32 {
    (f64::from(days) * YOUNG - 1e-9).ceil() as u32
}

/// How greens leave a plant.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Way {
    /// About two thirds of the leaves are taken; the plant stays and grows again.
    Cut,
    /// The plant is pulled, roots off.
    WholeHead,
}

impl Crop {
    /// Days after harvest number `number` during which its greens may be served. What is pulled after a cut counts as cut
    /// leaves.
    pub fn keeps(&self, way: Way, number: u32) -> &Figure<u32> {
        match (way, number) {
            (Way::WholeHead, 1) => &self.shelf_life,
            _ => &self.cut_shelf_life,
        }
    }
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
    /// Library days after which a plug has filled its cell.
    plug_ceiling: f64,
}

/// How far a plant is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stand {
    /// Age of an uncut plant of the same mass, in library days.
    age: f64,
    /// Library days for which it does not grow yet.
    pause: f64,
    /// What the last cut left, in grams; 0 if there was none.
    left: f64,
    /// Cuts taken.
    cuts: u32,
}

impl Stand {
    fn uncut(age: f64) -> Self {
        Self { age, pause: 0.0, left: 0.0, cuts: 0 }
    }

    /// Age of an uncut plant of the same mass, in library days.
    #[must_use]
    pub fn age(&self) -> f64 {
        self.age
    }
}

impl<'a> Growing<'a> {
    /// `crop` as it grows at `site`.
    pub fn new(crop: &'a Crop, site: &Site) -> Self {
        let here = site.crop_here(&crop.id);
        Self::at(crop, here.pace, here.yield_factor, site.nursery.cell_cm)
    }

    /// A crop that takes `pace` times the library's days, yields `yield_factor` times its mass and is raised in cells
    /// `cell_cm` wide.
    pub fn at(crop: &'a Crop, pace: f64, yield_factor: f64, cell_cm: f64) -> Self {
        let plug_ceiling = crop.growth.value.age_at(PLUG_GRAMS_PER_CM3 * cell_cm.powi(3)).max(0.0);
        Self { crop, pace, yield_factor, plug_ceiling }
    }

    /// Ages at which a seedling may be transplanted.
    pub fn nursery_window(&self) -> DayWindow {
        let DaySpan { min, max, .. } = self.crop.nursery.value;
        self.paced(f64::from(min), f64::from(max).min(self.plug_ceiling() + HELD_DAYS))
    }

    /// Days from transplanting to a first harvest, at least.
    pub fn tank_days(&self) -> u32 {
        *self.paced(f64::from(self.crop.tank_days.value), 0.0).start()
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

    /// Age until which a plant that was never cut is at its best: its usual day and the days it usually holds after it.
    pub fn prime(&self) -> Option<u32> {
        let span = self.crop.whole_head.as_ref().or(self.crop.first_cut.as_ref())?.value;
        Some(*self.paced(f64::from(span.min), f64::from(span.usual + self.crop.hold.value.usual)).end())
    }

    /// Days after a cut on which the next harvest may be taken, if the crop regrows.
    pub fn regrowth_window(&self) -> Option<DayWindow> {
        let DaySpan { min, max, .. } = self.crop.regrowth.as_ref()?.interval.value;
        Some(self.paced(f64::from(min), f64::from(max)))
    }

    /// Age up to which a plant that was cut may be harvested again, if there is one.
    pub fn last_age(&self) -> Option<u32> {
        let until = self.crop.regrowth.as_ref()?.until.as_ref()?;
        Some((f64::from(until.value) * self.pace + 1e-9).floor() as u32)
    }

    /// Most harvests one plant gives, pulling included.
    pub fn harvests(&self) -> u32 {
        self.crop.regrowth.as_ref().map_or(1, |regrowth| regrowth.harvests.value)
    }

    /// From the earliest day to the latest, not beyond the usual day plus the time the plant holds.
    fn harvest_window(&self, span: DaySpan) -> DayWindow {
        let last = span.max.min(span.usual + self.crop.hold.value.max);
        self.paced(f64::from(span.min), f64::from(last))
    }

    /// Library days to days here, rounded inwards but never to nothing.
    fn paced(&self, min: f64, max: f64) -> DayWindow {
        let first = (min * self.pace - 1e-9).ceil() as u32;
        let last = (max * self.pace + 1e-9).floor() as u32;
        first..=last.max(first)
    }

    /// Library days after which a plug has filled its cell.
    pub fn plug_ceiling(&self) -> f64 {
        self.plug_ceiling
    }

    /// Whole days lost by a plug that is planted so many days after sowing: those for which its cell was full.
    pub fn held_days(&self, days: u32) -> u32 {
        (f64::from(days) - self.plug_ceiling() * self.pace).max(0.0).round() as u32
    }

    /// A plant that was sown so many days ago and comes into its tank now.
    pub fn planted(&self, days: u32) -> Stand {
        Stand::uncut((f64::from(days) / self.pace).min(self.plug_ceiling()))
    }

    /// A plant that was sown so many days ago and was never held in its plug.
    pub fn never_held(&self, days: u32) -> Stand {
        Stand::uncut(f64::from(days) / self.pace)
    }

    /// The same plant some days later.
    pub fn later(&self, stand: Stand, days: u32) -> Stand {
        let days = f64::from(days) / self.pace;
        let pause = (stand.pause - days).max(0.0);
        let vigour = match &self.crop.regrowth {
            Some(regrowth) if stand.cuts > 0 => regrowth.vigour.value,
            _ => 1.0,
        };
        Stand { age: stand.age + vigour * (days - (stand.pause - pause)), pause, ..stand }
    }

    /// The same plant right after a cut, after `lag`, `vigour` and `taken` of its crop; unchanged for a crop that does not
    /// regrow.
    pub fn cut(&self, stand: Stand) -> Stand {
        let Some(regrowth) = &self.crop.regrowth else { return stand };
        let left = self.grams(stand) * (1.0 - regrowth.taken.value);
        Stand {
            left,
            cuts: stand.cuts + 1,
            pause: regrowth.lag.value,
            age: self.crop.growth.value.age_at(left),
        }
    }

    /// A plant that weighs what an uncut one does at `age` library days, right after its cut number `cuts`.
    pub fn cut_back_to(&self, age: f64, cuts: u32) -> Stand {
        let pause = self.crop.regrowth.as_ref().map_or(0.0, |regrowth| regrowth.lag.value);
        Stand { age, pause, left: self.crop.growth.value.grams_at(age), cuts }
    }

    /// Grams of leaf that stand in a plant.
    pub fn grams(&self, stand: Stand) -> f64 {
        let curve = &self.crop.growth.value;
        let grams = curve.grams_at(stand.age);
        let Some(cut) = stand.cuts.checked_sub(1) else { return grams };
        let strengths = self.crop.regrowth.as_ref().map(|regrowth| regrowth.strength.value.as_slice());
        let strength = strengths.unwrap_or_default().get(cut as usize).copied().unwrap_or(0.0);
        grams.min(strength * curve.full_grams()).max(stand.left)
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
