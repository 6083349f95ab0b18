//! Where harvested plants stood: in one tank, told by keys of the entry itself, or in several, as a list.

use super::{count, holes, tank};
use crate::domain::journal::InTank;
use crate::files::reading::{Entries, Reading};
use crate::files::tree::Node;

/// The tanks, and how many plants of each.
pub(super) fn read(reading: &mut Reading, keys: &Entries<'_>) -> Option<Vec<InTank>> {
    let Some(list) = keys.get("places") else {
        return in_tank(reading, keys).map(|place| vec![place]);
    };
    for one in ["tank", "holes"] {
        if keys.get(one).is_some() {
            let help = "leave it out; each of the places has its own";
            reading.note(&keys.key_span(one), format!("\"{one}\" does not go with \"places\""), help);
        }
    }
    let all = count(reading, keys, "plants", 1);
    let nodes = Reading::items(list);
    let places: Option<Vec<InTank>> = nodes.iter().map(|node| place(reading, node)).collect();
    let (places, all) = (places?, all?);
    if places.is_empty() || places.iter().map(|place| u64::from(place.plants)).sum::<u64>() != u64::from(all)
    {
        let help = "let the plants of all places add up to the number of plants";
        reading.note(&list.span, format!("these are not {all} plants"), help);
        return None;
    }
    let twice =
        places.iter().enumerate().find(|(at, place)| places[..*at].iter().any(|one| one.tank == place.tank));
    if let Some((at, place)) = twice {
        let title = format!("tank {} is named twice", place.tank);
        reading.note(&nodes[at].span, title, "put all its plants into one place");
        return None;
    }
    Some(places)
}

fn place(reading: &mut Reading, node: &Node) -> Option<InTank> {
    let keys = reading.map(node, &["tank", "plants", "holes"])?;
    in_tank(reading, &keys)
}

fn in_tank(reading: &mut Reading, keys: &Entries<'_>) -> Option<InTank> {
    let (tank, plants) = (tank(reading, keys), count(reading, keys, "plants", 1));
    let holes = holes(reading, keys, plants);
    Some(InTank { tank: tank?, plants: plants?, holes: holes? })
}
