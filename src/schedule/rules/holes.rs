//! Holes: a plant takes its room from transplanting until it is pulled, and the hole then rests.

use super::super::network::Network;
use super::super::program::{Col, Program};
use super::{Flows, Groups};
use crate::domain::lid::Room;

/// For each group of tanks, the holes in use after each class day; once more in pairs and in blocks
/// where the lid has holes that belong to none.
pub(super) fn add(program: &mut Program, net: &Network, groups: &Groups, flows: &Flows) {
    for (index, site) in net.sites.iter().enumerate() {
        for (group, tanks) in groups.of(index).iter().enumerate() {
            let tank = &site.tanks[tanks[0]];
            let count = tanks.len() as f64;
            let wanted = |room| site.fields.iter().any(|field| field.room[tanks[0]] >= Some(room));
            let place = Place { net, flows, site: index, group, tank: tanks[0] };
            place.add(program, Room::Single, f64::from(tank.holes) * count);
            if wanted(Room::Pair) && tank.pairs * 2 < tank.holes {
                place.add(program, Room::Pair, f64::from(tank.pairs * 2) * count);
            }
            if wanted(Room::Block) && tank.blocks * 4 < tank.holes {
                place.add(program, Room::Block, f64::from(tank.blocks * 4) * count);
            }
        }
    }
}

struct Place<'a, 't> {
    net: &'a Network<'t>,
    flows: &'a Flows,
    site: usize,
    group: usize,
    tank: usize,
}

impl Place<'_, '_> {
    /// Holes taken by a plant, if it needs at least this much room.
    fn holes(&self, crop: usize, least: Room) -> f64 {
        let room = self.net.sites[self.site].fields[crop].room[self.tank];
        room.filter(|room| *room >= least).map_or(0.0, |room| f64::from(room.holes()))
    }

    fn add(&self, program: &mut Program, least: Room, limit: f64) {
        let site = &self.net.sites[self.site];
        let rest = self.net.term.rules.turnover_days as i32;
        let (id, group) = (&site.site.id, self.group);
        let mut before: Option<(Col, i32)> = None;
        let here = |site: usize, group: usize| site == self.site && group == self.group;
        for &day in &site.class_days {
            let kind = least.holes();
            let after = program.column(format!("holes{kind}_{id}_g{group}_d{day}"), limit, false, 0.0);
            let mut terms = vec![(after, -1.0)];
            terms.extend(before.map(|(col, _)| (col, 1.0)));
            let since = before.map_or(i32::MIN, |(_, day)| day);
            for flow in self.flows.transplants.iter().filter(|flow| here(flow.site, flow.group)) {
                if since < flow.day && flow.day <= day {
                    terms.push((flow.col, self.holes(flow.crop, least)));
                }
            }
            for flow in self.flows.harvests.iter().filter(|flow| flow.pulled && here(flow.site, flow.group)) {
                if since < flow.day + rest && flow.day + rest <= day {
                    terms.push((flow.col, -self.holes(flow.crop, least)));
                }
            }
            program.row(format!("room{kind}_{id}_g{group}_d{day}"), terms, 0.0, 0.0);
            before = Some((after, day));
        }
    }
}
