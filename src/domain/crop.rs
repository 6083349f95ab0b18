//! The crop library's entries: figures from seed to fridge, each with where it comes from.

mod evidence;

pub use evidence::Deciding;

use super::chance;
use super::ids::CropId;
use super::units::{Length, Mass, Temperature};
use std::fmt;

/// Where a figure comes from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Source {
    /// A published work, by its title or official number, as printed in the crop file.
    Published(String),
    /// What growers do, without a source.
    CommonPractice,
    /// Remembered, not looked up.
    FromMemory,
    /// What this grower recorded.
    OwnRecords,
}

impl fmt::Display for Source {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Published(work) => f.pad(work),
            Self::CommonPractice => f.pad("common practice"),
            Self::FromMemory => f.pad("from memory"),
            Self::OwnRecords => f.pad("own records"),
        }
    }
}

/// A figure, how far it may be off and where it comes from.
#[derive(Debug, Clone, PartialEq)]
pub struct Figure<T> {
    /// The figure a plan counts on.
    pub value: T,
    /// What it may be in truth, the value included: from a poor batch or grower to a good one. Stretches of days and ranges
    /// tell this themselves and have none.
    pub spread: Option<Limits<T>>,
    /// Its source.
    pub source: Source,
}

/// Days, least, usual and most: `min <= usual <= max`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct DaySpan {
    /// Fewest days.
    pub min: u32,
    /// Days a plan counts on.
    pub usual: u32,
    /// Most days.
    pub max: u32,
}

/// A closed range of a measured quantity, `low <= high`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits<T> {
    /// Lower end.
    pub low: T,
    /// Upper end.
    pub high: T,
}

impl<T: PartialOrd> Limits<T> {
    /// Whether `value` lies between the ends, ends included.
    pub fn hold(&self, value: &T) -> bool {
        self.low <= *value && *value <= self.high
    }
}

/// Fresh mass of one plant (or of the clump in one plug) against its age.
///
/// Between points the mass grows at an even relative rate, the usual way to read masses on two days (as in textbooks of
/// plant growth analysis); before the first point at [`SEEDLING_RATE`]. After the last point it stays, because plants held
/// past maturity gain little and coarsen.
#[derive(Debug, Clone, PartialEq)]
pub struct GrowthCurve {
    points: Vec<(u32, f64)>,
}

/// Relative growth rate of seedlings, a day: butterhead lettuce between the 5th and the 12th day after planting out
/// weighed 1.8 g and 14.3 g on average, in the reference compartment of the first experiment of the 3rd International
/// Autonomous Greenhouse Challenge, 2022 (open data); `ln(14.3 / 1.8) / 7`, rounded.
pub const SEEDLING_RATE: f64 = 0.27;

/// Why points do not make a growth curve.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum CurveError {
    /// No point at all.
    #[error("a growth curve needs at least one point")]
    Empty,
    /// The ages do not rise.
    #[error("the ages must rise from point to point")]
    AgesNotRising,
    /// A plant cannot lose mass, weigh nothing or weigh more than 5 kg.
    #[error("the masses must be above 0 g, at most 5 kg, and never fall")]
    MassFalling,
}

impl GrowthCurve {
    /// A curve through `(age in days from sowing, mass of one plant)`.
    ///
    /// # Errors
    /// If there is no point, ages do not rise, or masses fall, are nil or beyond 5 kg.
    pub fn new(points: &[(u32, Mass)]) -> Result<Self, CurveError> {
        let points: Vec<(u32, f64)> = points.iter().map(|(age, mass)| (*age, mass.grams())).collect();
        let Some(first) = points.first() else {
            return Err(CurveError::Empty);
        };
        if first.0 == 0 || points.windows(2).any(|pair| pair[0].0 >= pair[1].0) {
            return Err(CurveError::AgesNotRising);
        }
        let sound = |grams: f64| grams > 0.0 && grams <= 5000.0;
        if points.iter().any(|point| !sound(point.1)) || points.windows(2).any(|pair| pair[0].1 > pair[1].1) {
            return Err(CurveError::MassFalling);
        }
        Ok(Self { points })
    }

    /// Grams of one plant at an age in days (fractions occur where a site's pace is not 1). Above 0 at any age.
    pub fn grams_at(&self, age: f64) -> f64 {
        let after = self.points.partition_point(|(day, _)| f64::from(*day) < age);
        match (after.checked_sub(1).map(|before| self.points[before]), self.points.get(after)) {
            (Some((from, light)), Some((to, heavy))) => {
                let share = (age - f64::from(from)) / f64::from(to - from);
                light * (heavy / light).powf(share)
            }
            (None, Some((first, grams))) => grams * (SEEDLING_RATE * (age - f64::from(*first))).exp(),
            (Some((_, last)), None) => last,
            (None, None) => 0.0,
        }
    }

    /// The youngest age, in days, at which a plant weighs so many grams; below 0 for less than a seedling ever weighs, and
    /// the age of the last point for more than the curve reaches.
    pub fn age_at(&self, grams: f64) -> f64 {
        let after = self.points.partition_point(|(_, mass)| *mass < grams);
        match (after.checked_sub(1).map(|before| self.points[before]), self.points.get(after)) {
            (Some((from, light)), Some((to, heavy))) => {
                f64::from(from) + f64::from(to - from) * (grams / light).ln() / (heavy / light).ln()
            }
            (None, Some((first, mass))) => f64::from(*first) + (grams / mass).ln() / SEEDLING_RATE,
            (Some((last, _)), None) => f64::from(last),
            (None, None) => 0.0,
        }
    }

    /// Grams at the last point, the most a plant weighs.
    pub fn full_grams(&self) -> f64 {
        self.points.last().map_or(0.0, |point| point.1)
    }

    /// The points, by rising age.
    pub fn points(&self) -> impl Iterator<Item = (u32, Mass)> + '_ {
        self.points.iter().map(|&(age, grams)| (age, Mass::from_grams(grams)))
    }
}

/// How a crop grows again after a cut; [`super::growth`] has the law.
#[derive(Debug, Clone, PartialEq)]
pub struct Regrowth {
    /// Days between two cuts.
    pub interval: Figure<DaySpan>,
    /// Harvests in all, the first and the last one included; at least 2.
    pub harvests: Figure<u32>,
    /// Days from sowing until which a plant that was cut is worth harvesting again, if that is known: later it has bolted,
    /// coarsened or worn out.
    pub until: Option<Figure<u32>>,
    /// Share of the standing leaf taken at a cut that leaves the plant to regrow, 0.1 to 0.95.
    pub taken: Figure<f64>,
    /// Days after a cut before it grows on, 0 to 14.
    pub lag: Figure<f64>,
    /// How fast it then grows against a plant of the same mass that was never cut, 0.5 to 1.
    pub vigour: Figure<f64>,
    /// What the second, third ... growth reaches at most, as a share of the curve's end: each above 0 and at most 1;
    /// `harvests - 1` numbers, never rising.
    pub strength: Figure<Vec<f64>>,
}

/// How far plants and batches differ from what a crop's figures say.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Variation {
    /// Coefficient of variation of mass between the plants of one batch, 0 to 1.
    pub between_plants: f64,
    /// Coefficient of variation of the mean mass between batches, 0 to 1.
    pub between_batches: f64,
    /// Standard deviation, between batches, of the days to a given mass.
    pub days: f64,
}

/// Most days after the cut on which cut leaves may be served. Ready-to-eat food that has to be kept cold is used within
/// seven days, the day of preparation being the first (US Food Code, 3-501.17), and cut leafy greens count as such food.
pub const CUT_LEAVES_KEEP: u32 = 6;

/// A crop of the library.
///
/// "Plant" means whatever stands in one net cup: a single head, or the clump from one plug.
#[derive(Debug, Clone, PartialEq)]
pub struct Crop {
    /// Stem of its file name.
    pub id: CropId,
    /// What growers call it.
    pub name: String,
    /// What else growers call it; understood wherever its name is typed.
    pub also_called: Vec<String>,
    /// Botanical name.
    pub scientific_name: String,
    /// Broad kind, such as lettuce, brassica leaf, herb; shown in lists.
    pub kind: String,
    /// Share of seeds that come up, above 0 and at most 1.
    pub germination: Figure<f64>,
    /// Seeds laid in one plug, 1 to 60.
    pub seeds_per_plug: Figure<u32>,
    /// Seeds in one gram.
    pub seeds_per_gram: Figure<f64>,
    /// Days until seedlings show.
    pub emergence: Figure<DaySpan>,
    /// Days from sowing to transplanting.
    pub nursery: Figure<DaySpan>,
    /// Share of plugs with a seedling that are fit to transplant, above 0 and at most 1.
    pub nursery_survival: Figure<f64>,
    /// Share of transplants that reach harvest, above 0 and at most 1.
    pub tank_survival: Figure<f64>,
    /// Fewest days in a tank before a first harvest, for plants that came out of plugs.
    pub tank_days: Figure<u32>,
    /// Days from sowing to a first cut, for crops that are cut young.
    pub first_cut: Option<Figure<DaySpan>>,
    /// Days from sowing to the whole head or bunch, for crops grown to size.
    pub whole_head: Option<Figure<DaySpan>>,
    /// Days a plant may stand past its usual day before it bolts, coarsens or turns bitter.
    pub hold: Figure<DaySpan>,
    /// Fresh mass against age.
    pub growth: Figure<GrowthCurve>,
    /// How far plants and batches differ from it.
    pub variation: Figure<Variation>,
    /// Present if the crop grows again after a cut.
    pub regrowth: Option<Regrowth>,
    /// Distance between plants at full size.
    pub spacing: Figure<Length>,
    /// pH of the nutrient solution.
    pub ph: Figure<Limits<f64>>,
    /// Electrical conductivity of the nutrient solution, mS/cm.
    pub ec: Figure<Limits<f64>>,
    /// Air temperature.
    pub air: Figure<Limits<Temperature>>,
    /// Litres of solution a full-grown plant uses in a day.
    pub water_a_day: Figure<f64>,
    /// Days after harvest during which whole heads or bunches may be served.
    pub shelf_life: Figure<u32>,
    /// The same for cut leaves; at most [`CUT_LEAVES_KEEP`].
    pub cut_shelf_life: Figure<u32>,
    /// Storage temperature the shelf life is meant for.
    pub storage: Figure<Temperature>,
    /// Share of the harvested mass that is ready to eat after trimming, above 0 and at most 1.
    pub ready_to_eat: Figure<f64>,
    /// Grams of a US cup (236.6 ml) of its loose raw leaves, where known. Leaves lie more or less loosely, so this may be far off.
    pub cup_grams: Option<Figure<f64>>,
    /// How it is sown straight into the cups of a tank, for crops that allow it.
    pub in_cups: Option<Figure<String>>,
    /// What to know about bolting.
    pub bolting: Option<Figure<String>>,
    /// What to know about handling.
    pub handling: Option<Figure<String>>,
    /// Caution for people with allergies, where the crop is a known allergen.
    pub allergy: Option<Figure<String>>,
}

impl Crop {
    /// Chance that one plug gives a plant fit to transplant:
    /// `(1 - (1 - germination)^seeds) * nursery survival`, seeds coming up independently.
    pub fn plants_per_plug(&self) -> f64 {
        let none = (1.0 - self.germination.value).powi(self.seeds_per_plug.value as i32);
        (1.0 - none) * self.nursery_survival.value
    }

    /// Plugs to sow so that `plants` can be expected at transplanting, rounded up once at the end; more of them if `sure`,
    /// the chance promised of serving days, is above 0: then fewer come in half as many cases as a day may fail in, as each
    /// day lives on several batches, and seed is cheap.
    pub fn plugs_for(&self, plants: u32, sure: f64) -> u32 {
        // Without the small allowance, 50 plants at 0.8 could become 63 plugs by a rounding error.
        let expected = (f64::from(plants) / self.plants_per_plug() - 1e-9).ceil().max(0.0) as u32;
        if sure > 0.0 { self.plugs_for_sure(plants, sure, expected) } else { expected }
    }

    /// For no plant up to so many: [`Self::plugs_for`] them with a chance of `sure`, and without one.
    pub fn plugs_up_to(&self, plants: u32, sure: f64) -> Vec<(u32, u32)> {
        let mut all = 0;
        let one_more = |plants: u32| {
            let expected = self.plugs_for(plants, 0.0);
            // Never fewer than for one plant fewer, where the search for them can begin.
            all = if sure > 0.0 { self.plugs_for_sure(plants, sure, all.max(expected)) } else { expected };
            (all, expected)
        };
        (0..=plants).map(one_more).collect()
    }

    fn plugs_for_sure(&self, plants: u32, sure: f64, fewest: u32) -> u32 {
        chance::plugs_for_sure(plants, self.plants_per_plug(), f64::midpoint(1.0, sure), fewest)
    }

    /// Days from sowing to what the crop is grown for, whole heads if it gives any: at least 1.
    pub fn usual_days(&self) -> u32 {
        let days = self.whole_head.as_ref().or(self.first_cut.as_ref());
        days.map_or(1, |days| days.value.usual.max(1))
    }

    /// Whether the crop stands well in a solution of this pH and EC.
    pub fn tolerates(&self, ph: f64, ec: f64) -> bool {
        self.ph.value.hold(&ph) && self.ec.value.hold(&ec)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn curve(points: &[(u32, f64)]) -> Result<GrowthCurve, CurveError> {
        GrowthCurve::new(&points.iter().map(|(age, g)| (*age, Mass::from_grams(*g))).collect::<Vec<_>>())
    }

    #[test]
    fn curve_runs_through_its_points_and_stays_level_after_them() {
        let curve = curve(&[(20, 20.0), (30, 80.0), (40, 160.0)]).unwrap();
        let seedling = 20.0 / (10.0 * SEEDLING_RATE).exp();
        let ages = [(10.0, seedling), (20.0, 20.0), (25.0, 40.0), (30.0, 80.0), (40.0, 160.0), (60.0, 160.0)];
        for (age, grams) in ages {
            assert!((curve.grams_at(age) - grams).abs() < 1e-9, "{age}");
            assert!((curve.age_at(grams) - age.min(40.0)).abs() < 1e-9, "{grams}");
        }
        assert!((curve.full_grams() - 160.0).abs() < 1e-9);
    }

    /// Butterhead lettuce weighed 83.8 g on day 26 and 158.9 g on day 33 after planting out (the experiment named at
    /// [`SEEDLING_RATE`]); 142 g, the head of the Cornell handbooks, lie on day 32 between them.
    #[test]
    fn masses_between_two_days_are_read_as_growers_read_them() {
        let curve = curve(&[(26, 83.8), (33, 158.9)]).unwrap();
        assert!((curve.age_at(142.0) - 31.8).abs() < 0.1, "{}", curve.age_at(142.0));
    }

    #[test]
    fn bad_curves_are_refused() {
        assert_eq!(curve(&[]), Err(CurveError::Empty));
        assert_eq!(curve(&[(0, 1.0)]), Err(CurveError::AgesNotRising));
        assert_eq!(curve(&[(10, 1.0), (10, 2.0)]), Err(CurveError::AgesNotRising));
        assert_eq!(curve(&[(10, 2.0), (20, 1.0)]), Err(CurveError::MassFalling));
    }
}
