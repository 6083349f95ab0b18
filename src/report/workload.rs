//! How much work each week of a term brings.

use super::supply::weeks_of;
use super::work::{Task, TaskKind, tasks};
use crate::domain::calendar::Week;
use crate::domain::ids::SiteId;
use crate::domain::plan::Plan;
use crate::domain::term::Term;
use chrono::NaiveDate;
use std::collections::{BTreeMap, BTreeSet};

/// Every kind of task, in the order in which a plant meets them.
pub const KINDS: [TaskKind; 3] = [TaskKind::Sow, TaskKind::Transplant, TaskKind::Harvest];

/// Work of one kind.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Load {
    /// Tasks: one for each batch, kind and class day.
    pub tasks: u32,
    /// Minutes they take, at the term's minutes for a plug sown, a plant moved and a plant harvested.
    pub minutes: f64,
}

/// Work of one week at all sites.
#[derive(Debug, Clone, PartialEq)]
pub struct WeekWork {
    /// The week.
    pub week: Week,
    /// Work by kind.
    pub kinds: BTreeMap<TaskKind, Load>,
    /// Class days with anything to do, counted at each site.
    pub visits: u32,
}

impl WeekWork {
    /// Work of that kind.
    pub fn load(&self, kind: TaskKind) -> Load {
        self.kinds.get(&kind).copied().unwrap_or_default()
    }

    /// Minutes of all kinds.
    pub fn minutes(&self) -> f64 {
        self.kinds.values().map(|load| load.minutes).sum()
    }
}

/// Minutes a task takes.
pub fn minutes(term: &Term, task: &Task) -> f64 {
    let price = term.rules.minutes;
    match task.kind {
        TaskKind::Sow if task.batch.origin.is_bought() => 0.0,
        TaskKind::Sow => f64::from(task.batch.plugs) * price.sow,
        TaskKind::Transplant => f64::from(task.plants()) * price.transplant,
        TaskKind::Harvest => f64::from(task.plants()) * price.harvest,
    }
}

/// Every week of the term, from the first to the last.
pub fn weeks(term: &Term, plan: &Plan) -> Vec<WeekWork> {
    let all = tasks(term, plan);
    weeks_of(term)
        .map(|week| {
            let mut kinds: BTreeMap<TaskKind, Load> = BTreeMap::new();
            let mut visits: BTreeSet<(NaiveDate, &SiteId)> = BTreeSet::new();
            for task in all.iter().filter(|task| Week::of(task.date) == week) {
                let load = kinds.entry(task.kind).or_default();
                load.tasks += 1;
                load.minutes += minutes(term, task);
                visits.insert((task.date, &task.batch.site));
            }
            WeekWork { week, kinds, visits: visits.len() as u32 }
        })
        .collect()
}

/// The class day with the most work at one site: the day, the site and the minutes.
pub fn fullest_day<'a>(term: &Term, plan: &'a Plan) -> Option<(NaiveDate, &'a SiteId, f64)> {
    let mut days: BTreeMap<(NaiveDate, &SiteId), f64> = BTreeMap::new();
    for task in tasks(term, plan) {
        *days.entry((task.date, &task.batch.site)).or_default() += minutes(term, &task);
    }
    let fullest = days.into_iter().reduce(|most, next| if next.1 > most.1 { next } else { most });
    fullest.map(|((day, site), minutes)| (day, site, minutes))
}
