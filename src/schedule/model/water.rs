//! Reservoirs: what stands in a tank over an absence must not drink it dry.

use super::super::instance::Network;
use super::program::Program;
use super::tally::Tally;
use super::{Flows, Groups};

/// For each group of tanks, the litres a day its plants drink when people leave.
pub(super) fn add(program: &mut Program, net: &Network, groups: &Groups, flows: &[Flows]) {
    for ((index, site), flows) in net.sites.iter().enumerate().zip(flows) {
        for (group, tanks) in groups.of(index).iter().enumerate() {
            let litres = site.tanks[tanks[0]].tank.usable_litres * tanks.len() as f64;
            let weight = |crop: usize| site.fields[crop].water;
            let tally = Tally { flows, id: &site.site.id, group, weight: &weight, rest: 0 };
            let limits = site.absences.iter().map(|gap| (gap.leave, litres / f64::from(gap.alone)));
            tally.limit(program, ["thirst", "water"], limits);
        }
    }
}
