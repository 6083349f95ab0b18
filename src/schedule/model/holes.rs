//! Holes: a plant takes its room from transplanting until it is pulled, and the hole then rests.

use super::super::instance::Network;
use super::program::Program;
use super::tally::Tally;
use super::{Flows, Groups};
use crate::domain::lid::Room;

/// For each group of tanks, the holes in use after each class day; once more in pairs and in blocks
/// where the lid has holes that belong to none.
pub(super) fn add(program: &mut Program, net: &Network, groups: &Groups, flows: &[Flows]) {
    for ((index, site), flows) in net.sites.iter().enumerate().zip(flows) {
        for (group, tanks) in groups.of(index).iter().enumerate() {
            let tank = &site.tanks[tanks[0]];
            let count = tanks.len() as f64;
            let wanted = |room| site.fields.iter().any(|field| field.room[tanks[0]] >= Some(room));
            let mut limit = |least: Room, holes: u32| {
                let weight = |crop: usize| {
                    let room = site.fields[crop].room[tanks[0]].filter(|room| *room >= least);
                    room.map_or(0.0, |room| f64::from(room.holes()))
                };
                let rest = net.term.rules.turnover_days as i32;
                let tally = Tally { flows, id: &site.site.id, group, weight: &weight, rest };
                let limits = site.class_days.iter().map(|day| (*day, f64::from(holes) * count));
                let kind = least.holes();
                tally.limit(program, [&format!("holes{kind}"), &format!("room{kind}")], limits);
            };
            limit(Room::Single, tank.holes);
            if wanted(Room::Pair) && tank.pairs * 2 < tank.holes {
                limit(Room::Pair, tank.pairs * 2);
            }
            if wanted(Room::Block) && tank.blocks * 4 < tank.holes {
                limit(Room::Block, tank.blocks * 4);
            }
        }
    }
}
