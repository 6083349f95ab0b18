//! Reservoirs: what stands in a tank over an absence must not drink it dry.

use super::super::network::Network;
use super::super::program::Program;
use super::{Flows, Groups};

pub(super) fn add(program: &mut Program, net: &Network, groups: &Groups, flows: &Flows) {
    for (index, site) in net.sites.iter().enumerate() {
        for (group, tanks) in groups.of(index).iter().enumerate() {
            let tank = &site.tanks[tanks[0]];
            let litres = tank.tank.usable_litres * tanks.len() as f64;
            for gap in &site.absences {
                let days = f64::from(gap.back - gap.leave);
                let mut terms = Vec::new();
                for flow in flows.transplants.iter().filter(|flow| (flow.site, flow.group) == (index, group))
                {
                    if flow.day <= gap.leave {
                        terms.push((flow.col, site.fields[flow.crop].water * days));
                    }
                }
                for flow in flows.harvests.iter().filter(|flow| (flow.site, flow.group) == (index, group)) {
                    if flow.pulled && flow.day <= gap.leave {
                        terms.push((flow.col, -site.fields[flow.crop].water * days));
                    }
                }
                let name = format!("water_{}_g{group}_d{}", site.site.id, gap.leave);
                program.row(name, terms, f64::NEG_INFINITY, litres);
            }
        }
    }
}
