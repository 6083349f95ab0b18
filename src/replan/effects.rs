//! What makes the mass of a crop at a site differ from its figures: what is peculiar to the site, to the crop as this grower has
//! it, and to the crop at that site. As logarithms they add up ([`crate::domain::pooling`]).

use crate::domain::ids::{CropId, SiteId};
use crate::domain::pooling::Observation;
use crate::domain::term::Term;

/// Standard deviation of what is peculiar to a site. Batches of one variety, planted on one day under six ways to run a
/// glasshouse, differed by 19 to 29 % (the experiment named at [`crate::domain::crop::SEEDLING_RATE`]).
const OF_SITE: f64 = 0.3;
/// The same for a crop as this grower has it, seed and season included (from memory).
const OF_CROP: f64 = 0.2;
/// And for the crop at one site, beside both (from memory).
const OF_CROP_AT_SITE: f64 = 0.15;
/// All three.
pub(super) const OF_MASS: [f64; 3] = [OF_SITE, OF_CROP, OF_CROP_AT_SITE];

/// A crop at a site, by their places in the term: site first.
pub(super) type Place = (usize, usize);

/// Where effects stand among all: those of the sites of a term, then of its crops, then of each crop at each site.
#[derive(Debug, Clone, Copy)]
pub(super) struct Layout {
    sites: usize,
    crops: usize,
}

impl Layout {
    pub(super) fn of(term: &Term) -> Self {
        Self { sites: term.sites.len(), crops: term.crops.len() }
    }

    /// How many there are.
    pub(super) fn count(self) -> usize {
        self.sites + self.crops + self.sites * self.crops
    }

    /// Numbers of those that a crop at a site has.
    pub(super) fn at(self, (site, crop): Place) -> [(usize, f64); 3] {
        let at_site = self.sites + self.crops + site * self.crops + crop;
        [site, self.sites + crop, at_site].map(|effect| (effect, 1.0))
    }

    /// Variances of all, from the standard deviations of those of sites, of crops and of crops at sites.
    pub(super) fn variances(self, deviations: [f64; 3]) -> Vec<f64> {
        let counts = [self.sites, self.crops, self.sites * self.crops];
        let each = deviations.into_iter().zip(counts);
        each.flat_map(|(deviation, count)| vec![deviation.powi(2); count]).collect()
    }
}

/// The place of a crop at a site of the term.
pub(super) fn place(term: &Term, site: &SiteId, crop: &CropId) -> Option<Place> {
    let site = term.sites.iter().position(|own| own.id == *site);
    site.zip(term.crops.iter().position(|wanted| wanted.crop.id == *crop))
}

/// Every crop at every site.
pub(super) fn places(term: &Term) -> impl Iterator<Item = (Place, &SiteId, &CropId)> {
    term.sites.iter().enumerate().flat_map(|(site, here)| {
        let crops = term.crops.iter().enumerate();
        crops.map(move |(crop, wanted)| ((site, crop), &here.id, &wanted.crop.id))
    })
}

/// A mass that is known from earlier terms, but for so much, as an observation of what makes it, of which so much is supposed
/// otherwise; `None` if that says nothing.
pub(super) fn as_if_seen(known: f64, supposed: f64, effects: Vec<(usize, f64)>) -> Option<Observation> {
    let precision = known.powi(-2) - supposed.powi(-2);
    (precision > 0.0).then(|| Observation { effects, value: 0.0, variance: precision.recip() })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::learned::NOT_KNOWN;

    #[test]
    fn what_is_not_known_is_what_is_supposed_of_site_and_crop_together() {
        let together = OF_MASS.map(|deviation| deviation.powi(2)).iter().sum::<f64>().sqrt();
        assert!((together - NOT_KNOWN).abs() < 0.005, "{together}");
    }
}
