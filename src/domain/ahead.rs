//! Terms that go on into the next one: plants may stand beyond the last day, for the serving days that come after it.
//!
//! So that what they are worth then is weighed against everything else, the first weeks of the next term are planned
//! as well. That part of the plan is only there to find out what is worth standing: the next term is planned anew, from what then really
//! stands, so people are shown the plan as far as their own term reaches.

use super::calendar::plus_days;
use super::ids::SiteId;
use super::plan::{Harvest, Part, Plan, Serving};
use super::term::Term;
use chrono::NaiveDate;
use std::collections::BTreeMap;

/// Weeks of the next term that are planned ahead. A head sown on the first day of a term is ready after six to seven weeks (in the crop
/// library butterhead takes 43 days); until about then a term lives on what the one before has left standing.
pub const AHEAD_WEEKS: u32 = 6;

/// How a term goes on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Ahead {
    /// The term's own last day.
    pub last: NaiveDate,
    /// First day of the next term, later than that.
    pub next: NaiveDate,
}

impl Ahead {
    /// Last day of the next term that is planned ahead.
    pub fn end(&self) -> NaiveDate {
        plus_days(self.next, 7 * AHEAD_WEEKS - 1)
    }
}

/// What a plan leaves standing for the next term.
#[derive(Debug, Clone, PartialEq)]
pub struct StandsOn {
    /// When that term begins.
    pub next: NaiveDate,
    /// Last day of it that was planned ahead.
    pub until: NaiveDate,
    /// Plants in tanks on the last day of this term, by site.
    pub plants: BTreeMap<SiteId, u32>,
    /// Seedlings in nurseries then that are to be moved later.
    pub seedlings: u32,
    /// Ready-to-eat grams they are to give until then.
    pub grams: f64,
    /// Ready-to-eat grams wanted in those weeks.
    pub wanted: f64,
}

impl Term {
    /// The term's own last day: [`Term::end`], unless the first weeks of the next term are planned ahead.
    pub fn own_end(&self) -> NaiveDate {
        self.ahead.map_or(self.end, |ahead| ahead.last)
    }

    /// The term without the weeks planned ahead; when the next one begins it still says.
    #[must_use]
    pub fn of_its_own(&self) -> Self {
        let mut term = self.clone();
        term.end = self.own_end();
        term.servings.retain(|serving| serving.date <= term.end);
        for site in &mut term.sites {
            site.class_days.retain(|day| *day <= term.end);
        }
        term
    }

    /// A plan of the term as far as the term itself reaches.
    #[must_use]
    pub fn own_part(&self, plan: &Plan) -> Plan {
        self.ahead.map_or_else(|| plan.clone(), |ahead| plan.until(ahead.last))
    }

    /// What a plan of the term leaves standing; `None` unless the term looks ahead.
    pub fn stands_on(&self, plan: &Plan) -> Option<StandsOn> {
        let ahead = self.ahead?;
        let mut found = StandsOn {
            next: ahead.next,
            until: self.end,
            plants: BTreeMap::new(),
            seedlings: 0,
            grams: 0.0,
            wanted: self.servings.iter().filter(|day| day.date > ahead.last).map(|day| day.grams).sum(),
        };
        for batch in plan.batches.iter().filter(|batch| batch.is_standing() || batch.sown <= ahead.last) {
            for part in batch.parts.iter().filter(|part| part.goes_beyond(ahead.last)) {
                if part.transplant <= ahead.last {
                    *found.plants.entry(batch.site.clone()).or_default() += part.plants;
                } else {
                    found.seedlings += part.plants;
                }
                let later = part.harvests.iter().filter(|harvest| harvest.date > ahead.last);
                found.grams += later.map(|harvest| harvest.grams).sum::<f64>();
            }
        }
        Some(found)
    }
}

impl Plan {
    /// The plan as far as a day: what is begun until then, with what is harvested of it until then.
    fn until(&self, last: NaiveDate) -> Self {
        let mut plan = self.clone();
        plan.batches.retain(|batch| batch.is_standing() || batch.sown <= last);
        for part in plan.batches.iter_mut().flat_map(|batch| &mut batch.parts) {
            part.harvests.retain(|harvest| harvest.date <= last);
        }
        plan.servings.retain(|serving| serving.date <= last);
        let harvests = plan.batches.iter().flat_map(|batch| &batch.parts).flat_map(|part| &part.harvests);
        plan.facts.surplus_grams = harvests.map(Harvest::surplus).sum();
        plan.facts.short_grams = plan.servings.iter().map(Serving::short).sum();
        // What was proven holds for the whole of it.
        plan.facts.short_bound_grams = None;
        plan
    }
}

impl Part {
    /// Whether its plants live, and are not all harvested, when a day is over.
    fn goes_beyond(&self, last: NaiveDate) -> bool {
        self.leaves().is_none_or(|leaves| leaves > last)
    }
}
