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
        let (moved, pulled) = self.changes();
        let mut before: Option<(Col, Day)> = None;
        for (day, limit) in limits {
            let [column, row] = names.map(|name| format!("{name}_{}_g{}_d{day}", self.id, self.group));
            let after = program.column(column, limit, false, 0.0);
            let since = before.map_or(Day::MIN, |(_, day)| day);
            let changes = within(&moved, since, day).chain(within(&pulled, since, day));
            let mut terms: Vec<(Col, f64)> = changes.collect();
            terms.push((after, -1.0));
            terms.extend(before.map(|(col, _)| (col, 1.0)));
            program.row(row, terms, 0.0, 0.0);
            before = Some((after, day));
        }
    }

    /// What comes into the group and what goes, by day.
    fn changes(&self) -> (Vec<Change>, Vec<Change>) {
        let moved = self.flows.transplants.iter().filter(|flow| flow.group == self.group);
        let moved = moved.map(|flow| (flow.day, flow.col, (self.weight)(flow.crop)));
        let pulled = self.flows.harvests.iter().filter(|flow| flow.pulled && flow.group == self.group);
        let pulled = pulled.map(|flow| (flow.day + self.rest, flow.col, -(self.weight)(flow.crop)));
        let by_day = |mut changes: Vec<Change>| {
            changes.sort_by_key(|(day, ..)| *day);
            changes
        };
        (by_day(moved.collect()), by_day(pulled.collect()))
    }
}

/// On which day a flow changes the count by how much a plant.
type Change = (Day, Col, f64);

/// What changes after one day and up to another.
fn within(changes: &[Change], since: Day, day: Day) -> impl Iterator<Item = (Col, f64)> + '_ {
    let until = |day: Day| changes.partition_point(|(on, ..)| *on <= day);
    changes[until(since)..until(day)].iter().map(|(_, col, weight)| (*col, *weight))
}
