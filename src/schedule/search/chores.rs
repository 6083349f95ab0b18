//! What a batch's tasks cost: a price a task, one for each further tank it leads to, and one for each plant that is missing
//! to a handful (or to what fits the tank), because a class cannot be sent to a single plant, nor to pull one of those it
//! cuts; and one for each part in a tank beyond the first, because its plants have to be told apart from their neighbours.

use super::super::instance::{Index, Lot};
use crate::domain::task_numbers::TaskKind;
use crate::domain::term::Rules;

/// Plants with which the same is done in one tank on one day: the task's kind, the day, the tank, whether they are pulled,
/// and how many there are.
type Handful = (TaskKind, Index, u16, bool, i32);

/// Points for the tasks of a batch's parts but its sowing, which has a price of its own; `moved` if its plants are moved
/// into their tanks by hand. `handfuls` are by tank.
pub(super) fn price(rules: &Rules, handfuls: &[i32], moved: bool, lots: &[Lot]) -> f64 {
    let weights = &rules.weights;
    let mut done: Vec<Handful> = Vec::with_capacity(lots.len() * 3);
    for Lot { path, plants } in lots {
        if moved && !path.lost_in_nursery() {
            done.push((TaskKind::Transplant, path.moved, path.tank, false, *plants));
        }
        let stays = path.harvests().len().saturating_sub(usize::from(path.lost.is_none()));
        for (number, day) in path.harvests().iter().enumerate() {
            done.push((TaskKind::Harvest, *day, path.tank, number >= stays, *plants));
        }
    }
    done.sort_unstable();
    done.dedup_by(|next, kept| {
        let same = (next.0, next.1, next.2, next.3) == (kept.0, kept.1, kept.2, kept.3);
        kept.4 += if same { next.4 } else { 0 };
        same
    });
    let tasks = done.chunk_by(|one, next| (one.0, one.1) == (next.0, next.1)).count();
    let stops = done.chunk_by(|one, next| (one.0, one.1, one.2) == (next.0, next.1, next.2)).count();
    let scant: i32 = done.iter().map(|own| (handfuls[usize::from(own.2)] - own.4).max(0)).sum();
    weights.task * tasks as f64
        + weights.split * splits(lots) as f64
        + weights.further_tank * (stops - tasks) as f64
        + weights.scant * f64::from(scant)
}

/// Parts in a tank beyond the first there; lost plants have no care of their own.
fn splits(lots: &[Lot]) -> usize {
    let in_tanks = lots.iter().filter(|lot| lot.path.lost.is_none());
    let mut tanks: Vec<u16> = in_tanks.map(|lot| lot.path.tank).collect();
    tanks.sort_unstable();
    let parts = tanks.len();
    tanks.dedup();
    parts - tanks.len()
}
