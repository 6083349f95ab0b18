//! Sowings in a steady rhythm. No linear program can say that a crop is sown on one weekday only, and always in one number;
//! this one pays for each plant by which a sowing differs from the one before. So its plants show the search where series
//! of sowings pay; its cost proves nothing.

use super::super::instance::{Instance, Rhythms};
use super::program::{Col, Program};
use super::{FirstHarvest, Model};
use std::collections::BTreeMap;

/// Plants that a sowing is taken to have, where a price for a sowing has to be one for a plant.
const USUAL: f64 = 12.0;

impl Model {
    /// The model with prices for what is out of rhythm.
    pub(in super::super) fn in_rhythm(&self, instance: &Instance, rhythms: &Rhythms) -> Self {
        let mut model = self.clone();
        let planted = planted(&model.first_harvests, instance);
        for beat in (0..rhythms.count()).flat_map(|series| rhythms.of(series)) {
            even(&mut model.program, instance, rhythms.beat(*beat), &planted);
        }
        model
    }
}

/// Columns whose sum is the plants of a batch, by batch.
fn planted(harvests: &[FirstHarvest], instance: &Instance) -> BTreeMap<u32, Vec<Col>> {
    let mut planted: BTreeMap<u32, Vec<Col>> = BTreeMap::new();
    for flow in harvests {
        if let Some(batch) = instance.begun(flow.site, flow.crop, flow.start) {
            planted.entry(batch).or_default().push(flow.col);
        }
    }
    planted
}

/// Each batch of a beat has as many plants as the one before, and some more or fewer, which cost: more as much as a series that
/// begins, fewer as a sowing, as they are to be as even as can be.
fn even(program: &mut Program, instance: &Instance, beat: &[u32], planted: &BTreeMap<u32, Vec<Col>>) {
    let rules = &instance.net.term.rules;
    let (begin, end) = (rules.series_price() / USUAL, rules.weights.sowing / USUAL);
    let mut before: &[Col] = &[];
    for batch in beat {
        let now: &[Col] = planted.get(batch).map_or(&[], Vec::as_slice);
        let more = program.column(format!("more_{batch}"), f64::INFINITY, false, begin);
        let fewer = program.column(format!("fewer_{batch}"), f64::INFINITY, false, end);
        let here = now.iter().map(|col| (*col, 1.0)).chain(before.iter().map(|col| (*col, -1.0)));
        let terms = here.chain([(more, -1.0), (fewer, 1.0)]).collect();
        program.row(format!("rhythm_{batch}"), terms, 0.0, 0.0);
        before = now;
    }
}
