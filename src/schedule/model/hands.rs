//! Hands: minutes of work and batches sown on a class day, where a site limits them.

use super::super::instance::{Network, SiteNet};
use super::program::Program;
use super::{Flows, Sowing};

pub(super) fn add(program: &mut Program, net: &Network, flows: &[Flows]) {
    for (site, flows) in net.sites.iter().zip(flows) {
        for &day in &site.class_days {
            if let Some(limit) = site.site.minutes_a_day {
                minutes(program, net, flows, site, day, limit);
            }
            if let Some(limit) = site.site.sowings_a_day {
                let begun = |sowing: &&Sowing| sowing.start.begins == day && sowing.start.laid();
                let own = flows.sowings.iter().filter(begun);
                let terms = own.map(|sowing| (sowing.col, 1.0)).collect();
                program.row(
                    format!("sowings_{}_d{day}", site.site.id),
                    terms,
                    f64::NEG_INFINITY,
                    f64::from(limit),
                );
            }
        }
    }
}

fn minutes(program: &mut Program, net: &Network, flows: &Flows, site: &SiteNet, day: i32, limit: f64) {
    let minutes = net.term.rules.minutes;
    let sow = flows.sowings.iter().filter(|flow| flow.start.begins == day && flow.start.laid());
    let moved = flows.transplants.iter().filter(|flow| flow.day == day && flow.by_hand());
    let cut = flows.harvests.iter().filter(|flow| flow.day == day);
    let terms = sow
        .map(|flow| (flow.plugs, minutes.sow))
        .chain(moved.map(|flow| (flow.col, minutes.transplant)))
        .chain(cut.map(|flow| (flow.col, minutes.harvest)))
        .collect();
    program.row(format!("minutes_{}_d{day}", site.site.id), terms, f64::NEG_INFINITY, limit);
}
