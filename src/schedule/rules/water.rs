//! Reservoirs: what stands in a tank over an absence must not drink it dry.

use super::super::network::{Day, Network};
use super::super::program::{Col, Program};
use super::{Flows, Groups};

/// For each group of tanks, the litres a day its plants drink at each absence. Each absence counts on from the
/// one before, which keeps the rows short.
pub(super) fn add(program: &mut Program, net: &Network, groups: &Groups, flows: &Flows) {
    for (index, site) in net.sites.iter().enumerate() {
        for (group, tanks) in groups.of(index).iter().enumerate() {
            let litres = site.tanks[tanks[0]].tank.usable_litres * tanks.len() as f64;
            let here = |site: usize, at: usize| (site, at) == (index, group);
            let mut before: Option<(Col, Day)> = None;
            for gap in &site.absences {
                let leave = gap.leave;
                let id = format!("{}_g{group}_d{leave}", site.site.id);
                let most = litres / f64::from(gap.back - leave);
                let thirst = program.column(format!("thirst_{id}"), most, false, 0.0);
                let since = before.map_or(Day::MIN, |(_, day)| day);
                let moved = flows.transplants.iter().filter(|flow| here(flow.site, flow.group));
                let drinking = moved
                    .filter(|flow| since < flow.day && flow.day <= leave)
                    .map(|flow| (flow.col, site.fields[flow.crop].water));
                let pulled = flows.harvests.iter().filter(|flow| flow.pulled && here(flow.site, flow.group));
                let gone = pulled
                    .filter(|flow| since < flow.day && flow.day <= leave)
                    .map(|flow| (flow.col, -site.fields[flow.crop].water));
                let mut terms: Vec<_> = drinking.chain(gone).collect();
                terms.push((thirst, -1.0));
                terms.extend(before.map(|(col, _)| (col, 1.0)));
                program.row(format!("water_{id}"), terms, 0.0, 0.0);
                before = Some((thirst, leave));
            }
        }
    }
}
