//! Recorded harvests, carried over to the plants they were taken from.

use super::Work;
use crate::domain::calendar::days_between;
use crate::domain::growth::Way;
use crate::domain::plan::{Arithmetic, Batch, Harvest, Part};
use crate::replan::clash::stands;
use crate::replan::split::Ground;
use chrono::NaiveDate;

/// A planned harvest so many days from a recorded one is taken for the same.
const SAME_HARVEST: i64 = 7;

/// Plants were harvested: those whose harvest was planned nearest or that were left over by one, then others that stand
/// there. What was due with them and is left standing keeps neither that harvest nor later ones, so that new days are
/// found for it. `is_told` says whether a harvest on a day is recorded itself.
pub(super) fn harvested(
    batch: &mut Batch,
    ground: &Ground,
    (task, way): (&Work, Way),
    plants: u32,
    is_told: impl Fn(NaiveDate) -> bool,
) {
    let most = ground.wanted.crop.regrowth.as_ref().map_or(1, |regrowth| regrowth.harvests.value);
    let here = |part: &Part| part.tank == *task.tank && stands(part, task.day);
    let near = |part: &Part| {
        let open = |harvest: &&Harvest| harvest.date == task.day || !is_told(harvest.date);
        let ranked = part.harvests.iter().filter(open).filter_map(|harvest| {
            let (likeness, days) = likeness(harvest, task.day, way)?;
            Some((likeness, days, Some(harvest.date)))
        });
        let known = part.lost.is_none() && part.tank == *task.tank && part.transplant < task.day;
        // Plants left over come after those of that very day.
        let left_over = || (here(part) && is_left_over(part, task.day)).then_some((Likeness::Same, 1, None));
        ranked.min().filter(|_| known).or_else(left_over)
    };
    let is_due = |due: Option<NaiveDate>| due.is_some_and(|due| due <= task.day);
    let planned = batch.parts.iter().filter_map(near).min();
    if let Some(due) = planned.filter(|(likeness, _, due)| *likeness < Likeness::Far && is_due(*due)) {
        let same = |part: &Part| near(part).filter(|found| *found == due);
        let all: u32 = batch.parts.iter().filter(|part| same(part).is_some()).map(|part| part.plants).sum();
        ground.change(batch, all.saturating_sub(plants), same, |part| {
            part.harvests.retain(|harvest| Some(harvest.date) < due.2);
        });
    }
    let meant = ground.change(batch, plants, near, |part| {
        let due = near(part).and_then(|(_, _, due)| due);
        take(part, due, (task.day, way), most);
    });
    let others = |part: &Part| {
        (here(part) && part.harvests.iter().all(|harvest| harvest.date != task.day)).then_some(())
    };
    ground.change(batch, plants - meant, others, |part| take(part, None, (task.day, way), most));
}

/// Whether nothing is planned for plants any more.
fn is_left_over(part: &Part, day: NaiveDate) -> bool {
    part.harvests.last().is_none_or(|last| last.way == Way::Cut && last.date < day)
}

/// How much a recorded harvest is like a planned one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Likeness {
    /// The same way, about that day.
    Same,
    /// A cut instead of a pull, about that day.
    OtherWay,
    /// The same way on quite another day.
    Far,
}

/// `None` if a recorded harvest cannot be this planned one; else how far it is in days, too.
fn likeness(harvest: &Harvest, day: NaiveDate, way: Way) -> Option<(Likeness, i64)> {
    let days = days_between(day, harvest.date).abs();
    let likeness = match (harvest.way == way, days <= SAME_HARVEST) {
        (true, true) => Likeness::Same,
        (true, false) => Likeness::Far,
        (false, true) if way == Way::Cut => Likeness::OtherWay,
        _ => return None,
    };
    Some((likeness, days))
}

/// Moves the harvest planned for the day `due`, or another one, to the day and way it really was. A pull ends the part,
/// and so does the last of `most` harvests: nobody knows what would grow after it.
fn take(part: &mut Part, due: Option<NaiveDate>, (day, way): (NaiveDate, Way), most: u32) {
    let planned = part.harvests.iter().position(|harvest| Some(harvest.date) == due);
    let planned = planned.map(|at| part.harvests.remove(at));
    let before = part.harvests.partition_point(|earlier| earlier.date < day);
    let later = part.harvests.split_off(before);
    let number = part.cuts_before + before as u32 + 1;
    let way = if number < most { way } else { Way::WholeHead };
    part.harvests.push(match planned {
        Some(planned) => Harvest { date: day, way, ..planned },
        None => unplanned(day, way, number),
    });
    if way == Way::Cut {
        part.harvests.extend(later.into_iter().filter(|later| later.date > day));
    }
    // What was planned after a cut that came in between would be one harvest too many.
    let room = most.saturating_sub(part.cuts_before) as usize;
    part.harvests.truncate(room.max(before + 1));
}

/// A harvest nobody planned. What it gives is worked out when the plan is made anew.
fn unplanned(day: NaiveDate, way: Way, number: u32) -> Harvest {
    Harvest { date: day, way, number, grams: 0.0, arithmetic: Arithmetic::default(), serves: Vec::new() }
}
