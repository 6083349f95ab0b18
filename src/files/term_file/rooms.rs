//! What a site is like for plants: who looks in, the nursery, the room's air and lamps, how crops do there.

use super::crops::DraftCrop;
use crate::domain::crop::{Crop, Limits};
use crate::domain::ids::CropId;
use crate::domain::lid::Room;
use crate::domain::site::{CropHere, Nursery, Site};
use crate::domain::units::{CM_PER_INCH, Length, Temperature, Units};
use crate::files::crop_file::temperature;
use crate::files::library::Library;
use crate::files::reading::{Entries, Reading, shorten};
use crate::files::tree::{Content, Key, Node};
use chrono::Weekday;
use std::collections::{BTreeMap, BTreeSet};

/// Hours of lamp light a day that are worth a word where a crop may bolt (common practice, no source).
const LONG_DAYS: f64 = 16.0;

/// Weekdays on which somebody looks in: Monday to Friday where nothing is written.
pub(super) fn looks_in(reading: &mut Reading, entries: &Entries<'_>) -> Option<Vec<Weekday>> {
    const ONLY: &str = "only class days";
    let Some(node) = entries.get("looks-in") else {
        return Some(vec![Weekday::Mon, Weekday::Tue, Weekday::Wed, Weekday::Thu, Weekday::Fri]);
    };
    match &node.content {
        Content::Text(text) if text == ONLY => return Some(Vec::new()),
        // Words, not days.
        Content::Text(text) if text.contains("class") => {
            let help = format!("write the days, such as [Monday, Friday], or: {ONLY}");
            reading.note(&node.span, "it is not clear when somebody looks in", help);
            return None;
        }
        _ => {}
    }
    reading.weekdays(node)
}

/// What holds where nothing is told.
pub(super) const AS_IN_LIBRARY: CropHere = CropHere { pace: 1.0, yield_factor: 1.0, give_or_take: None };

/// How fast and how large things grow; `usual` where it is not told.
pub(super) fn here(reading: &mut Reading, entries: &Entries<'_>, usual: CropHere) -> Option<CropHere> {
    let pace = entries.get("pace").map_or(Some(usual.pace), |node| reading.number(node, 0.5..=2.0));
    let yield_factor =
        entries.get("yield").map_or(Some(usual.yield_factor), |node| reading.number(node, 0.2..=2.0));
    let known = entries.get("give-or-take").map(|node| reading.percent(node, 1.0..=99.0));
    let give_or_take = known.map_or(Some(None), |known| known.map(Some));
    Some(CropHere { pace: pace?, yield_factor: yield_factor?, give_or_take: give_or_take? })
}

/// Crops that a site may tell of, and ids of the term's own whose files cannot be read.
pub(super) type KnownCrops<'a> = (&'a Library, &'a [String]);

/// The same for single crops.
pub(super) fn crops(
    reading: &mut Reading,
    entries: &Entries<'_>,
    usual: CropHere,
    known: KnownCrops<'_>,
) -> Option<BTreeMap<CropId, CropHere>> {
    let Some(node) = entries.get("crops") else { return Some(BTreeMap::new()) };
    let told = reading.free_map(node, "crops")?;
    let mut found: BTreeMap<CropId, CropHere> = BTreeMap::new();
    let mut complete = true;
    for (name, node) in told.iter() {
        match one(reading, (name, node), usual, known) {
            Some((id, _)) if found.contains_key(&id) => {
                let title = format!("\"{}\" is {id}, which is told above", shorten(&name.text));
                reading.note(&name.span, title, "keep only one of them");
            }
            Some((id, here)) => _ = found.insert(id, here),
            None => complete = false,
        }
    }
    complete.then_some(found)
}

/// One crop by any of its names. A term may know more crops than it grows, so one that it does not grow is no mistake; a name that no
/// crop has is one.
fn one(
    reading: &mut Reading,
    (name, node): (&Key, &Node),
    usual: CropHere,
    (library, unreadable): KnownCrops<'_>,
) -> Option<(CropId, CropHere)> {
    let entries = reading.map(node, &["pace", "yield", "give-or-take"])?;
    let here = here(reading, &entries, usual);
    let known = library.typed(&name.text).map(|crop| crop.id.clone());
    if known.is_none() && !unreadable.contains(&name.text) {
        let help = library.suggest(&name.text);
        reading.note(&name.span, format!("unknown crop \"{}\"", shorten(&name.text)), help);
    }
    Some((known?, here?))
}

/// Cells, their width, and how long seedlings last.
pub(super) fn nursery(reading: &mut Reading, entries: &Entries<'_>) -> Option<Nursery> {
    let node = reading.need(entries, "nursery", "nursery: { cells: 48, unattended-days: 4 }")?;
    let entries = reading.map(node, &["cells", "cell-width", "unattended-days"])?;
    let cells = reading.need(&entries, "cells", "cells: 48").and_then(|node| reading.whole(node, 1..=10_000));
    let unattended = reading
        .need(&entries, "unattended-days", "unattended-days: 4")
        .and_then(|node| reading.whole(node, 1..=60));
    let cell = entries
        .get("cell-width")
        .map_or(Some(Nursery::USUAL_CELL_CM), |node| reading.length(node, 1.0..=15.0));
    Some(Nursery { cells: cells?, cell_cm: cell?, unattended_days: unattended? })
}

/// Lowest and highest temperature of the room over a term.
pub(super) fn air(reading: &mut Reading, node: &Node) -> Option<Limits<Temperature>> {
    let entries = reading.map(node, &["low", "high"])?;
    let [low, high] = [("low", "low: 18 C"), ("high", "high: 26 C")].map(|(key, example)| {
        let node = reading.need(&entries, key, example)?;
        temperature(reading, node, 0.0..=50.0)
    });
    let air = Limits { low: low?, high: high? };
    if let (true, Some(node)) = (air.low > air.high, entries.get("high")) {
        reading.note(&node.span, "this is below the low end", "write the smaller value as low");
        return None;
    }
    Some(air)
}

/// Hours a day for which the lamps are on.
pub(super) fn lamps(reading: &mut Reading, node: &Node) -> Option<f64> {
    let text = reading.text(node)?;
    let hours = text.trim_end_matches("hours").trim_end_matches('h').trim().parse::<f64>().ok();
    let hours = hours.filter(|hours| (0.0..=24.0).contains(hours));
    if hours.is_none() {
        reading.note(
            &node.span,
            format!("\"{text}\" is not a number of hours a day"),
            "write 0 to 24 hours, such as 14 h",
        );
    }
    hours
}

/// Remarks on sites where plants do not do as well as a plan would have it.
pub(super) fn remark(reading: &mut Reading, sites: &[Site], crops: &[DraftCrop]) {
    for site in sites {
        if let Some(text) = nursery_is_of_no_use(site) {
            reading.remark(text);
        }
        let grown = crops.iter().filter(|draft| draft.wanted.may_begin_at(&site.id));
        for crop in grown.filter_map(|draft| wrong_air(site, &draft.wanted.crop)) {
            reading.remark(crop);
        }
        for text in wasted_holes(site, crops) {
            reading.remark(text);
        }
        let wanted = |id: &CropId| crops.iter().any(|draft| draft.wanted.crop.id == *id);
        for id in site.crops.keys().filter(|id| !wanted(id)) {
            reading
                .remark(format!("{}: what is said of {id} is not used, as this term grows none", site.name));
        }
    }
}

/// Where seedlings cannot be left from any class day to the next, nothing can be raised.
fn nursery_is_of_no_use(site: &Site) -> Option<String> {
    site.raises_nothing().then(|| {
        format!(
            "{}: nothing can be raised in the nursery. Seedlings there last {} days from one visit to the next, and \
             between any two class days nobody comes for longer. Say on which weekdays somebody looks in (looks-in), or that \
             they last longer (unattended-days)",
            site.name, site.nursery.unattended_days
        )
    })
}

/// Lids in which plants take more holes than they would if these lay a few millimetres further apart.
fn wasted_holes(site: &Site, crops: &[DraftCrop]) -> Vec<String> {
    // By spacing, holes now, and holes and spacing in a wider lid, in tenths of a millimetre where they are lengths.
    let mut found: BTreeMap<(i64, u32, u32, i64), BTreeSet<&str>> = BTreeMap::new();
    let lengths = |cm: f64| (cm * 100.0).round() as i64;
    for tank in &site.tanks {
        let here = |draft: &&DraftCrop| {
            let crop = &draft.wanted.crop;
            draft.wanted.may_stand_in(&site.id, &tank.id) && crop.tolerates(tank.ph, tank.ec)
        };
        for crop in crops.iter().filter(here).map(|draft| &draft.wanted.crop) {
            let Some((room, wider)) = tank.lid.narrowly_missed(crop.spacing.value.cm()) else { continue };
            let now = tank.lid.room_for(crop.spacing.value.cm()).map_or(0, Room::holes);
            let key = (
                lengths(tank.lid.spacing_cm),
                now,
                room.holes(),
                lengths((wider * 10.0 - 1e-6).ceil() / 10.0),
            );
            found.entry(key).or_default().insert(&crop.name);
        }
    }
    let shown = |cm: f64, units: Units| Length::from_cm(cm).show(units).to_string();
    let both = |metric: f64, us: f64| format!("{} ({})", shown(metric, Units::Metric), shown(us, Units::Us));
    // Rounded up to a tenth of an inch, so that whoever measures in inches gets room enough, too.
    let inches_up = |cm: f64| (cm / CM_PER_INCH * 10.0 - 1e-6).ceil() / 10.0 * CM_PER_INCH;
    let told = |((spacing, now, then, wider), names): ((i64, u32, u32, i64), BTreeSet<&str>)| {
        let names: Vec<&str> = names.into_iter().collect();
        let [spacing, wider] = [spacing, wider].map(|length| length as f64 / 100.0);
        let (spacing, wider) = (both(spacing, spacing), both(wider, inches_up(wider)));
        let now = if now == 0 { "finds no room".to_owned() } else { format!("takes {now} holes a plant") };
        format!(
            "{}: where holes are {spacing} apart, {} {now}; {wider} apart, it would take {then}",
            site.name,
            names.join(" or ")
        )
    };
    found.into_iter().map(told).collect()
}

/// What is wrong with a room's air and lamps for a crop.
fn wrong_air(site: &Site, crop: &Crop) -> Option<String> {
    let (room, likes) = (site.air?, crop.air.value);
    let (cold, hot) = (room.low < likes.low, room.high > likes.high);
    if !cold && !hot {
        return None;
    }
    let note = crop.bolting.as_ref().filter(|_| hot).map_or("", |note| note.value.as_str());
    let lamps = site.lamp_hours.filter(|hours| *hours >= LONG_DAYS && !note.is_empty());
    let lamps = lamps.map_or_else(String::new, |hours| format!(" The lamps are on for {hours} hours a day."));
    let then = if note.is_empty() { String::new() } else { format!(". {note}{lamps}") };
    let [low, high] = [likes.low, likes.high].map(|degrees| degrees.show(Units::Metric).to_string());
    let (is, range) = match (cold, hot) {
        (true, true) => ("colder and warmer", format!("{low} to {high}")),
        (true, false) => ("colder", format!("{low} or more")),
        _ => ("warmer", format!("{high} or less")),
    };
    Some(format!("{}: the room gets {is} than {} likes, which is {range}{then}", site.name, crop.name))
}
