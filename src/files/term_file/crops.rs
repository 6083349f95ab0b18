//! Crops the plan may use.

use super::only_in;
use crate::domain::crop::Crop;
use crate::domain::site::Site;
use crate::domain::term::{SowWish, WantedCrop, WayWish};
use crate::files::library::Library;
use crate::files::reading::{Entries, Reading, shorten};
use crate::files::tree::{Content, Node};
use std::ops::Range;

/// A wanted crop, and where its name is written.
#[derive(Debug, Clone)]
pub(super) struct DraftCrop {
    pub(super) wanted: WantedCrop,
    pub(super) place: Range<usize>,
}

/// All wanted crops; none if any of them could not be read.
pub(super) fn read(
    reading: &mut Reading,
    entries: &Entries<'_>,
    sites: Option<&[Site]>,
    library: &Library,
    unreadable: &[String],
) -> Option<Vec<DraftCrop>> {
    let node = reading.need(entries, "crops", "crops: [oakleaf, butterhead, basil]")?;
    let nodes = Reading::items(node);
    if nodes.is_empty() {
        let key = entries.key_span("crops");
        reading.note(&key, "there is no crop", "add at least one crop of the library");
        return None;
    }
    let mut crops: Vec<DraftCrop> = Vec::new();
    let mut complete = true;
    for node in nodes {
        match crop(reading, node, sites, library, unreadable) {
            Some(found) if crops.iter().any(|other| other.wanted.crop.id == found.wanted.crop.id) => {
                let title = format!("\"{}\" is listed twice", found.wanted.crop.id);
                reading.note(&found.place, title, "keep only one of them");
            }
            Some(found) => crops.push(found),
            None => complete = false,
        }
    }
    complete.then_some(crops)
}

/// A bare name, or a name with wishes.
fn crop(
    reading: &mut Reading,
    node: &Node,
    sites: Option<&[Site]>,
    library: &Library,
    unreadable: &[String],
) -> Option<DraftCrop> {
    if matches!(node.content, Content::Text(_)) {
        let crop = known(reading, node, library, unreadable)?;
        let (way, sow) = (WayWish::Either, SowWish::Nursery);
        let wanted = WantedCrop { crop, way, sow, at_most: 1.0, at_least: 0.0, only_in: Vec::new() };
        return Some(DraftCrop { wanted, place: node.span.clone() });
    }
    let entries = reading.map(node, &["crop", "way", "sow", "at-most", "at-least", "only-in"])?;
    let name_node = reading.need(&entries, "crop", "crop: oakleaf");
    let crop = name_node.and_then(|node| known(reading, node, library, unreadable));
    let way = way(reading, &entries, crop.as_ref());
    let sow = sow(reading, &entries, crop.as_ref());
    let at_most = entries.get("at-most").map_or(Some(1.0), |node| reading.percent(node, 1.0..=100.0));
    let at_least = entries.get("at-least").map_or(Some(0.0), |node| reading.percent(node, 0.0..=100.0));
    let only_in = only_in::read(reading, &entries, sites);
    let wanted = WantedCrop {
        crop: crop?,
        way: way?,
        sow: sow?,
        at_most: at_most?,
        at_least: at_least?,
        only_in: only_in?,
    };
    if wanted.at_least > wanted.at_most {
        let place = &entries.key_span("at-least");
        reading.note(place, "at-least is larger than at-most", "make at-least the smaller of the two");
        return None;
    }
    Some(DraftCrop { wanted, place: name_node?.span.clone() })
}

/// The crop of that name.
pub(super) fn known(
    reading: &mut Reading,
    node: &Node,
    library: &Library,
    unreadable: &[String],
) -> Option<Crop> {
    let name = reading.text(node)?;
    let found = library.typed(name).cloned();
    if found.is_none() && !unreadable.iter().any(|own| own == name) {
        let help = library.suggest(name);
        reading.note(&node.span, format!("unknown crop \"{}\"", shorten(name)), help);
    }
    found
}

/// Where seed is to be laid, if the crop can do it.
fn sow(reading: &mut Reading, entries: &Entries<'_>, crop: Option<&Crop>) -> Option<SowWish> {
    let Some(node) = entries.get("sow") else {
        return Some(SowWish::Nursery);
    };
    let places = [("nursery", SowWish::Nursery), ("in cups", SowWish::InCups), ("either", SowWish::Either)];
    let place = reading.choice(node, &places)?;
    match crop {
        Some(crop) if place != SowWish::Nursery && crop.in_cups.is_none() => {
            let title = format!("{} is not sown straight into cups", crop.name);
            reading.note(&node.span, title, "write sow: nursery, or remove the line");
            None
        }
        _ => Some(place),
    }
}

/// The way wished for, if the crop can do it.
fn way(reading: &mut Reading, entries: &Entries<'_>, crop: Option<&Crop>) -> Option<WayWish> {
    let Some(node) = entries.get("way") else {
        return Some(WayWish::Either);
    };
    let ways = [("whole head", WayWish::WholeHead), ("cut", WayWish::Cut), ("either", WayWish::Either)];
    let way = reading.choice(node, &ways)?;
    match crop {
        Some(crop) if way == WayWish::Cut && (crop.regrowth.is_none() || crop.first_cut.is_none()) => {
            let title = format!("{} does not grow again after a cut", crop.name);
            reading.note(&node.span, title, "write way: whole head, or remove the line");
            None
        }
        _ => Some(way),
    }
}
