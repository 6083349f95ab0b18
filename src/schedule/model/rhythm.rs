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
            even(&mut model.program, instance, (rhythms.beat(*beat), rhythms.least(*beat)), &planted);
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
/// begins, fewer as a sowing, as they are to be as even as can be. What is begun goes on for the least number of sowings (the
/// rule for a shortest run; D. Rajan, S. Takriti, IBM Research Report RC23628, 2005; from memory).
fn even(
    program: &mut Program,
    instance: &Instance,
    (beat, least): (&[u32], usize),
    planted: &BTreeMap<u32, Vec<Col>>,
) {
    let rules = &instance.net.term.rules;
    let (to_begin, to_end) = (rules.series_price() / USUAL, rules.weights.sowing / USUAL);
    let mut before: &[Col] = &[];
    let mut begun: Vec<Col> = Vec::new();
    for (position, batch) in beat.iter().enumerate() {
        let now: &[Col] = planted.get(batch).map_or(&[], Vec::as_slice);
        let most = if position + least > beat.len() { 0.0 } else { f64::INFINITY };
        let more = program.column(format!("more_{batch}"), most, false, to_begin);
        let fewer = program.column(format!("fewer_{batch}"), f64::INFINITY, false, to_end);
        let here = now.iter().map(|col| (*col, 1.0)).chain(before.iter().map(|col| (*col, -1.0)));
        let terms = here.chain([(more, -1.0), (fewer, 1.0)]).collect();
        program.row(format!("rhythm_{batch}"), terms, 0.0, 0.0);
        begun.push(more);
        let going = begun.iter().rev().take(least).map(|col| (*col, -1.0));
        let terms = now.iter().map(|col| (*col, 1.0)).chain(going).collect();
        program.row(format!("goes_on_{batch}"), terms, 0.0, f64::INFINITY);
        before = now;
    }
}
