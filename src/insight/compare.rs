//! Ways to grow crops, side by side, each on the usual days of its crop at a site.
//!
//! What plants weigh, what is lost and what is trimmed off are a plan's own figures ([`Growing`], [`Origin`]). A hole counts as in
//! use from the day a plant comes into it until it has rested after the last harvest, so that grams for a hole and day are what a
//! hole gives on average if it is planted again at once: the rate at which plants leave is their number over the days they
//! stay (J. D. C. Little, Operations Research 9, 1961, pp. 383-387).
//!
//! Grams spread as in terms that are played ([`super::odds`]), but for tanks in trouble, which befall all ways alike: over batches
//! of [`PLANTS`] that each stand in one tank and are harvested on the days said. Days spread over the pace of batches: how much
//! sooner or later one weighs what is planned. Both are told apart, because who waits for a slow batch gets its grams.

mod masses;
#[cfg(test)]
mod tests;

use crate::domain::chance;
use crate::domain::compare::{Comparison, Estimate, Grown, Measure, Misfit, Style, best};
use crate::domain::crop::Crop;
use crate::domain::growth::{DayWindow, Growing, Stand, Way};
use crate::domain::lid::Room;
use crate::domain::luck::{Pacing, Spread};
use crate::domain::plan::Origin;
use crate::domain::site::{Site, Tank};
use crate::domain::term::{SowWish, Term, WayWish};
use masses::Masses;

/// Plants of the batches over which grams spread: a small tank's half. Twice or half as many change the spread little,
/// because most of it is shared by all plants of a batch or a tank.
pub const PLANTS: u32 = 12;

/// Share of batches below the low end of what is told, and above the high end.
const OUTSIDE: f64 = 0.1;

/// Compares the ways of one crop, or the best ways of several, at each of some sites. Sites where everything comes to the
/// same are told together, in the order of the first of them.
pub fn compare(term: &Term, sites: &[&Site], crops: &[&Crop]) -> Vec<Comparison> {
    let mut found: Vec<Comparison> = Vec::new();
    for site in sites {
        let here = at(term, site, crops);
        match found.iter_mut().find(|other| (&other.ways, &other.misfits) == (&here.ways, &here.misfits)) {
            Some(alike) => alike.sites.extend(here.sites),
            None => found.push(here),
        }
    }
    found
}

fn at(term: &Term, site: &Site, crops: &[&Crop]) -> Comparison {
    let mut here = Comparison { sites: vec![site.id.clone()], ways: Vec::new(), misfits: Vec::new() };
    for crop in crops {
        let (mut ways, misfit) = ways(term, site, crop);
        if crops.len() > 1 {
            ways.retain(|way| is_asked_for(term, way));
        }
        here.ways.extend(if crops.len() > 1 { worth_telling(ways) } else { ways });
        here.misfits.extend(misfit.map(|misfit| (crop.id.clone(), misfit)));
    }
    here
}

/// Whether the term leaves plans the choice of a way: between two crops nobody asks about others.
fn is_asked_for(term: &Term, way: &Grown) -> bool {
    match term.crop(&way.crop).map(|wanted| wanted.way) {
        Some(WayWish::WholeHead) => way.style == Style::Pulled,
        Some(WayWish::Cut) => way.style != Style::Pulled,
        Some(WayWish::Either) | None => true,
    }
}

/// Ways that are the best of all by some measure.
fn worth_telling(ways: Vec<Grown>) -> Vec<Grown> {
    let winners = Measure::ALL.map(|measure| best(&ways, measure).map(|(way, _)| way.style));
    ways.into_iter().filter(|way| winners.contains(&Some(way.style))).collect()
}

/// All ways to grow a crop at a site, pulling first.
fn ways(term: &Term, site: &Site, crop: &Crop) -> (Vec<Grown>, Option<Misfit>) {
    let Some((holes, misfit)) = room(site, crop) else { return (Vec::new(), Some(Misfit::Room)) };
    let place = Place::new(term, site, crop, holes);
    let styles = std::iter::once(Style::Pulled).chain((1..place.growing.harvests()).map(Style::Cut));
    let ways: Vec<Grown> = styles.filter_map(|style| place.grown(style)).collect();
    let misfit = if ways.is_empty() { Some(Misfit::Days) } else { misfit };
    (ways, misfit)
}

/// Holes a plant takes at a site: the fewest of all tanks, of those with a solution that suits it if there are any.
fn room(site: &Site, crop: &Crop) -> Option<(u32, Option<Misfit>)> {
    let spacing = crop.spacing.value.cm();
    let fewest = |suits: &dyn Fn(&&Tank) -> bool| {
        let lids = site.tanks.iter().filter(suits).map(|tank| tank.lid).filter(|lid| lid.has_place(spacing));
        lids.filter_map(|lid| lid.room_for(spacing)).min().map(Room::holes)
    };
    let suited = fewest(&|tank| crop.tolerates(tank.ph, tank.ec)).map(|holes| (holes, None));
    suited.or_else(|| Some((fewest(&|_| true)?, Some(Misfit::Solution))))
}

/// A crop at a site, and what it is reckoned by there.
struct Place<'t> {
    term: &'t Term,
    growing: Growing<'t>,
    origin: Origin,
    holes: u32,
    spread: Spread,
}

/// When plants are moved and harvested, in days from sowing.
struct Days {
    moved: u32,
    /// At least one.
    harvests: Vec<u32>,
}

impl Days {
    fn first(&self) -> u32 {
        self.harvests.first().copied().unwrap_or(0)
    }

    fn last(&self) -> u32 {
        self.harvests.last().copied().unwrap_or(0)
    }

    /// Days between each harvest and the next.
    fn intervals(&self) -> impl Iterator<Item = u32> {
        self.harvests.windows(2).map(|pair| pair[1] - pair[0])
    }
}

/// One harvest of a plant put into the tank.
struct Picked<'c> {
    grams: f64,
    pacing: Pacing<'c>,
}

impl<'t> Place<'t> {
    fn new(term: &'t Term, site: &Site, crop: &'t Crop, holes: u32) -> Self {
        let sow = term.crop(&crop.id).map_or(SowWish::Nursery, |wanted| wanted.sow);
        let origin = if sow == SowWish::InCups { Origin::InCups } else { Origin::Sown };
        Self { term, growing: Growing::new(crop, site), origin, holes, spread: Spread::of(crop, origin) }
    }

    fn crop(&self) -> &'t Crop {
        self.growing.crop
    }

    /// The crop grown in one way, if its usual days allow it.
    fn grown(&self, style: Style) -> Option<Grown> {
        let days = self.days(style)?;
        let picked = self.picked(&days);
        let grams = self.spread_grams(&picked, 0.0);
        let in_tank = days.last() - days.moved;
        let hole_days = self.holes * (in_tank + self.term.rules.turnover_days);
        let minutes = self.minutes(days.harvests.len());
        let keeps = self.keeps(days.harvests.len());
        let harvesting = self.late(days.last() - days.first());
        Some(Grown {
            crop: self.crop().id.clone(),
            style,
            holes: self.holes,
            nursery_days: self.late(days.moved),
            tank_days: self.late(in_tank),
            first_greens_days: self.late(days.first()),
            greens_days: harvesting.plus(f64::from(keeps)),
            without_days: days.intervals().map(|interval| interval.saturating_sub(self.keeps(2))).sum(),
            hole_day_grams: grams.times(1.0 / f64::from(hole_days.max(1))),
            seed_grams: self.seed_grams(&picked),
            minute_grams: (minutes > 0.0).then(|| grams.times(1.0 / minutes)),
            harvest_grams: picked.iter().map(|harvest| harvest.grams).collect(),
            harvest_days: days.harvests,
        })
    }

    /// Days after the last of so many harvests during which its greens may be served.
    fn keeps(&self, harvests: usize) -> u32 {
        self.crop().keeps(Way::WholeHead, harvests as u32).value
    }

    fn days(&self, style: Style) -> Option<Days> {
        let moved = self.moved();
        let crop = self.crop();
        let (window, usual, cuts) = match style {
            Style::Pulled => (self.growing.pull_window()?, crop.whole_head.as_ref(), 0),
            Style::Cut(cuts) => (self.growing.cut_window()?, None, cuts),
        };
        let usual = usual.or(crop.first_cut.as_ref())?.value.usual;
        let rooted = if self.origin == Origin::InCups { 0 } else { moved + self.growing.tank_days() };
        let first = self.usual_in(usual, &window).max(rooted);
        let interval = if cuts == 0 { 0 } else { self.interval(first, cuts)? };
        let harvests = (0..=cuts).map(|number| first + number * interval).collect();
        window.contains(&first).then_some(Days { moved, harvests })
    }

    /// Age at which plants come into their tank.
    fn moved(&self) -> u32 {
        match self.origin {
            Origin::InCups => 0,
            _ => self.usual_in(self.crop().nursery.value.usual, &self.growing.nursery_window()),
        }
    }

    /// Usual days between so many cuts and the pull, or as many fewer as it takes to be done before the plants are too old;
    /// `None` if they do not grow again so fast.
    fn interval(&self, first: u32, cuts: u32) -> Option<u32> {
        let window = self.growing.regrowth_window()?;
        let usual = self.usual_in(self.crop().regrowth.as_ref()?.interval.value.usual, &window);
        let left = self.growing.last_age().map_or(usual, |last| last.saturating_sub(first) / cuts);
        Some(usual.min(left)).filter(|interval| window.contains(interval))
    }

    /// Library days as they are usual here, within a window.
    fn usual_in(&self, days: u32, window: &DayWindow) -> u32 {
        let here = (f64::from(days) * self.growing.pace).round() as u32;
        here.clamp(*window.start(), *window.end())
    }

    /// What a plant put into the tank gives at each harvest.
    fn picked(&self, days: &Days) -> Vec<Picked<'t>> {
        let mut stand = self.stand(days);
        let mut picked = vec![self.pick(stand, days.first(), days.harvests.len() == 1, true)];
        for (number, interval) in (2..).zip(days.intervals()) {
            stand = self.growing.later(self.growing.cut(stand), interval);
            picked.push(self.pick(stand, interval, number == days.harvests.len(), false));
        }
        picked
    }

    /// What stands in a plant at its first harvest.
    fn stand(&self, days: &Days) -> Stand {
        match self.origin {
            Origin::InCups => self.growing.never_held(days.first()),
            _ => self.growing.later(self.growing.planted(days.moved), days.first() - days.moved),
        }
    }

    fn pick(&self, stand: Stand, days: u32, is_last: bool, is_first: bool) -> Picked<'t> {
        let way = if is_last { Way::WholeHead } else { Way::Cut };
        let standing = self.growing.grams(stand);
        Picked {
            grams: self.growing.expected(standing, way) * self.origin.growing(self.crop()),
            pacing: Pacing::new(&self.growing, (days, is_first), standing),
        }
    }

    /// Minutes of work for a plant put into the tank, its share of plugs that come to nothing included.
    fn minutes(&self, harvests: usize) -> f64 {
        let minutes = self.term.rules.minutes;
        let plugs = 1.0 / self.origin.plants_per_plug(self.crop());
        minutes.sow * plugs + minutes.transplant + minutes.harvest * harvests as f64
    }

    fn seed_grams(&self, picked: &[Picked<'_>]) -> Estimate {
        let plants = self.origin.plants_per_plug(self.crop());
        // Of plugs each of which gives a plant or none; variance of a binomial share, against its mean.
        let coming_up = (1.0 - plants) / f64::from(PLANTS);
        self.spread_grams(picked, coming_up).times(plants / f64::from(self.crop().seeds_per_plug.value))
    }

    /// Grams of all harvests of a plant put into the tank, with one variance more against their mean.
    fn spread_grams(&self, picked: &[Picked<'_>], more: f64) -> Estimate {
        let harvests: Vec<(f64, &Pacing<'_>)> =
            picked.iter().map(|harvest| (harvest.grams, &harvest.pacing)).collect();
        let Spread { pace, tank, alone, .. } = self.spread;
        // Slow batches weigh less; what is left of the spread between batches has other causes.
        let of_pace = harvests.first().map_or(0.0, |(_, growth)| growth.of_pace(pace));
        let between = self.crop().variation.value.between_batches;
        let batch = (between.powi(2) - of_pace.powi(2)).max(0.0);
        let masses = Masses::new(&harvests, pace, &[batch, tank.powi(2), alone / f64::from(PLANTS), more]);
        Estimate {
            usual: harvests.iter().map(|(grams, _)| grams).sum(),
            low: masses.quantile(OUTSIDE),
            high: masses.quantile(1.0 - OUTSIDE),
        }
    }

    /// Days, and how much sooner or later they are over for fast and slow batches.
    fn late(&self, days: u32) -> Estimate {
        let end = chance::deviations(1.0 - OUTSIDE) * self.spread.pace;
        let days = f64::from(days);
        Estimate { usual: days, low: days * (1.0 - end).max(0.0), high: days * (1.0 + end) }
    }
}
