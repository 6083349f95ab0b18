//! What plants on a path are worth, for choosing what to try.

use super::super::instance::Path;
use super::state::State;

impl State<'_> {
    /// Grams a plant on a path yields in all.
    pub(super) fn worth(&self, candidate: u32, path: &Path) -> f64 {
        let own = &self.instance.candidates[candidate as usize];
        self.instance.grams(own, path).map(|(_, grams)| grams).sum()
    }

    /// Points for a gram on a path: plug and holes.
    pub(super) fn thrift(&self, candidate: u32, path: &Path) -> f64 {
        let own = &self.instance.candidates[candidate as usize];
        let site = &self.instance.net.sites[own.site];
        let weights = &self.instance.net.term.rules.weights;
        let days = site.class_days[usize::from(path.last())] - site.class_days[usize::from(path.moved)];
        let room = self.instance.yields(own).room[usize::from(path.tank)];
        let crop = &site.fields[own.crop].wanted.crop;
        let plug = self.instance.plug_price(own) / own.start.origin.plants_per_plug(crop);
        (plug + weights.hole_day * f64::from(days) * f64::from(room)) / self.worth(candidate, path).max(0.1)
    }

    /// Plants whose first harvest yields so many grams; at least what makes a batch.
    pub(super) fn sized(&self, candidate: u32, path: &Path, grams: f64) -> i32 {
        let own = &self.instance.candidates[candidate as usize];
        let first = self.instance.grams(own, path).next().map_or(0.0, |(_, grams)| grams);
        let plants = (grams / first.max(0.1)).ceil().min(500.0) as i32;
        let smallest = self.instance.net.term.rules.smallest_batch as i32;
        let missing = if self.plants(candidate) > 0 { 1 } else { smallest.max(1) };
        plants.max(missing)
    }
}
