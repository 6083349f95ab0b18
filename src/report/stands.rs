//! What stands where, in words.

use super::words::{counted, short_day};
use crate::domain::ids::{BatchId, SiteId};
use crate::domain::lid::Room;
use crate::domain::site::Tank;
use crate::domain::state::{BatchState, State, Step, TankOut};
use crate::domain::term::Term;

/// What stands of a batch: `4 plugs in the nursery, 6 plants in tank blue`.
pub(super) fn in_words(batch: &BatchState) -> String {
    let mut pieces = Vec::new();
    if batch.tray.plugs > 0 {
        pieces.push(format!("{} in the nursery", tray(batch)));
    }
    pieces.extend(tanks(batch));
    if pieces.is_empty() {
        return if batch.sown.is_some() { "nothing stands any more" } else { "nothing is sown yet" }
            .to_owned();
    }
    pieces.join(", ")
}

/// `24 plugs with 20 seedlings`.
pub(super) fn tray(batch: &BatchState) -> String {
    let plugs = counted(batch.tray.plugs, "plug");
    batch.tray.came_up.map_or(plugs.clone(), |up| format!("{plugs} with {}", counted(up, "seedling")))
}

/// For each tank with plants of the batch: `6 plants in tank blue`.
pub(super) fn tanks(batch: &BatchState) -> Vec<String> {
    let mut tanks: Vec<_> = batch.stands.iter().map(|stand| &stand.tank).collect();
    tanks.dedup();
    tanks
        .into_iter()
        .map(|tank| format!("{} in tank {tank}", counted(batch.in_tank(tank), "plant")))
        .collect()
}

/// The next piece of work for a batch that is still to be done.
pub(super) fn next_step<'a>(state: &'a State, batch: &BatchId) -> Option<&'a Step> {
    state.steps.iter().find(|step| step.batch == *batch && step.is_open())
}

/// Nursery cells in use at a site.
pub(super) fn cells(state: &State, site: &SiteId) -> u32 {
    state.batches.iter().filter(|batch| batch.site == *site).map(|batch| batch.tray.plugs).sum()
}

/// Plants in a tank, and holes they take, those left empty beside wide ones included.
pub(super) fn plants_and_holes(term: &Term, state: &State, site: &SiteId, tank: &Tank) -> (u32, u32) {
    let (mut plants, mut holes) = (0, 0);
    for batch in state.batches.iter().filter(|batch| batch.site == *site) {
        let here = batch.in_tank(&tank.id);
        let spacing = term.crop(&batch.crop).map(|wanted| wanted.crop.spacing.value.cm());
        let room = spacing.and_then(|spacing| tank.lid.room_for(spacing)).unwrap_or(Room::Single);
        plants += here;
        holes += here * room.holes();
    }
    (plants, holes)
}

/// `6 plants, 12 of 24 holes taken`.
pub(super) fn taken(term: &Term, state: &State, site: &SiteId, tank: &Tank) -> String {
    let (plants, holes) = plants_and_holes(term, state, site, tank);
    let all = tank.lid.holes();
    let text = format!("{}, {holes} of {all} holes taken", counted(plants, "plant"));
    if holes <= all { text } else { format!("{text} (was a harvest or loss not recorded?)") }
}

/// The outage of a tank, if it is out of use.
pub(super) fn outage<'a>(state: &'a State, site: &SiteId, tank: &Tank) -> Option<&'a TankOut> {
    state.tanks_out.iter().find(|out| out.site == *site && out.tank == tank.id)
}

/// `out of use since 5 Oct, until 9 Oct (j004)`.
pub(super) fn outage_in_words(out: &TankOut) -> String {
    let until = out.until.map_or(String::new(), |until| format!(", until {}", short_day(until)));
    format!("out of use since {}{until} ({})", short_day(out.from), out.entry)
}
