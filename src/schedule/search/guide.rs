//! What the linear program would harvest, as a hint where to look.
//!
//! Its plants need not be whole and its batches are as small as it likes, but which crop, sown when, pays
//! for which serving day it knows well.

use super::super::instance::{Hint, Instance};
use rand::Rng;

/// Hints by serving.
pub(super) struct Guide {
    hints: Vec<Vec<Hint>>,
    /// Running sums of their plants.
    sums: Vec<Vec<f64>>,
}

impl Guide {
    pub(super) fn new(instance: &Instance, hints: &[Hint]) -> Self {
        let mut by_serving = vec![Vec::new(); instance.net.servings.len()];
        for hint in hints {
            let candidate = &instance.candidates[hint.candidate as usize];
            if let Some((first, _)) = instance.yields(candidate).reach(hint.day, hint.pulled) {
                by_serving[first].push(*hint);
            }
        }
        let running = |hints: &Vec<Hint>| {
            let mut sum = 0.0;
            hints
                .iter()
                .map(|hint| {
                    sum += hint.plants;
                    sum
                })
                .collect()
        };
        Self { sums: by_serving.iter().map(running).collect(), hints: by_serving }
    }

    /// A hint for a serving, drawn by the plants it stands for; with `site`, one at that site if it is found
    /// quickly.
    pub(super) fn draw(
        &self,
        serving: usize,
        site: Option<usize>,
        instance: &Instance,
        rng: &mut impl Rng,
    ) -> Option<Hint> {
        let sums = &self.sums[serving];
        let total = sums.last().copied().filter(|total| *total > 0.0)?;
        let mut draw = || {
            let at = rng.random_range(0.0..total);
            self.hints[serving].get(sums.partition_point(|sum| *sum <= at)).copied()
        };
        let Some(site) = site else { return draw() };
        (0..8).filter_map(|_| draw()).find(|hint| instance.candidates[hint.candidate as usize].site == site)
    }
}
