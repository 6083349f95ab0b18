//! Tanks: lids, water and the solution they are kept at.

use crate::domain::ids::TankId;
use crate::domain::lid::Lid;
use crate::domain::site::Tank;
use crate::domain::units::LITRES_PER_GALLON;
use crate::files::reading::{Entries, Noted, Reading, shorten};
use crate::files::tree::Node;
use std::ops::Range;

const KEYS: [&str; 9] = ["id", "count", "holes", "spacing", "litres", "gallons", "reservoir", "ec", "ph"];

/// All tanks of a site; none if any of them could not be read.
pub(super) fn read(reading: &mut Reading, entries: &Entries<'_>) -> Option<Vec<Tank>> {
    let node = reading.need(entries, "tanks", "tanks: with a list of tanks below it")?;
    let nodes = Reading::items(node);
    if nodes.is_empty() {
        let key = entries.key_span("tanks");
        reading.note(&key, "there is no tank", "add at least one tank with its holes and solution");
        return None;
    }
    let mut all: Vec<Tank> = Vec::new();
    let mut complete = true;
    for node in nodes {
        let Some((place, tanks)) = tank_entry(reading, node) else {
            complete = false;
            continue;
        };
        for tank in tanks {
            if all.iter().any(|other| other.id == tank.id) {
                let title = format!("there are two tanks \"{}\" at this site", tank.id);
                reading.note(&place, title, "give each tank an id of its own");
                complete = false;
                break;
            }
            all.push(tank);
        }
    }
    complete.then_some(all)
}

/// One entry of the list: a tank, or several alike.
fn tank_entry(reading: &mut Reading, node: &Node) -> Option<(Range<usize>, Vec<Tank>)> {
    let entries = reading.map(node, &KEYS)?;
    let id_node = reading.need(&entries, "id", "id: a");
    let id = id_node.and_then(|node| reading.id(node));
    let count = reading.optional(&entries, "count", |r, node| r.whole(node, 1..=50));
    let holes = reading.need(&entries, "holes", "holes: 4 x 6").and_then(|node| holes(reading, node));
    let spacing = reading
        .need(&entries, "spacing", "spacing: 15 cm")
        .and_then(|node| reading.length(node, 2.0..=100.0));
    let litres = litres(reading, &entries);
    let reservoir = reservoir(reading, &entries, litres);
    let ec = reading.need(&entries, "ec", "ec: 1.6").and_then(|node| reading.number(node, 0.2..=6.0));
    let ph = reading.need(&entries, "ph", "ph: 6.0").and_then(|node| reading.number(node, 4.0..=8.5));
    let (id, count, (rows, columns)) = (id?, count.ok()?, holes?);
    let tank = Tank {
        id: TankId::new(id),
        lid: Lid { rows, columns, spacing_cm: spacing? },
        usable_litres: litres?,
        reservoir_litres: reservoir.ok()?,
        ec: ec?,
        ph: ph?,
        out: Vec::new(),
    };
    let tanks = match count {
        None => vec![tank],
        Some(count) => {
            (1..=count).map(|n| Tank { id: TankId::new(format!("{id}-{n}")), ..tank.clone() }).collect()
        }
    };
    Some((id_node?.span.clone(), tanks))
}

/// Rows and columns, such as `4 x 6`.
fn holes(reading: &mut Reading, node: &Node) -> Option<(u32, u32)> {
    let text = reading.text(node)?;
    let parts = text.split(['x', 'X', '×']).map(|part| part.trim().parse::<u32>().ok());
    if let [Some(rows), Some(columns)] = parts.collect::<Vec<_>>()[..]
        && (1..=50).contains(&rows)
        && (1..=50).contains(&columns)
    {
        return Some((rows, columns));
    }
    let title = format!("\"{}\" is not rows and columns of holes", shorten(text));
    reading.note(&node.span, title, "write rows x columns, each from 1 to 50, such as 4 x 6");
    None
}

/// Water the plants can draw, in litres or US gallons.
fn litres(reading: &mut Reading, entries: &Entries<'_>) -> Option<f64> {
    match (entries.get("litres"), entries.get("gallons")) {
        (Some(node), None) => reading.number(node, 0.5..=10_000.0),
        (None, Some(node)) => reading.number(node, 0.2..=2_500.0).map(|gallons| gallons * LITRES_PER_GALLON),
        (None, None) => {
            reading.need(entries, "litres", "litres: 40 (or gallons: 10), the water plants can draw");
            None
        }
        (Some(_), Some(_)) => {
            let place = entries.key_span("gallons");
            reading.note(&place, "the water is given both in litres and in gallons", "keep one of the two");
            None
        }
    }
}

/// All the water of a full tank, at least what plants can draw.
fn reservoir(
    reading: &mut Reading,
    entries: &Entries<'_>,
    usable: Option<f64>,
) -> Result<Option<f64>, Noted> {
    let whole = reading.optional(entries, "reservoir", |r, node| r.volume(node, 0.5..=20_000.0))?;
    match (whole, usable) {
        // What was given in gallons may differ by rounding.
        (Some(whole), Some(usable)) if whole < usable - 0.05 => {
            let title = "the whole reservoir holds less than plants can draw from it";
            reading.note(&entries.key_span("reservoir"), title, "make reservoir the larger of the two");
            Err(Noted)
        }
        _ => Ok(whole),
    }
}
