//! Points of a serving day, and days that are not to be given up.

use super::{NOTHING, Supply};
use crate::domain::plan::{NOTICEABLE, is_short};

impl Supply {
    /// Points for a shortfall, for crops that are missing and for kinds that are missing.
    pub(super) fn price(&mut self, target: f64, short: f64) -> f64 {
        let weights = &self.rules.weights;
        let mild = short.min(weights.mild_share * target);
        let mut points = weights.short * mild + weights.very_short * (short - mild);
        for (served, (least, _)) in self.crop_served.iter().zip(&self.crop_limits) {
            points += weights.short * (least * target - served).max(0.0);
        }
        points + weights.short * self.kinds.missing(&self.crop_served, target)
    }

    /// From now on, days still to come that get their target are held: none of them is given up to lift others, which only
    /// days that are short share among them.
    pub(in crate::schedule) fn hold_met(&mut self) {
        let tolerance = self.rules.tolerance;
        for (day, short) in self.days.iter_mut().zip(&self.short).filter(|(day, _)| day.day >= self.today) {
            let met = !is_short(day.target, day.target - short, tolerance);
            day.held = if met { day.target - (tolerance * day.target).max(NOTICEABLE) } else { 0.0 };
        }
        self.look_again();
    }

    /// From now on, no day is held, so that points are those of the plan alone.
    pub(in crate::schedule) fn let_go(&mut self) {
        self.days.iter_mut().for_each(|day| day.held = 0.0);
        self.look_again();
    }

    /// Prices all days anew.
    fn look_again(&mut self) {
        self.touched = self.days.len().checked_sub(1).map(|last| (0, last));
        self.try_out();
        self.agree();
    }

    /// Points for a day that falls so many grams below what it is held to: more than all days together could gain by it, and
    /// the more the further.
    pub(super) fn given_up(&self, grams: f64) -> f64 {
        if grams <= NOTHING {
            return 0.0;
        }
        let all: f64 = self.days.iter().map(|day| day.target).sum();
        self.rules.weights.very_short.max(1.0) * (all + grams)
    }
}
