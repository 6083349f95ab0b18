//! Which effects harvests are the sum of, and how wide they are before anything is seen.

use crate::domain::crop::Crop;
use crate::domain::term::Term;
use crate::replan::effects::{Layout, OF_MASS, Place};

/// Standard deviation of the pace of a site, of a crop as this grower has it, and of a crop at one site, beside both (from memory:
/// batches of one crop differ by [`crate::domain::crop::Variation::days`], a twentieth of their days).
const OF_PACE: [f64; 3] = [0.06, 0.06, 0.04];
/// Standard deviation of how well a crop grows again, as a share (from memory).
const OF_REGROWTH: f64 = 0.35;
/// Factors by which standard deviations may be larger than supposed: what was weighed tells which fits best.
const SCALES: [f64; 4] = [1.0, 1.4, 2.0, 2.8];
/// By how much a pace differs to see what that changes.
const LITTLE: f64 = 0.02;

/// Where effects stand among all: those of masses, those of paces, regrowth by crop, batches.
#[derive(Debug, Clone, Copy)]
pub(super) struct Numbers {
    masses: Layout,
    crops: usize,
}

impl Numbers {
    pub(super) fn of(term: &Term) -> Self {
        Self { masses: Layout::of(term), crops: term.crops.len() }
    }

    pub(super) fn yields(self, place: Place) -> [(usize, f64); 3] {
        self.masses.at(place)
    }

    pub(super) fn paces(self, place: Place) -> [(usize, f64); 3] {
        self.yields(place).map(|(effect, times)| (self.masses.count() + effect, times))
    }

    /// What makes the mass of a crop at a site on its usual day.
    pub(super) fn mass(self, place: Place, own: &Crop) -> [(usize, f64); 6] {
        let curve = &own.growth.value;
        let at = |pace: f64| curve.grams_at(f64::from(own.usual_days()) / pace);
        let slope = (at(1.0 + LITTLE) / at(1.0 - LITTLE)).ln() / (2.0 * LITTLE);
        let [site, crop, both] = self.yields(place);
        let [site_pace, crop_pace, both_pace] = self.paces(place).map(|(effect, _)| (effect, slope));
        [site, crop, both, site_pace, crop_pace, both_pace]
    }

    pub(super) fn regrowth(self, crop: usize) -> (usize, f64) {
        (2 * self.masses.count() + crop, 1.0)
    }

    pub(super) fn batch(self, number: usize) -> (usize, f64) {
        (2 * self.masses.count() + self.crops + number, 1.0)
    }

    /// Variances of all effects but those of batches, before anything is seen.
    pub(super) fn variances(self, scale: Scale) -> Vec<f64> {
        let times = |deviation: f64| scale.masses * deviation;
        let masses = self.masses.variances(OF_MASS.map(times));
        let paces = self.masses.variances(OF_PACE.map(times));
        let regrowth = vec![(scale.regrowth * OF_REGROWTH).powi(2); self.crops];
        [masses, paces, regrowth].concat()
    }
}

/// How many times as wide as supposed sites and crops differ, and how crops regrow: one says nothing of the other.
#[derive(Debug, Clone, Copy)]
pub(super) struct Scale {
    masses: f64,
    regrowth: f64,
}

impl Scale {
    pub(super) const SUPPOSED: Self = Self { masses: 1.0, regrowth: 1.0 };

    /// All that are tried, the narrowest last.
    pub(super) fn all() -> impl Iterator<Item = Self> {
        let both = SCALES.into_iter().flat_map(|masses| SCALES.map(|regrowth| Self { masses, regrowth }));
        both.rev()
    }
}
