//! What stands in a group of tanks, counted on from day to day, so that a row holds only what changes on its days.

use super::super::instance::Day;
use super::Flows;
use super::program::{Col, Program};
use crate::domain::ids::SiteId;

/// A count of plants from transplanting until they are pulled.
pub(super) struct Tally<'a> {
    pub(super) flows: &'a Flows,
    pub(super) id: &'a SiteId,
    pub(super) group: usize,
    /// What a plant of a crop counts.
    pub(super) weight: &'a dyn Fn(usize) -> f64,
    /// Days it counts on after it was pulled.
    pub(super) rest: Day,
}

impl Tally<'_> {
    /// Keeps the count within a limit on some days, in order. `names` begin those of its columns and rows.
    pub(super) fn limit(
        &self,
        program: &mut Program,
        names: [&str; 2],
        limits: impl IntoIterator<Item = (Day, f64)>,
    ) {
        let mut before: Option<(Col, Day)> = None;
        for (day, limit) in limits {
            let [column, row] = names.map(|name| format!("{name}_{}_g{}_d{day}", self.id, self.group));
            let after = program.column(column, limit, false, 0.0);
            let mut terms = self.changes(before.map_or(Day::MIN, |(_, day)| day), day);
            terms.push((after, -1.0));
            terms.extend(before.map(|(col, _)| (col, 1.0)));
            program.row(row, terms, 0.0, 0.0);
            before = Some((after, day));
        }
    }

    /// What comes and goes after one day and up to another.
    fn changes(&self, since: Day, day: Day) -> Vec<(Col, f64)> {
        let now = |on: Day| since < on && on <= day;
        let moved = self.flows.transplants.iter().filter(|flow| flow.group == self.group && now(flow.day));
        let pulled = self
            .flows
            .harvests
            .iter()
            .filter(|flow| flow.pulled && flow.group == self.group && now(flow.day + self.rest));
        moved
            .map(|flow| (flow.col, (self.weight)(flow.crop)))
            .chain(pulled.map(|flow| (flow.col, -(self.weight)(flow.crop))))
            .collect()
    }
}
