//! Which plants are told apart by their age.

use super::super::super::instance::Day;
use super::super::Ages;
use super::Builder;
use crate::domain::growth::Stand;
use std::collections::BTreeSet;

impl Builder<'_, '_> {
    /// Whether the program has become larger than it was to be, so that it is of no use.
    pub(super) fn too_many(&self) -> bool {
        matches!(self.ages, Ages::Exact(most) if self.program.columns.len() > most)
    }

    /// Whose plugs were held, so that they have to be told apart: by the day of their move, and `None` for all others.
    pub(super) fn held(&self, born: Day, moves: &[Day]) -> BTreeSet<Option<Day>> {
        moves.iter().map(|day| self.held_until(born, *day)).collect()
    }

    /// The day of a move, if plugs sown on `sown` are held until then and that is told apart.
    pub(super) fn held_until(&self, sown: Day, moved: Day) -> Option<Day> {
        let growing = &self.site.fields[self.crop].growing;
        let held = f64::from(moved - sown) > growing.plug_ceiling() * growing.pace;
        (self.ages != Ages::Rounded && held).then_some(moved)
    }

    /// Age of an uncut plant of the same mass, in hundredths of a day here, rounded up as finely as is asked for.
    pub(super) fn age_here(&self, stand: Stand) -> i64 {
        let days = stand.age() * self.site.fields[self.crop].growing.pace;
        match self.ages {
            Ages::Rounded => (days - 1e-9).ceil() as i64 * 100,
            Ages::Exact(_) => (days * 100.0 - 1e-9).ceil() as i64,
        }
    }
}
