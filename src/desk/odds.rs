//! What a plan comes to from what stands, and how sure that is.

use super::Opened;
use crate::domain::odds::Odds;
use crate::domain::plan::Plan;
use crate::insight::odds::{Luck, SoFar, odds};
use crate::replan::first_open_day;
use crate::replan::state::state;
use crate::replan::weighed::{as_expected, as_it_stands};
use chrono::NaiveDate;
use std::collections::BTreeMap;

impl Opened {
    /// The plan as it stands, with weighed masses, and those to be expected by them, in place of planned ones.
    #[must_use]
    pub fn as_expected(&self, plan: &Plan, today: NaiveDate) -> Plan {
        let journal = &self.journal.journal;
        as_expected(&self.read.term, plan, journal, today)
    }

    /// How sure a plan was when it was made, in the term as it is now: what is published or printed tells this, so that it changes with
    /// the plan and with days, tanks and targets, but not with every count and harvest.
    #[must_use]
    pub fn odds_as_planned(&self, plan: &Plan, luck: Luck) -> Odds {
        let so_far = plan.replanned.map(|today| SoFar { today, trays: BTreeMap::new() });
        odds(&self.read.term, plan, so_far.as_ref(), luck)
    }

    /// How sure a plan is. Before the term begins all of it is played, then the rest of it, from what stands as far as the
    /// journal tells, with masses as weighed ones let expect.
    #[must_use]
    pub fn odds(&self, plan: &Plan, today: NaiveDate, luck: Luck) -> Odds {
        let journal = &self.journal.journal;
        let mut term = self.read.term.clone();
        let today = first_open_day(journal, today);
        if today <= term.start {
            return odds(&term, plan, None, luck);
        }
        let standing = as_it_stands(&term, plan, journal, today);
        let batches = state(&term, plan, journal, today).batches.into_iter();
        let trays =
            batches.filter(|batch| batch.tray.plugs > 0).map(|batch| (batch.batch, batch.tray)).collect();
        term.count_with(&standing.mass_factors);
        odds(&term, &standing, Some(&SoFar { today, trays }), luck)
    }
}
