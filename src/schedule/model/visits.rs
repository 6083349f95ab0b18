//! Visits: a class day with anything to do costs a little, so that work is gathered on few days.

use super::super::instance::Network;
use super::program::Program;
use super::{Doings, Flows};

pub(super) fn add(program: &mut Program, net: &Network, flows: &[Flows]) {
    let price = net.term.rules.weights.visit;
    if price == 0.0 {
        return;
    }
    for (site, flows) in net.sites.iter().zip(flows) {
        // On one day at most every hole is emptied and every hole is filled.
        let most: u32 = site.tanks.iter().map(|tank| 2 * tank.holes).sum();
        let mut doings = flows.by_day();
        for &day in &site.class_days {
            let visit = program.column(format!("visit_{}_d{day}", site.site.id), 1.0, true, price);
            let Doings { begun, moved, harvested } = doings.remove(&day).unwrap_or_default();
            for sowing in begun {
                // A crop may be begun in several ways on one day.
                let name = format!("comes_{}_c{}_d{day}_{}", site.site.id, sowing.crop, sowing.col.0);
                program.row(name, vec![(sowing.col, 1.0), (visit, -1.0)], f64::NEG_INFINITY, 0.0);
            }
            let moved = moved.into_iter().map(|flow| (flow.col, 1.0));
            let harvested = harvested.into_iter().map(|flow| (flow.col, 1.0));
            let mut terms: Vec<_> = moved.chain(harvested).collect();
            if terms.is_empty() {
                continue;
            }
            terms.push((visit, -f64::from(most)));
            program.row(format!("works_{}_d{day}", site.site.id), terms, f64::NEG_INFINITY, 0.0);
        }
    }
}
