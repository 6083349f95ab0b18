//! Whether a recorded harvest is a planned one.

use crate::domain::calendar::days_between;
use crate::domain::growth::Way;
use crate::domain::plan::{Harvest, Part};
use chrono::NaiveDate;

/// A cut so many days from a planned pull is taken for it, and the other way round.
const SAME_HARVEST: i64 = 7;

/// How much a recorded harvest is like what is planned for plants.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Likeness {
    /// The same way, about that day; or nothing is planned any more.
    Same,
    /// A cut instead of a pull, about that day.
    OtherWay,
    /// The same way on quite another day.
    Far,
    /// Something else is planned.
    No,
}

/// How like a harvest is to the nearest one planned for plants, and how far from it in days.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Match {
    pub(super) likeness: Likeness,
    days: i64,
    /// Number of the planned harvest in its part, from 0, if it is one.
    pub(super) planned: Option<usize>,
}

/// Compares a harvest taken on a day with those planned for plants of a part of which so many are over.
pub(super) fn nearest(part: Option<&Part>, harvests_done: usize, day: NaiveDate, way: Way) -> Match {
    let open = part.iter().flat_map(|part| part.harvests.iter().enumerate()).skip(harvests_done);
    let nothing_planned = open.clone().next().is_none();
    let like = open.filter_map(|(number, harvest)| {
        let likeness = likeness(harvest, day, way)?;
        Some(Match { likeness, days: distance(harvest, day), planned: Some(number) })
    });
    like.min().unwrap_or(Match {
        likeness: if nothing_planned { Likeness::Same } else { Likeness::No },
        // Plants left over come after those of that very day.
        days: 1,
        planned: None,
    })
}

/// Whether a harvest recorded for a day, to which no other planned one is nearer, is this one, so that it was not
/// taken as planned besides.
pub(super) fn stands_for(planned: &Harvest, day: NaiveDate, way: Way) -> bool {
    likeness(planned, day, way).is_some() || distance(planned, day) <= SAME_HARVEST
}

fn likeness(planned: &Harvest, day: NaiveDate, way: Way) -> Option<Likeness> {
    match (planned.way == way, distance(planned, day) <= SAME_HARVEST) {
        (true, true) => Some(Likeness::Same),
        (true, false) => Some(Likeness::Far),
        (false, true) if way == Way::Cut => Some(Likeness::OtherWay),
        _ => None,
    }
}

fn distance(planned: &Harvest, day: NaiveDate) -> i64 {
    days_between(planned.date, day).abs()
}
