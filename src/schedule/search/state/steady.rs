//! What keeps a plan made anew near the one before: few changes, sites left alone, days that are not given up.

use super::super::change::Change;
use super::State;

/// How many times as much a change costs beyond few of them: at the usual price, about a serving.
const FURTHER: f64 = 4.0;

impl State<'_> {
    /// From now on, changes beyond twice those made so far, which cannot be helped, are dearer: who mends by hand what was lost
    /// makes about as many again.
    pub(in super::super) fn keep_few(&mut self) {
        self.few_changes = 2.0 * self.change_points;
    }

    /// Points for what differs from people's calendars, where it comes to so many at the usual price.
    pub(super) fn for_changes(&self, points: f64) -> f64 {
        points + (FURTHER - 1.0) * (points - self.few_changes).max(0.0)
    }

    /// From now on, nothing changes at these sites.
    pub(in super::super) fn leave_alone(&mut self, alone: Vec<bool>) {
        self.alone = alone;
    }

    /// Whether each site is left alone.
    pub(in super::super) fn left_alone(&self) -> &[bool] {
        &self.alone
    }

    /// Whether any of the changes is about a site that is to be left alone.
    pub(in super::super) fn touches_others(&self, changes: &[Change]) -> bool {
        let site = |change: &Change| self.instance.candidates[change.candidate as usize].site;
        changes.iter().any(|change| self.alone[site(change)])
    }

    /// From now on, no serving day that gets its target is given up for others.
    pub(in super::super) fn hold_met(&mut self) {
        self.supply.hold_met();
    }

    /// From now on, points are those of the plan alone.
    pub(in super::super) fn let_go(&mut self) {
        self.supply.let_go();
    }
}
