//! The journal's tree to entries, with every mistake placed.

mod places;

use super::shape::{HOLDS, KINDS, WAYS};
use crate::domain::calendar::can_be_meant;
use crate::domain::ids::{BatchId, SiteId, TankId};
use crate::domain::journal::{
    Amount, Entry, EntryId, Harvested, Kind, MOST_BEHIND, Measured, Measuring, Place, Sample, What,
};
use crate::files::problem::{Problems, TextFile};
use crate::files::reading::{Entries, Reading, shorten};
use crate::files::tree::Node;
use chrono::{DateTime, Utc};
use std::collections::BTreeMap;
use std::ops::Range;

/// No school has more of anything that is counted.
const MOST: u32 = 100_000;
/// Grams; as the largest mass.
const MOST_GRAMS: f64 = 10_000_000.0;
/// Centimetres or leaves of one plant.
const MOST_OF_A_PLANT: f64 = 10_000.0;
/// Characters of a note or cause.
const LONGEST_TEXT: usize = 1_000;

/// Keys of every entry.
pub(super) const COMMON: [&str; 7] = ["id", "recorded", "by", "replaces", "day", "site", "what"];

/// Keys of a kind, besides the common ones.
pub(super) fn keys(kind: Kind) -> &'static [&'static str] {
    match kind {
        Kind::Sown | Kind::CameUp => &["batch", "plugs"],
        Kind::Transplanted => &["batch", "tank", "plants"],
        Kind::Lost => &["batch", "tank", "plugs", "plants", "holes", "cause"],
        Kind::Harvested => {
            &["batch", "tank", "plants", "holes", "places", "way", "grams", "measured-as", "samples"]
        }
        Kind::Measured => &["batch", "tank", "holes", "samples"],
        Kind::PutOff => &["batch", "until"],
        Kind::TankOut => &["tank", "until"],
        Kind::TankBack => &["tank"],
        Kind::TargetChanged => &["grams", "holds"],
        Kind::Behind => &["batch", "days"],
        Kind::Note => &["batch", "text"],
        Kind::ClassLost | Kind::ClassAdded | Kind::Withdrawn => &[],
    }
}

/// The entries, each with its place.
pub(super) fn entries(file: &TextFile, root: &Node) -> Result<Vec<(Range<usize>, Entry)>, Problems> {
    let mut reading = Reading::new(file);
    let mut found = Vec::new();
    if let Some(keys) = reading.map(root, &["format", "entries"]) {
        if let Some(node) = reading.need(&keys, "format", "format: 1") {
            format(&mut reading, node);
        }
        let nodes = keys.get("entries").map(Reading::items).unwrap_or_default();
        found.extend(nodes.iter().filter_map(|node| {
            let span = reading.free_map(node, "keys")?.span.clone();
            Some((span, entry(&mut reading, node)?))
        }));
        check_numbers(&mut reading, &found);
    }
    reading.finish()?;
    Ok(found)
}

fn format(reading: &mut Reading, node: &Node) {
    if reading.text(node).is_some_and(|text| text != "1") {
        let help = "format: 1 is the only one known here; a newer sowtide may have written this journal";
        reading.note(&node.span, "this is a journal of another format", help);
    }
}

/// Every number once; what is replaced was written before and not replaced twice.
pub(super) fn check_numbers(reading: &mut Reading, found: &[(Range<usize>, Entry)]) {
    let mut known: BTreeMap<EntryId, &Entry> = BTreeMap::new();
    let mut replaced: BTreeMap<EntryId, EntryId> = BTreeMap::new();
    for (span, entry) in found {
        if let Some(old) = entry.replaces {
            match known.get(&old) {
                None => {
                    let title = format!("{} replaces {old}, which is not written before it", entry.id);
                    reading.note(span, title, "put back what was taken out, or correct the number");
                }
                Some(old) if old.what == What::Withdrawn => {
                    let title = format!("{} replaces {}, which only takes an entry back", entry.id, old.id);
                    reading.note(span, title, "record what happened as an entry of its own");
                }
                Some(_) => {}
            }
            if let Some(other) = replaced.insert(old, entry.id) {
                let title = format!("{old} is replaced twice, by {other} and by {}", entry.id);
                reading.note(span, title, format!("let this one replace {other} instead"));
            }
        }
        if known.insert(entry.id, entry).is_some() {
            let help = "give each entry a number of its own, counting up";
            reading.note(span, format!("there are two entries {}", entry.id), help);
        }
    }
}

/// The entry that a map of keys tells.
pub(super) fn entry(reading: &mut Reading, node: &Node) -> Option<Entry> {
    let free = reading.free_map(node, "keys")?;
    let what = reading.need(&free, "what", "what: harvested")?;
    let kind = reading.choice(what, &KINDS)?;
    let known = [&COMMON[..], keys(kind)].concat();
    let keys = reading.map(node, &known)?;
    let id = reading.need(&keys, "id", "id: j001").and_then(|node| number(reading, node));
    let recorded = reading
        .need(&keys, "recorded", "recorded: 2026-09-01T12:00:00Z")
        .and_then(|node| moment(reading, node));
    let day = reading.need(&keys, "day", "day: 2026-09-01").and_then(|node| reading.date(node));
    let site = optional(&keys, "site", |node| reading.id(node).map(SiteId::new));
    let by = optional(&keys, "by", |node| reading.name(node));
    let replaces = optional(&keys, "replaces", |node| number(reading, node));
    let what = details(reading, &keys, kind);
    if kind == Kind::Withdrawn {
        reading.need(&keys, "replaces", "replaces: j001");
    }
    if matches!(kind, Kind::TankOut | Kind::TankBack) {
        reading.need(&keys, "site", "site: room-12");
    }
    Some(Entry {
        id: id?,
        recorded: recorded?,
        day: day?,
        site: site?,
        by: by?,
        what: what?,
        replaces: replaces?,
    })
}

/// The outer `None` says that a mistake was noted.
#[expect(clippy::option_option, reason = "a key may be missing, and what is written may be wrong")]
fn optional<T>(keys: &Entries<'_>, key: &str, read: impl FnOnce(&Node) -> Option<T>) -> Option<Option<T>> {
    match keys.get(key) {
        None => Some(None),
        Some(node) => read(node).map(Some),
    }
}

fn details(reading: &mut Reading, keys: &Entries<'_>, kind: Kind) -> Option<What> {
    Some(match kind {
        Kind::Sown => {
            let (batch, plugs) = (batch(reading, keys), count(reading, keys, "plugs", 1));
            What::Sown { batch: batch?, plugs: plugs? }
        }
        Kind::CameUp => {
            let (batch, plugs) = (batch(reading, keys), count(reading, keys, "plugs", 0));
            What::CameUp { batch: batch?, plugs: plugs? }
        }
        Kind::Transplanted => {
            let (batch, tank) = (batch(reading, keys), tank(reading, keys));
            What::Transplanted { batch: batch?, tank: tank?, plants: count(reading, keys, "plants", 1)? }
        }
        Kind::Lost => lost(reading, keys)?,
        Kind::Harvested => What::Harvested(harvested(reading, keys)?),
        Kind::Measured => What::Measured(measuring(reading, keys)?),
        Kind::PutOff => {
            let until = reading.need(keys, "until", "until: 2026-09-08").and_then(|node| reading.date(node));
            What::PutOff { batch: batch(reading, keys)?, until: until? }
        }
        Kind::TankOut => {
            let tank = tank(reading, keys);
            What::TankOut { tank: tank?, until: optional(keys, "until", |node| reading.date(node))? }
        }
        Kind::TankBack => What::TankBack { tank: tank(reading, keys)? },
        Kind::ClassLost => What::ClassLost,
        Kind::ClassAdded => What::ClassAdded,
        Kind::TargetChanged => {
            let holds =
                reading.need(keys, "holds", "holds: that day").and_then(|node| reading.choice(node, &HOLDS));
            let grams = amount(reading, keys, "grams", MOST_GRAMS);
            What::TargetChanged { holds: holds?, grams: grams? }
        }
        Kind::Behind => {
            let days = reading.need(keys, "days", "days: 7");
            let days = days.and_then(|node| reading.whole(node, 1..=MOST_BEHIND));
            What::Behind { batch: batch(reading, keys)?, days: days? }
        }
        Kind::Note => {
            let about = optional(keys, "batch", |node| reading.id(node).map(BatchId::new));
            let text = reading.need(keys, "text", "text: ...").and_then(|node| words(reading, node));
            What::Note { batch: about?, text: text? }
        }
        Kind::Withdrawn => What::Withdrawn,
    })
}

fn lost(reading: &mut Reading, keys: &Entries<'_>) -> Option<What> {
    let batch = batch(reading, keys);
    let tank = optional(keys, "tank", |node| reading.id(node).map(TankId::new));
    let cause = reading.need(keys, "cause", "cause: dried out").and_then(|node| words(reading, node));
    let place = tank?.map_or(Place::Nursery, Place::Tank);
    let (key, other) = if place == Place::Nursery { ("plugs", "plants") } else { ("plants", "plugs") };
    if keys.get(other).is_some() {
        let title = format!("\"{other}\" does not fit the place");
        reading.note(&keys.key_span(other), title, "count plugs in the nursery and plants in a tank");
    }
    let number = optional(keys, key, |node| reading.whole(node, 1..=MOST));
    let plants = number?.map_or(Amount::All, Amount::Plants);
    let stated = if let Amount::Plants(plants) = plants { Some(plants) } else { None };
    let holes = holes(reading, keys, stated);
    if place == Place::Nursery && keys.get("holes").is_some() {
        let help = "leave them out, or name the tank";
        reading.note(&keys.key_span("holes"), "plugs in the nursery stand in no holes", help);
    }
    Some(What::Lost { batch: batch?, place, plants, holes: holes?, cause: cause? })
}

fn harvested(reading: &mut Reading, keys: &Entries<'_>) -> Option<Harvested> {
    let batch = batch(reading, keys);
    let places = places::read(reading, keys);
    let way = reading.need(keys, "way", "way: cut").and_then(|node| reading.choice(node, &WAYS));
    let grams = amount(reading, keys, "grams", MOST_GRAMS);
    let measured_as = optional(keys, "measured-as", |node| words(reading, node));
    let samples = samples(reading, keys);
    Some(Harvested {
        batch: batch?,
        places: places?,
        way: way?,
        grams: grams?,
        measured_as: measured_as?,
        samples: samples?,
    })
}

fn measuring(reading: &mut Reading, keys: &Entries<'_>) -> Option<Measuring> {
    let (batch, tank) = (batch(reading, keys), tank(reading, keys));
    let node = reading.need(keys, "samples", "samples: [{ height: { found: 12 } }]")?;
    let samples = samples(reading, keys)?;
    if samples.is_empty() {
        reading.note(&node.span, "no plant is measured here", "tell at least one, or leave out the entry");
        return None;
    }
    let holes = holes(reading, keys, Some(samples.len() as u32));
    Some(Measuring { batch: batch?, tank: tank?, holes: holes?, samples })
}

fn samples(reading: &mut Reading, keys: &Entries<'_>) -> Option<Vec<Sample>> {
    let nodes = keys.get("samples").map(Reading::items).unwrap_or_default();
    nodes.iter().map(|node| sample(reading, node)).collect()
}

/// Holes by number, each once, as many as plants.
fn holes(reading: &mut Reading, keys: &Entries<'_>, plants: Option<u32>) -> Option<Vec<u32>> {
    let Some(node) = keys.get("holes") else { return Some(Vec::new()) };
    let nodes = Reading::items(node);
    let read: Option<Vec<u32>> = nodes.iter().map(|node| reading.whole(node, 1..=MOST)).collect();
    let mut holes = read?;
    holes.sort_unstable();
    holes.dedup();
    if holes.len() != nodes.len() || plants != Some(holes.len() as u32) {
        reading.note(&node.span, "these are not as many different holes as plants", "name one hole a plant");
        return None;
    }
    Some(holes)
}

fn sample(reading: &mut Reading, node: &Node) -> Option<Sample> {
    let keys = reading.map(node, &["height", "width", "leaves", "longest-root", "mass"])?;
    let mut of = |key: &str, most: f64| optional(&keys, key, |node| measured(reading, node, most));
    let (height, width) = (of("height", MOST_OF_A_PLANT), of("width", MOST_OF_A_PLANT));
    let (leaves, root) = (of("leaves", MOST_OF_A_PLANT), of("longest-root", MOST_OF_A_PLANT));
    let mass = of("mass", MOST_GRAMS);
    Some(Sample {
        height_cm: height?,
        width_cm: width?,
        leaves: leaves?,
        longest_root_cm: root?,
        mass_g: mass?,
    })
}

fn measured(reading: &mut Reading, node: &Node, most: f64) -> Option<Measured> {
    let keys = reading.map(node, &["estimate", "found"])?;
    let estimate = optional(&keys, "estimate", |node| reading.number(node, 0.0..=most));
    let found = amount(reading, &keys, "found", most);
    Some(Measured { estimate: estimate?, found: found? })
}

fn batch(reading: &mut Reading, keys: &Entries<'_>) -> Option<BatchId> {
    let node = reading.need(keys, "batch", "batch: b001")?;
    reading.id(node).map(BatchId::new)
}

fn tank(reading: &mut Reading, keys: &Entries<'_>) -> Option<TankId> {
    let node = reading.need(keys, "tank", "tank: blue")?;
    reading.id(node).map(TankId::new)
}

fn count(reading: &mut Reading, keys: &Entries<'_>, key: &str, least: u32) -> Option<u32> {
    let node = reading.need(keys, key, &format!("{key}: 12"))?;
    reading.whole(node, least..=MOST)
}

fn amount(reading: &mut Reading, keys: &Entries<'_>, key: &str, most: f64) -> Option<f64> {
    let node = reading.need(keys, key, &format!("{key}: 12.5"))?;
    reading.number(node, 0.0..=most)
}

fn number(reading: &mut Reading, node: &Node) -> Option<EntryId> {
    let text = reading.text(node)?;
    let parsed = text.parse();
    if parsed.is_err() {
        let title = format!("\"{}\" is not an entry's number", shorten(text));
        reading.note(&node.span, title, "write j and digits, such as j012");
    }
    parsed.ok()
}

fn moment(reading: &mut Reading, node: &Node) -> Option<DateTime<Utc>> {
    let text = reading.text(node)?;
    let parsed = text.parse().ok().filter(|moment: &DateTime<Utc>| can_be_meant(moment.date_naive()));
    if parsed.is_none() {
        let title = format!("\"{}\" is not a time", shorten(text));
        reading.note(&node.span, title, "write it as 2026-09-01T12:00:00Z, with a year from 1900 to 2199");
    }
    parsed
}

/// A sentence or two.
fn words(reading: &mut Reading, node: &Node) -> Option<String> {
    let text = reading.fit(node)?;
    if text.chars().count() > LONGEST_TEXT {
        let help = format!("use at most {LONGEST_TEXT} letters, all on one line");
        reading.note(&node.span, "this does not fit into the journal", help);
        return None;
    }
    Some(text.to_owned())
}
