//! Nursery cells: a plug takes one from sowing until its plant is moved.

use super::super::instance::{Network, Start};
use super::Flows;
use super::program::{Col, Program};
use crate::domain::term::Stage;

/// Cells in use after each class day, carried from day to day; they can only run out on a sowing day.
pub(super) fn add(program: &mut Program, net: &Network, flows: &[Flows]) {
    for ((index, site), flows) in net.sites.iter().enumerate().zip(flows) {
        let cells = f64::from(site.site.nursery.cells);
        let seedlings: u32 = net
            .standing
            .iter()
            .filter(|standing| standing.site == index && standing.standing.stage == Stage::Nursery)
            .map(|standing| standing.standing.plants)
            .sum();
        let mut before: Option<Col> = None;
        for &day in &site.class_days {
            let after = program.column(format!("cells_{}_d{day}", site.site.id), cells, false, 0.0);
            let mut terms = vec![(after, -1.0)];
            terms.extend(before.map(|col| (col, 1.0)));
            for flow in &flows.transplants {
                let Some(start) = flow.start.filter(Start::waits) else { continue };
                let plugs = 1.0 / start.origin.plants_per_plug(&site.fields[flow.crop].wanted.crop);
                if start.begins == day && flow.standing.is_none() {
                    terms.push((flow.col, plugs));
                }
                if flow.day == day {
                    terms.push((flow.col, -plugs));
                }
            }
            let standing = if before.is_none() { f64::from(seedlings) } else { 0.0 };
            program.row(format!("nursery_{}_d{day}", site.site.id), terms, -standing, -standing);
            before = Some(after);
        }
    }
}
