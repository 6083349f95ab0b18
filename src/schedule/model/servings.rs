//! Serving days: what harvests cover, what is short, and the limits on crops and single tanks.

use super::super::instance::{Day, Network};
use super::program::{Col, Program};
use super::{Flows, Groups, Relaxed};
use std::collections::BTreeMap;

/// Mass harvested on a day that keeps for the same serving days and counts against the same limits:
/// `(crop, day, first serving, last serving, site and group where a tank's share is limited)`.
type Pot = (usize, Day, usize, usize, Option<(usize, usize)>);

/// Adds supply, shortfall and shares, with a price for a gram that cannot be served; returns the columns whose sum is each day's shortfall.
pub(super) fn add(
    program: &mut Program,
    net: &Network,
    groups: &Groups,
    flows: &[Flows],
    relaxed: Relaxed,
    surplus: f64,
) -> Vec<Vec<Col>> {
    let limit_tanks = net.term.rules.one_tank_at_most < 1.0 && relaxed != Relaxed::OneTank;
    let served = supply(program, net, flows, limit_tanks, surplus);
    let short = targets(program, net, &served);
    if relaxed != Relaxed::Crops {
        crops(program, net, &served);
        kinds(program, net, &served);
    }
    if limit_tanks {
        one_tank(program, net, groups, &served);
    }
    short
}

/// Mass that goes from a pot to a serving day.
struct Served {
    col: Col,
    crop: usize,
    group: Option<(usize, usize)>,
}

/// Every harvest fills a pot; a pot is emptied to the serving days it keeps for, the rest is surplus. What goes where, by
/// serving day.
fn supply(
    program: &mut Program,
    net: &Network,
    flows: &[Flows],
    limit_tanks: bool,
    surplus: f64,
) -> Vec<Vec<Served>> {
    let rules = &net.term.rules;
    let mut pots: BTreeMap<Pot, Vec<(Col, f64)>> = BTreeMap::new();
    for flow in flows.iter().flat_map(|flows| &flows.harvests) {
        let field = &net.sites[flow.site].fields[flow.crop];
        match net.reach(flow.day, field.keeps(flow.heads)) {
            Some((first, last)) => {
                let group = limit_tanks.then_some((flow.site, flow.group));
                pots.entry((flow.crop, flow.day, first, last, group))
                    .or_default()
                    .push((flow.col, flow.grams));
            }
            None => program.columns[flow.col.0].cost += surplus * flow.grams,
        }
    }
    let mut served: Vec<Vec<Served>> = net.servings.iter().map(|_| Vec::new()).collect();
    for ((crop, day, first, last, group), mut terms) in pots {
        let tank = group.map_or(String::new(), |(site, group)| format!("_t{site}g{group}"));
        let label = format!("c{crop}_d{day}_w{last}{tank}");
        let left = program.column(format!("surplus_{label}"), f64::INFINITY, false, surplus);
        terms.push((left, -1.0));
        for (served, serving) in served[first..=last].iter_mut().zip(first..) {
            let waits = (net.servings[serving].day - day).max(0) as u32;
            let price = rules.weights.storing(waits, rules.fresh_days);
            let col = program.column(format!("serve_{label}_at{serving}"), f64::INFINITY, false, price);
            terms.push((col, -1.0));
            served.push(Served { col, crop, group });
        }
        program.row(format!("pot_{label}"), terms, 0.0, 0.0);
    }
    served
}

/// Served mass and shortfall make up the target; the first part of a shortfall is cheaper.
fn targets(program: &mut Program, net: &Network, served: &[Vec<Served>]) -> Vec<Vec<Col>> {
    let weights = net.term.rules.weights;
    let short_column = |program: &mut Program, name: String, high: f64, cost: f64| {
        let col = program.column(name, high, false, cost);
        program.columns[col.0].short = 1.0;
        col
    };
    net.servings
        .iter()
        .enumerate()
        .map(|(index, serving)| {
            let mild = serving.target * weights.mild_share;
            let short = vec![
                short_column(program, format!("short_w{index}"), mild, weights.short),
                short_column(program, format!("veryshort_w{index}"), f64::INFINITY, weights.very_short),
            ];
            let covers = served[index].iter().map(|flow| flow.col);
            let terms = covers.chain(short.iter().copied()).map(|col| (col, 1.0)).collect();
            program.row(format!("target_w{index}"), terms, serving.target, serving.target);
            short
        })
        .collect()
}

/// Shares of single crops.
fn crops(program: &mut Program, net: &Network, served: &[Vec<Served>]) {
    for (index, serving) in net.servings.iter().enumerate() {
        for (crop, wanted) in net.term.crops.iter().enumerate() {
            let terms = || -> Vec<(Col, f64)> { of_crop(&served[index], crop) };
            if wanted.at_most < 1.0 {
                let most = wanted.at_most * serving.target;
                program.row(format!("most_c{crop}_w{index}"), terms(), f64::NEG_INFINITY, most);
            }
            if wanted.at_least > 0.0 {
                let least = wanted.at_least * serving.target;
                let name = format!("missing_c{crop}_w{index}");
                let missing = program.column(name, least, false, net.term.rules.weights.short);
                let mut terms = terms();
                terms.push((missing, 1.0));
                program.row(format!("least_c{crop}_w{index}"), terms, least, f64::INFINITY);
            }
        }
    }
}

/// Kinds of greens: a crop counts in full from a certain share on, below it in proportion; no more crops than kinds are wanted
/// count, so that two halves make no kind.
fn kinds(program: &mut Program, net: &Network, served: &[Vec<Served>]) {
    let rules = &net.term.rules;
    if rules.kinds == 0 {
        return;
    }
    for (index, serving) in net.servings.iter().enumerate() {
        let portion = rules.kind_from * serving.target;
        let missing = program.column(
            format!("kindless_w{index}"),
            f64::from(rules.kinds),
            false,
            rules.weights.short * portion,
        );
        let mut kinds = Vec::new();
        for crop in 0..net.term.crops.len() {
            let mut terms = of_crop(&served[index], crop);
            if terms.is_empty() {
                continue;
            }
            let kind = program.column(format!("kind_c{crop}_w{index}"), 1.0, false, 0.0);
            terms.push((kind, -portion));
            program.row(format!("portion_c{crop}_w{index}"), terms, 0.0, f64::INFINITY);
            kinds.push((crop, kind));
        }
        if kinds.len() > rules.kinds as usize {
            choice(program, index, &kinds, f64::from(rules.kinds));
        }
        let counted = kinds.iter().map(|(_, kind)| *kind).chain([missing]).map(|col| (col, 1.0)).collect();
        program.row(format!("kinds_w{index}"), counted, f64::from(rules.kinds), f64::INFINITY);
    }
}

/// Of the crops that could be kinds of a serving, no more than are wanted count.
fn choice(program: &mut Program, serving: usize, kinds: &[(usize, Col)], wanted: f64) {
    let mut chosen = Vec::new();
    for (crop, kind) in kinds {
        let is_kind = program.column(format!("is_kind_c{crop}_w{serving}"), 1.0, true, 0.0);
        let name = format!("chosen_c{crop}_w{serving}");
        program.row(name, vec![(*kind, 1.0), (is_kind, -1.0)], f64::NEG_INFINITY, 0.0);
        chosen.push((is_kind, 1.0));
    }
    program.row(format!("choice_w{serving}"), chosen, f64::NEG_INFINITY, wanted);
}

/// One tank, and so a group of equal tanks, may only carry its share.
fn one_tank(program: &mut Program, net: &Network, groups: &Groups, served: &[Vec<Served>]) {
    for (index, serving) in net.servings.iter().enumerate() {
        for site in 0..net.sites.len() {
            for (group, tanks) in groups.of(site).iter().enumerate() {
                let most = net.term.rules.one_tank_at_most * serving.target * tanks.len() as f64;
                let own = |flow: &&Served| flow.group == Some((site, group));
                let terms: Vec<_> = served[index].iter().filter(own).map(|flow| (flow.col, 1.0)).collect();
                if !terms.is_empty() && most < serving.target {
                    let name = format!("onetank_{}_g{group}_w{index}", net.sites[site].site.id);
                    program.row(name, terms, f64::NEG_INFINITY, most);
                }
            }
        }
    }
}

fn of_crop(served: &[Served], crop: usize) -> Vec<(Col, f64)> {
    served.iter().filter(|flow| flow.crop == crop).map(|flow| (flow.col, 1.0)).collect()
}
