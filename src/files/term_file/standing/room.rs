//! Whether what stands has room: cells, holes, spacing and a solution it bears.

use super::Draft;
use crate::domain::ids::{BatchId, SiteId, TankId};
use crate::domain::lid::{Room, Spot};
use crate::domain::site::Tank;
use crate::domain::term::Stage;
use crate::files::problem::suggest;
use crate::files::reading::Reading;
use std::collections::HashMap;

/// What the batches looked at so far take up.
#[derive(Default)]
struct Occupied<'a> {
    /// Cells by site.
    cells: HashMap<&'a SiteId, u32>,
    /// Holes by site and tank.
    holes: HashMap<(&'a SiteId, &'a TankId), u32>,
    /// The batch in a hole, by site, tank and number.
    by_hole: HashMap<(&'a SiteId, &'a TankId, u32), &'a BatchId>,
}

/// Notes every batch that cannot stand where it is said to stand.
pub(super) fn check<'a>(reading: &mut Reading, drafts: &'a [Draft<'a>]) {
    let mut occupied = Occupied::default();
    for draft in drafts {
        match &draft.standing.stage {
            Stage::Nursery => occupied.in_nursery(reading, draft),
            Stage::Tank { tank: id, holes, .. } => {
                let Some(tank) = draft.site.tank(id) else {
                    let help = suggest(id.as_str(), draft.site.tanks.iter().map(|tank| tank.id.as_str()));
                    let title = format!("there is no tank \"{id}\" at {}", draft.site.name);
                    reading.note(&draft.places.tank, title, help);
                    continue;
                };
                let Some(room) = room_in(reading, draft, tank) else {
                    continue;
                };
                occupied.count_holes(reading, draft, tank, room);
                let places = tank.lid.spots(room);
                for place in named_places(reading, draft, tank, &places, holes) {
                    if !occupied.take(reading, draft, tank, place) {
                        break;
                    }
                }
            }
        }
    }
}

impl<'a> Occupied<'a> {
    fn in_nursery(&mut self, reading: &mut Reading, draft: &Draft<'a>) {
        let used = self.cells.entry(&draft.site.id).or_default();
        *used += draft.standing.plants;
        let cells = draft.site.nursery.cells;
        if *used > cells {
            let name = &draft.site.name;
            let title = format!("the nursery at {name} has too few cells for what stands in it");
            let help = format!("it has {cells} cells; correct the number of plants or of cells");
            reading.note(&draft.places.plants, title, help);
        }
    }

    fn count_holes(&mut self, reading: &mut Reading, draft: &Draft<'a>, tank: &'a Tank, room: Room) {
        let plants = draft.standing.plants;
        let used = self.holes.entry((&draft.site.id, &tank.id)).or_default();
        *used += plants * room.holes();
        if *used <= tank.lid.holes() && plants as usize <= tank.lid.spots(room).len() {
            return;
        }
        let title = format!("tank {} has too few holes for what stands in it", tank.id);
        let wide = match room {
            Room::Single => String::new(),
            Room::Pair | Room::Block => {
                format!("; {} takes {} holes a plant here", draft.wanted.crop.name, room.holes())
            }
        };
        let holes = tank.lid.holes();
        let help = format!("it has {holes} holes{wide}; correct the number of plants or the tank");
        reading.note(&draft.places.plants, title, help);
    }

    /// Whether the place was free.
    fn take(&mut self, reading: &mut Reading, draft: &'a Draft<'a>, tank: &'a Tank, place: &Spot) -> bool {
        for hole in std::iter::once(place.hole).chain(place.kept_empty.iter().copied()) {
            let batch = &draft.standing.batch;
            let Some(other) = self.by_hole.insert((&draft.site.id, &tank.id, hole), batch) else {
                continue;
            };
            let (title, help) = if other == batch {
                (format!("hole {hole} is named twice"), "name each hole once")
            } else {
                let title = format!("hole {hole} of tank {} is already taken by \"{other}\"", tank.id);
                (title, "count the holes again; wide plants keep the holes beside them empty")
            };
            reading.note(&draft.places.holes, title, help);
            return false;
        }
        true
    }
}

/// The room a plant takes in that tank, if it can stand there at all.
fn room_in(reading: &mut Reading, draft: &Draft<'_>, tank: &Tank) -> Option<Room> {
    let crop = &draft.wanted.crop;
    if !crop.tolerates(tank.ph, tank.ec) {
        let title = format!("{} does not stand well in tank {}", crop.name, tank.id);
        let (ec, ph) = (&crop.ec.value, &crop.ph.value);
        let help = format!(
            "it needs an EC of {} to {} mS/cm and a pH of {} to {}; correct the tank or its set-point",
            ec.low, ec.high, ph.low, ph.high
        );
        reading.note(&draft.places.tank, title, help);
        return None;
    }
    let room = tank.lid.room_for(crop.spacing.value.cm());
    if room.is_none() {
        let title = format!("{} is too wide for the lid of tank {}", crop.name, tank.id);
        let help = format!(
            "it needs {} cm between plants; correct the tank or its spacing",
            crop.spacing.value.cm()
        );
        reading.note(&draft.places.tank, title, help);
    }
    room
}

/// The places of the holes named, one a plant; empty if no holes are named or they are wrong.
fn named_places<'p>(
    reading: &mut Reading,
    draft: &Draft<'_>,
    tank: &Tank,
    places: &'p [Spot],
    named: &[u32],
) -> Vec<&'p Spot> {
    let place = &draft.places.holes;
    if !named.is_empty() && named.len() != draft.standing.plants as usize {
        let title = format!("{} holes are named for {} plants", named.len(), draft.standing.plants);
        reading.note(place, title, "name one hole a plant, or leave holes out");
        return Vec::new();
    }
    let mut found = Vec::new();
    for hole in named {
        if let Some(fit) = places.iter().find(|fit| fit.hole == *hole) {
            found.push(fit);
            continue;
        }
        let (title, help) = if *hole > tank.lid.holes() {
            let title = format!("tank {} has no hole {hole}", tank.id);
            (title, format!("its holes are numbered 1 to {}, row by row", tank.lid.holes()))
        } else {
            let fitting: Vec<String> = places.iter().map(|fit| fit.hole.to_string()).collect();
            let title = format!("{} is too wide for hole {hole} of tank {}", draft.wanted.crop.name, tank.id);
            (title, format!("use holes {}, or leave holes out", fitting.join(", ")))
        };
        reading.note(place, title, help);
        return Vec::new();
    }
    found
}
