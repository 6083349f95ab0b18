//! How full nurseries and tanks are on a day.

use super::calendar::{DateSpan, Week};
use super::ids::{SiteId, TankId};
use super::plan::{Batch, Origin, Plan};
use super::site::Site;
use super::term::Term;
use chrono::NaiveDate;

pub use super::water::standing;

/// Holes of a tank in use.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub struct HolesInUse {
    /// Planted holes and those left empty beside wide plants.
    pub holes: u32,
    /// Planted holes alone.
    pub planted: u32,
}

/// Nursery cells in use at the end of `day`: one for each plug needed to give the plants that have been
/// sown and not yet moved, one for each plant that stood there when the term began.
pub fn cells(term: &Term, plan: &Plan, site: &SiteId, day: NaiveDate) -> u32 {
    plan.batches
        .iter()
        .filter(|batch| batch.site == *site && batch.sown <= day)
        .map(|batch| waiting(term, batch, day))
        .sum()
}

/// Cells a batch takes at the end of `day`, on or after the day it was sown.
pub fn waiting(term: &Term, batch: &Batch, day: NaiveDate) -> u32 {
    let plants = batch.parts.iter().filter(|part| day < part.transplant).map(|part| part.plants).sum();
    match term.crop(&batch.crop) {
        Some(wanted) if plants > 0 && batch.origin == Origin::Sown => {
            let expected = |plants| wanted.crop.plugs_for(plants, 0.0);
            // Spare plugs stay until the last plant has moved.
            expected(plants) + batch.plugs.saturating_sub(expected(batch.plants()))
        }
        _ => plants,
    }
}

/// Holes in use in a tank at the end of `day`.
pub fn holes(plan: &Plan, site: &SiteId, tank: &TankId, day: NaiveDate) -> HolesInUse {
    let mut use_now = HolesInUse::default();
    for (_, part) in standing(plan, site, tank, day) {
        use_now.planted += part.plants;
        use_now.holes += part.plants + part.kept_empty.len() as u32;
    }
    use_now
}

/// Room in use at a site.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct RoomInUse {
    /// Nursery cells.
    pub cells: u32,
    /// Holes of all tanks.
    pub holes: HolesInUse,
}

/// Room in use at the end of each day of the term, from its first day to its last.
pub fn daily(term: &Term, plan: &Plan, site: &Site) -> Vec<(NaiveDate, RoomInUse)> {
    over(term, plan, site, DateSpan { first: term.start, last: term.end })
}

/// Room in use at the end of each day of a stretch.
pub fn over(term: &Term, plan: &Plan, site: &Site, days: DateSpan) -> Vec<(NaiveDate, RoomInUse)> {
    days.days()
        .map(|day| {
            let mut room = RoomInUse { cells: cells(term, plan, &site.id, day), ..RoomInUse::default() };
            for tank in &site.tanks {
                let more = holes(plan, &site.id, &tank.id, day);
                room.holes.holes += more.holes;
                room.holes.planted += more.planted;
            }
            (day, room)
        })
        .collect()
}

/// The most that is in use on any day of each week; cells, holes and planted holes each by itself.
pub fn weekly_most(days: &[(NaiveDate, RoomInUse)]) -> Vec<(Week, RoomInUse)> {
    days.chunk_by(|(one, _), (next, _)| Week::of(*one) == Week::of(*next))
        .map(|week| {
            let most = |figure: fn(&RoomInUse) -> u32| week.iter().map(|(_, room)| figure(room)).max();
            let room = RoomInUse {
                cells: most(|room| room.cells).unwrap_or(0),
                holes: HolesInUse {
                    holes: most(|room| room.holes.holes).unwrap_or(0),
                    planted: most(|room| room.holes.planted).unwrap_or(0),
                },
            };
            (Week::of(week[0].0), room)
        })
        .collect()
}

/// Holes of all tanks of a site.
pub fn all_holes(site: &Site) -> u32 {
    site.tanks.iter().map(|tank| tank.lid.holes()).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    #[test]
    fn a_week_tells_the_most_of_each_figure() {
        let room = |cells, holes, planted| RoomInUse { cells, holes: HolesInUse { holes, planted } };
        let days = [
            (day("2026-09-12"), room(9, 1, 1)),
            (day("2026-09-13"), room(2, 5, 3)),
            (day("2026-09-14"), room(4, 4, 4)),
        ];
        assert_eq!(
            weekly_most(&days),
            [(Week::of(day("2026-09-07")), room(9, 5, 3)), (Week::of(day("2026-09-14")), room(4, 4, 4))]
        );
        assert_eq!(weekly_most(&[]), []);
    }
}
