//! What already stands at the start of the term.

mod room;

use super::calendar::shown;
use super::crops::DraftCrop;
use super::named;
use crate::domain::calendar::{DateSpan, days_between};
use crate::domain::growth::{DayWindow, Growing};
use crate::domain::ids::{BatchId, TankId};
use crate::domain::site::Site;
use crate::domain::term::{Stage, Standing, Term, WantedCrop, WayWish};
use crate::files::problem::suggest;
use crate::files::reading::{Entries, Reading, shorten};
use crate::files::tree::Node;
use chrono::NaiveDate;
use std::ops::Range;

const KEYS: [&str; 9] = ["batch", "crop", "site", "sown", "plants", "tank", "transplanted", "holes", "cuts"];

/// What the other parts of the file say.
#[derive(Clone, Copy)]
pub(super) struct Around<'a> {
    pub(super) term: Option<DateSpan>,
    pub(super) sites: Option<&'a [Site]>,
    pub(super) crops: Option<&'a [DraftCrop]>,
}

/// A standing batch, where it grows, and where its parts are written.
struct Draft<'a> {
    standing: Standing,
    site: &'a Site,
    wanted: &'a WantedCrop,
    places: Places,
}

struct Places {
    sown: Range<usize>,
    plants: Range<usize>,
    tank: Range<usize>,
    holes: Range<usize>,
}

/// All standing batches; none if any of them could not be read.
pub(super) fn read(
    reading: &mut Reading,
    entries: &Entries<'_>,
    around: Around<'_>,
) -> Option<Vec<Standing>> {
    let nodes = entries.get("standing").map(Reading::items).unwrap_or_default();
    let mut seen: Vec<String> = Vec::new();
    let drafts: Vec<Option<Draft<'_>>> =
        nodes.iter().map(|node| batch(reading, node, around, &mut seen)).collect();
    let drafts: Vec<Draft<'_>> = drafts.into_iter().collect::<Option<_>>()?;
    for draft in &drafts {
        check_harvest(reading, draft);
    }
    room::check(reading, &drafts);
    Some(drafts.into_iter().map(|draft| draft.standing).collect())
}

fn batch<'a>(
    reading: &mut Reading,
    node: &Node,
    around: Around<'a>,
    seen: &mut Vec<String>,
) -> Option<Draft<'a>> {
    let entries = reading.map(node, &KEYS)?;
    let id = batch_id(reading, &entries, seen);
    let wanted = crop(reading, &entries, around);
    let site = named::site(reading, &entries, around.sites);
    let sown_node = reading.need(&entries, "sown", "sown: 2026-08-20");
    let sown = sown_node.and_then(|node| past_day(reading, node, around.term));
    let plants_node = reading.need(&entries, "plants", "plants: 12");
    let plants = plants_node.and_then(|node| reading.whole(node, 1..=10_000));
    let in_cups = wanted.is_some_and(|wanted| wanted.crop.in_cups.is_some());
    let stage = stage(reading, &entries, around.term, sown, in_cups);
    let place = |key: &str| entries.get(key).map_or_else(|| entries.span.clone(), |node| node.span.clone());
    let (site, wanted) = (site?, wanted?);
    let standing = Standing {
        batch: id?,
        crop: wanted.crop.id.clone(),
        site: site.id.clone(),
        sown: sown?,
        plants: plants?,
        stage: stage?,
    };
    let places =
        Places { sown: place("sown"), plants: place("plants"), tank: place("tank"), holes: place("holes") };
    Some(Draft { standing, site, wanted, places })
}

fn batch_id(reading: &mut Reading, entries: &Entries<'_>, seen: &mut Vec<String>) -> Option<BatchId> {
    let node = reading.need(entries, "batch", "batch: oakleaf-1")?;
    let id = reading.id(node)?.to_owned();
    if seen.contains(&id) {
        reading.note(
            &node.span,
            format!("there are two batches \"{id}\""),
            "give each batch an id of its own",
        );
        return None;
    }
    seen.push(id.clone());
    Some(BatchId::new(id))
}

pub(super) fn crop<'a>(
    reading: &mut Reading,
    entries: &Entries<'_>,
    around: Around<'a>,
) -> Option<&'a WantedCrop> {
    let node = reading.need(entries, "crop", "crop: oakleaf")?;
    let name = reading.text(node)?;
    let crops = around.crops?;
    let found = crops.iter().find(|draft| draft.wanted.crop.id.as_str() == name);
    if found.is_none() {
        let known = crops.iter().map(|draft| draft.wanted.crop.id.as_str());
        let help = format!("{}; a crop must be listed under crops, too", suggest(name, known));
        reading.note(&node.span, format!("\"{}\" is not among the crops of this term", shorten(name)), help);
    }
    found.map(|draft| &draft.wanted)
}

/// A day not after the start of the term.
fn past_day(reading: &mut Reading, node: &Node, term: Option<DateSpan>) -> Option<NaiveDate> {
    let day = reading.date(node)?;
    if let Some(term) = term
        && day > term.first
    {
        let title = format!("{} lies after the term starts", shown(day));
        let help = format!("what stands at the start was there on {} or before", term.first);
        reading.note(&node.span, title, help);
        return None;
    }
    Some(day)
}

fn stage(
    reading: &mut Reading,
    entries: &Entries<'_>,
    term: Option<DateSpan>,
    sown: Option<NaiveDate>,
    in_cups: bool,
) -> Option<Stage> {
    let Some(tank_node) = entries.get("tank") else {
        let stray = ["transplanted", "holes", "cuts"].into_iter().find(|key| entries.get(key).is_some());
        if let Some(key) = stray {
            let help =
                format!("add a line such as tank: a, or remove {key} if they are still in the nursery");
            reading.note(&entries.key_span(key), format!("\"{key}\" is given, but no tank"), help);
            return None;
        }
        return Some(Stage::Nursery);
    };
    let tank = reading.text(tank_node).map(TankId::new);
    let transplanted_node = reading.need(entries, "transplanted", "transplanted: 2026-08-28");
    let transplanted = transplanted_node.and_then(|node| past_day(reading, node, term));
    if let (Some(sown), Some(transplanted), Some(node)) = (sown, transplanted, transplanted_node)
        && (transplanted < sown || transplanted == sown && !in_cups)
    {
        // Only what is sown straight into the cups is in its tank at once.
        reading.note(&node.span, "transplanted before it was sown", format!("write a day after {sown}"));
        return None;
    }
    let hole_nodes = entries.get("holes").map(Reading::items).unwrap_or_default();
    let holes: Vec<Option<u32>> = hole_nodes.iter().map(|node| reading.whole(node, 1..=2_500)).collect();
    let cuts = cuts(reading, entries, term, transplanted);
    Some(Stage::Tank {
        tank: tank?,
        transplanted: transplanted?,
        holes: holes.into_iter().collect::<Option<_>>()?,
        cuts: cuts?,
    })
}

fn cuts(
    reading: &mut Reading,
    entries: &Entries<'_>,
    term: Option<DateSpan>,
    transplanted: Option<NaiveDate>,
) -> Option<Vec<NaiveDate>> {
    let nodes = entries.get("cuts").map(Reading::items).unwrap_or_default();
    let days: Vec<Option<NaiveDate>> = nodes.iter().map(|node| past_day(reading, node, term)).collect();
    let days: Vec<NaiveDate> = days.into_iter().collect::<Option<_>>()?;
    let mut before = transplanted?;
    for (day, node) in days.iter().zip(nodes) {
        if *day <= before {
            let help = format!("write cuts in order, each after {before}");
            reading.note(&node.span, "this cut comes too early", help);
            return None;
        }
        before = *day;
    }
    Some(days)
}

/// Complains about plants that no class day suits any more.
fn check_harvest(reading: &mut Reading, draft: &Draft<'_>) {
    let growing = Growing::new(&draft.wanted.crop, draft.site);
    let name = &draft.wanted.crop.name;
    if let Stage::Tank { cuts, .. } = &draft.standing.stage
        && is_used_up(&growing, cuts)
    {
        let title = format!("{name} gives no further harvest after {} cuts", cuts.len());
        reading.note(&draft.places.plants, title, "clear these holes before the term and remove this entry");
        return;
    }
    if harvestable(&growing, draft.wanted.way, draft.site, &draft.standing) {
        return;
    }
    let title = format!("this {name} cannot be harvested on any class day of the term");
    reading.note(&draft.places.sown, title, harvest_help(&growing, draft));
}

/// Whether what stands at the start of a term can be harvested in it.
pub(in crate::files) fn can_be_harvested(standing: &Standing, term: &Term) -> bool {
    let (Some(site), Some(wanted)) = (term.site(&standing.site), term.crop(&standing.crop)) else {
        return false;
    };
    let growing = Growing::new(&wanted.crop, site);
    let used_up = matches!(&standing.stage, Stage::Tank { cuts, .. } if is_used_up(&growing, cuts));
    !used_up && harvestable(&growing, wanted.way, site, standing)
}

/// Whether these cuts were all that the crop gives.
fn is_used_up(growing: &Growing<'_>, cuts: &[NaiveDate]) -> bool {
    !cuts.is_empty() && cuts.len() as u32 >= growing.harvests()
}

fn harvestable(growing: &Growing<'_>, way: WayWish, site: &Site, standing: &Standing) -> bool {
    let class_days = &site.class_days;
    let age = |day: NaiveDate| u32::try_from(days_between(standing.sown, day)).unwrap_or(0);
    let windows = first_windows(growing, way);
    let first = |day: NaiveDate| windows.iter().any(|window| window.contains(&age(day)));
    match &standing.stage {
        Stage::Nursery => {
            let transplant = class_days.iter().find(|day| growing.nursery_window().contains(&age(**day)));
            transplant.is_some_and(|moved| class_days.iter().any(|day| day > moved && first(*day)))
        }
        Stage::Tank { cuts, .. } => match (cuts.last(), growing.regrowth_window()) {
            (None, _) => class_days.iter().any(|day| first(*day)),
            (Some(_), None) => false,
            (Some(cut), Some(window)) => class_days
                .iter()
                .any(|day| u32::try_from(days_between(*cut, *day)).is_ok_and(|days| window.contains(&days))),
        },
    }
}

/// Ages at a first harvest, under the way wished for.
fn first_windows(growing: &Growing<'_>, way: WayWish) -> Vec<DayWindow> {
    let pull = growing.pull_window().filter(|_| way != WayWish::Cut);
    let cut = growing.cut_window().filter(|_| way != WayWish::WholeHead);
    pull.into_iter().chain(cut).collect()
}

fn harvest_help(growing: &Growing<'_>, draft: &Draft<'_>) -> String {
    let windows = first_windows(growing, draft.wanted.way);
    let first = windows.iter().map(|window| *window.start()).min().unwrap_or(0);
    let last = windows.iter().map(|window| *window.end()).max().unwrap_or(0);
    let nursery = growing.nursery_window();
    let times = match (&draft.standing.stage, growing.regrowth_window()) {
        (Stage::Nursery, _) => format!(
            "it is transplanted {} to {} days and harvested {first} to {last} days after sowing",
            nursery.start(),
            nursery.end()
        ),
        (Stage::Tank { cuts, .. }, Some(window)) if !cuts.is_empty() => {
            format!("it is harvested again {} to {} days after a cut", window.start(), window.end())
        }
        (Stage::Tank { .. }, _) => format!("it is harvested {first} to {last} days after sowing"),
    };
    format!("{times}; correct the dates, or use these plants up before the term and remove this entry")
}
