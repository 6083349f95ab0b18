//! How far around a failure the search looks: nothing is changed where nothing is missed, and other sites are asked last.

use super::super::instance::{Instance, ServingNet};
use super::change::Change;
use super::resume::Going;
use super::state::State;
use crate::domain::calendar::days_between;
use crate::domain::plan::NOTICEABLE;

/// Serving days as people counted on them.
pub(super) struct Counted {
    /// By serving: grams missing to its target and to what is promised, and those from which on that is noticed.
    needs: Vec<(f64, f64)>,
}

impl Counted {
    pub(super) fn new(instance: &Instance, going: &Going) -> Self {
        let net = instance.net;
        let unsure = unsure(instance, going);
        let need = |(serving, unsure): (&ServingNet, f64)| {
            let ServingNet { day, target, .. } = *serving;
            let told = going.counted_on.iter();
            let short = told.filter(|(date, _)| days_between(net.term.start, *date) as i32 == day);
            let short = short.map(|(_, short)| *short).next().unwrap_or(0.0);
            (short + unsure + NOTICEABLE, (net.term.rules.tolerance * target).max(NOTICEABLE))
        };
        Self { needs: net.servings.iter().zip(unsure).map(need).collect() }
    }

    /// Whether a day gets noticeably less than its target, or is less sure of it than promised, and less than was counted on.
    pub(super) fn is_missed(&self, state: &State) -> bool {
        let missed = |(need, (counted, noticed)): (f64, &(f64, f64))| need > *counted && need > *noticed;
        state.needs().zip(&self.needs).any(missed)
    }
}

/// Grams that were missing to what is promised of each serving day, as far as what was planned can still be told.
fn unsure(instance: &Instance, going: &Going) -> Vec<f64> {
    let mut known = State::new(instance);
    for (number, parts) in going.known.parts.iter().enumerate() {
        for (part, path) in parts.iter().filter_map(|part| Some((part, part.planned?))) {
            known.book(&Change { candidate: number as u32, path, plants: part.plants });
        }
    }
    known.settle();
    known.needs().zip(known.short()).map(|(need, short)| need - short).collect()
}
