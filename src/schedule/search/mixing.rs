//! Crops that share a tank.

use super::super::instance::Index;
use crate::domain::term::{OneCropTanks, Rules};
use std::ops::Range;

/// What stands in a tank after each class day.
#[derive(Clone)]
pub(super) struct Mixing {
    /// Plants by crop, then day.
    plants: Vec<Vec<i32>>,
    /// Crops by day.
    crops: Vec<i32>,
    /// Plants by day that are put there by this plan.
    new: Vec<i32>,
    /// Class days that are past, which cost nothing any more.
    past: usize,
    always: bool,
}

impl Mixing {
    /// `None` where crops may share a tank for nothing.
    pub(super) fn new(rules: &Rules, crops: usize, (past, days): (usize, usize)) -> Option<Self> {
        let always = rules.one_crop_tanks == OneCropTanks::Always;
        let counts = always || rules.mixed_price() > 0.0;
        (counts && crops > 1).then(|| Self {
            plants: vec![vec![0; days]; crops],
            crops: vec![0; days],
            new: vec![0; days],
            past,
            always,
        })
    }

    /// Books plants that stand there after some days; returns by how many the further crops grew, and the days on which
    /// there are any against the rules.
    pub(super) fn book(&mut self, crop: usize, days: Range<Index>, plants: i32, is_new: bool) -> (i32, i32) {
        let (mut further, mut over) = (0, 0);
        for day in usize::from(days.start).max(self.past)..usize::from(days.end).min(self.crops.len()) {
            let was_over = self.is_over(day);
            let own = &mut self.plants[crop][day];
            let comes = i32::from(*own + plants > 0) - i32::from(*own > 0);
            *own += plants;
            if comes != 0 {
                let before = self.further(day);
                self.crops[day] += comes;
                further += self.further(day) - before;
            }
            if self.always {
                self.new[day] += if is_new { plants } else { 0 };
                over += i32::from(self.is_over(day)) - i32::from(was_over);
            }
        }
        (further, over)
    }

    fn further(&self, day: usize) -> i32 {
        (self.crops[day] - 1).max(0)
    }

    fn is_over(&self, day: usize) -> bool {
        self.always && self.crops[day] > 1 && self.new[day] > 0
    }
}
