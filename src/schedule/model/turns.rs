//! Every site has something to do in each stretch of class: one without costs points.

use super::super::instance::{Day, Network, turns};
use super::Flows;
use super::program::{Col, Program};

pub(super) fn add(program: &mut Program, net: &Network, flows: &[Flows]) {
    let price = net.term.rules.idle_price();
    for ((site, flows), stretches) in net.sites.iter().zip(flows).zip(turns(net)) {
        for (number, stretch) in stretches.into_iter().enumerate() {
            let (first, last) = (site.class_days[*stretch.start()], site.class_days[*stretch.end()]);
            let then = |day: Day| first <= day && day <= last;
            let name = format!("without_work_{}_s{number}", site.site.id);
            let idle = program.column(name.clone(), 1.0, true, price);
            let begun = flows.sowings.iter().filter(|flow| then(flow.start.begins));
            let moved = flows.transplants.iter().filter(|flow| flow.by_hand() && then(flow.day));
            let cut = flows.harvests.iter().filter(|flow| then(flow.day)).map(|flow| flow.col);
            // Batches and plants are whole, so any work makes up for one.
            let work = begun.map(|flow| flow.col).chain(moved.map(|flow| flow.col)).chain(cut);
            let terms: Vec<(Col, f64)> = work.chain([idle]).map(|col| (col, 1.0)).collect();
            program.row(name, terms, 1.0, f64::INFINITY);
        }
    }
}
