//! Hands: minutes of work and batches sown on a class day, where a site limits them.

use super::super::instance::Network;
use super::program::{Col, Program};
use super::{Doings, Flows};

pub(super) fn add(program: &mut Program, net: &Network, flows: &[Flows]) {
    for (site, flows) in net.sites.iter().zip(flows) {
        let (most_minutes, most_sowings) = (site.site.minutes_a_day, site.site.sowings_a_day);
        if most_minutes.is_none() && most_sowings.is_none() {
            continue;
        }
        let mut doings = flows.by_day();
        for &day in &site.class_days {
            let mut doings = doings.remove(&day).unwrap_or_default();
            doings.begun.retain(|sowing| sowing.start.laid());
            let mut limit = |what: &str, terms, most| {
                program.row(format!("{what}_{}_d{day}", site.site.id), terms, f64::NEG_INFINITY, most);
            };
            if let Some(most) = most_minutes {
                limit("minutes", minutes(net, &doings), most);
            }
            if let Some(most) = most_sowings {
                let sown = doings.begun.iter().map(|sowing| (sowing.col, 1.0)).collect();
                limit("sowings", sown, f64::from(most));
            }
        }
    }
}

/// What each plant done with on a day takes, in minutes.
fn minutes(net: &Network, doings: &Doings<'_>) -> Vec<(Col, f64)> {
    let minutes = net.term.rules.minutes;
    let sown = doings.begun.iter().map(|flow| (flow.plugs, minutes.sow));
    let moved = doings.moved.iter().map(|flow| (flow.col, minutes.transplant));
    let harvested = doings.harvested.iter().map(|flow| (flow.col, minutes.harvest));
    sown.chain(moved).chain(harvested).collect()
}
