//! Whether what stands has room: cells, holes, spacing and a solution it bears.

use super::Draft;
use crate::domain::lid::{Place, Room};
use crate::domain::site::{Site, Tank};
use crate::domain::term::Stage;
use crate::files::problem::suggest;
use crate::files::reading::Reading;
use std::collections::HashMap;

/// Notes every batch that cannot stand where it is said to stand.
pub(super) fn check(reading: &mut Reading, drafts: &[Draft<'_>]) {
    // Used up so far: cells by site, holes by site and tank.
    let mut cells: HashMap<&str, u32> = HashMap::new();
    let mut holes: HashMap<(&str, &str), u32> = HashMap::new();
    let mut taken: HashMap<(&str, &str, u32), &str> = HashMap::new();
    for draft in drafts {
        let site = draft.site;
        let Stage::Tank {
            tank: id,
            holes: named,
            ..
        } = &draft.standing.stage
        else {
            let used = cells.entry(site.id.as_str()).or_default();
            *used += draft.standing.plants;
            check_cells(reading, draft, *used);
            continue;
        };
        let Some(tank) = site.tank(id) else {
            let help = suggest(id.as_str(), site.tanks.iter().map(|tank| tank.id.as_str()));
            reading.note(
                &draft.places.tank,
                format!("there is no tank \"{id}\" at {}", site.name),
                help,
            );
            continue;
        };
        let Some(room) = room_in(reading, draft, tank) else {
            continue;
        };
        let key = (site.id.as_str(), tank.id.as_str());
        let used = holes.entry(key).or_default();
        *used += draft.standing.plants * room.holes();
        let places = tank.lid.places(room);
        if *used > tank.lid.holes() || draft.standing.plants as usize > places.len() {
            let title = format!("tank {} has too few holes for what stands in it", tank.id);
            let wide = match room {
                Room::Single => String::new(),
                Room::Pair | Room::Block => {
                    format!(
                        "; {} takes {} holes a plant here",
                        draft.wanted.crop.name,
                        room.holes()
                    )
                }
            };
            let help = format!(
                "it has {} holes{wide}; correct the number of plants or the tank",
                tank.lid.holes()
            );
            reading.note(&draft.places.plants, title, help);
        }
        if let Some(places) = named_places(reading, draft, tank, &places, named) {
            for hole in places
                .iter()
                .flat_map(|place| std::iter::once(place.hole).chain(place.kept_empty.iter().copied()))
            {
                let other = taken.insert((key.0, key.1, hole), draft.standing.batch.as_str());
                if let Some(other) = other {
                    let title = format!("hole {hole} of tank {} is already taken by \"{other}\"", tank.id);
                    let help = "count the holes again; wide plants keep the holes beside them empty";
                    reading.note(&draft.places.holes, title, help);
                    break;
                }
            }
        }
    }
}

fn check_cells(reading: &mut Reading, draft: &Draft<'_>, used: u32) {
    let site: &Site = draft.site;
    if used > site.nursery.cells {
        let title = format!(
            "the nursery at {} has too few cells for what stands in it",
            site.name
        );
        let help = format!(
            "it has {} cells; correct the number of plants or of cells",
            site.nursery.cells
        );
        reading.note(&draft.places.plants, title, help);
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

/// The places of the holes named, one a plant; none if no holes are named or they are wrong.
fn named_places<'p>(
    reading: &mut Reading,
    draft: &Draft<'_>,
    tank: &Tank,
    places: &'p [Place],
    named: &[u32],
) -> Option<Vec<&'p Place>> {
    if named.is_empty() {
        return None;
    }
    let place = &draft.places.holes;
    if named.len() != draft.standing.plants as usize {
        let title = format!(
            "{} holes are named for {} plants",
            named.len(),
            draft.standing.plants
        );
        reading.note(place, title, "name one hole a plant, or leave holes out");
        return None;
    }
    let mut found = Vec::new();
    for hole in named {
        if let Some(fit) = places.iter().find(|fit| fit.hole == *hole) {
            found.push(fit);
            continue;
        }
        let (title, help) = if *hole > tank.lid.holes() {
            let title = format!("tank {} has no hole {hole}", tank.id);
            (
                title,
                format!("its holes are numbered 1 to {}, row by row", tank.lid.holes()),
            )
        } else {
            let fitting: Vec<String> = places.iter().map(|fit| fit.hole.to_string()).collect();
            let title = format!(
                "{} is too wide for hole {hole} of tank {}",
                draft.wanted.crop.name, tank.id
            );
            (
                title,
                format!("use holes {}, or leave holes out", fitting.join(", ")),
            )
        };
        reading.note(place, title, help);
        return None;
    }
    Some(found)
}
