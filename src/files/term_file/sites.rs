//! Sites with their class days, nurseries and tanks.

use super::calendar::{self, Off, shown};
use super::rooms::{self, KnownCrops};
use super::tanks;
use crate::domain::calendar::{DateSpan, DaysOffKind, plus_days};
use crate::domain::ids::SiteId;
use crate::domain::site::{CropHere, Site};
use crate::files::reading::{Entries, Reading};
use crate::files::store::Store;
use crate::files::tree::Content;
use chrono::{Datelike, NaiveDate};
use std::collections::{BTreeMap, BTreeSet};

const KEYS: [&str; 17] = [
    "id",
    "name",
    "class-days",
    "extra-class-days",
    "looks-in",
    "breaks",
    "closures",
    "import",
    "nursery",
    "tanks",
    "air",
    "lamps",
    "minutes-a-day",
    "sowings-a-day",
    "pace",
    "yield",
    "crops",
];

/// All sites; none if any of them could not be read.
pub(super) fn read(
    reading: &mut Reading,
    entries: &Entries<'_>,
    (term, shared): (Option<DateSpan>, &[Off]),
    store: &dyn Store,
    known: KnownCrops<'_>,
) -> Option<Vec<Site>> {
    let node = reading.need(entries, "sites", "sites: with a list of sites below it")?;
    let nodes = Reading::items(node);
    if nodes.is_empty() {
        let key = entries.key_span("sites");
        reading.note(&key, "there is no site", "add at least one site with its class days and tanks");
    }
    let mut seen: Vec<String> = Vec::new();
    let sites: Vec<Option<Site>> = nodes
        .iter()
        .map(|node| {
            let entries = reading.map(node, &KEYS)?;
            let id = site_id(reading, &entries, &mut seen);
            let site = site(reading, &entries, (term, shared), store, known);
            site.zip(id).map(|(site, id)| Site { id, ..site })
        })
        .collect();
    sites.into_iter().collect::<Option<Vec<_>>>().filter(|sites| !sites.is_empty())
}

fn site_id(reading: &mut Reading, entries: &Entries<'_>, seen: &mut Vec<String>) -> Option<SiteId> {
    let node = reading.need(entries, "id", "id: room-12")?;
    let id = reading.id(node)?.to_owned();
    if seen.contains(&id) {
        reading.note(&node.span, format!("there are two sites \"{id}\""), "give each site an id of its own");
        return None;
    }
    seen.push(id.clone());
    Some(SiteId::new(id))
}

fn site(
    reading: &mut Reading,
    entries: &Entries<'_>,
    (term, shared): (Option<DateSpan>, &[Off]),
    store: &dyn Store,
    known: KnownCrops<'_>,
) -> Option<Site> {
    let id = entries.get("id").map_or("", |node| match &node.content {
        Content::Text(text) => text,
        _ => "",
    });
    let name = entries.get("name").map_or(Some(id.to_owned()), |node| reading.name(node));
    let mut offs = shared.to_vec();
    let whose = name.as_ref().map_or(String::new(), |name| format!("{name}: "));
    offs.extend(calendar::days_off(reading, entries, term, store, &whose));
    offs.sort_by_key(|off| off.days.span);
    let class_days = class_days(reading, entries, term, &offs, &whose);
    if let (Some(term), Some(class_days)) = (term, &class_days) {
        breaks_without_class_day(reading, term, class_days, &offs, &whose);
    }
    let looks_in = rooms::looks_in(reading, entries);
    let nursery = rooms::nursery(reading, entries);
    let air = reading.optional(entries, "air", rooms::air);
    let lamps = reading.optional(entries, "lamps", rooms::lamps);
    let tanks = tanks::read(reading, entries);
    let minutes = reading.optional(entries, "minutes-a-day", |r, node| r.number(node, 1.0..=1440.0));
    let sowings = reading.optional(entries, "sowings-a-day", |r, node| r.whole(node, 1..=100));
    let here = rooms::here(reading, entries, rooms::AS_IN_LIBRARY);
    let crops = here.and_then(|here| rooms::crops(reading, entries, here, known));
    let CropHere { pace, yield_factor, .. } = here?;
    Some(Site {
        id: SiteId::new(id),
        name: name?,
        class_days: class_days?,
        days_off: offs.into_iter().map(|off| off.days).collect(),
        looks_in: looks_in?,
        nursery: nursery?,
        air: air.ok()?,
        lamp_hours: lamps.ok()?,
        tanks: tanks?,
        minutes_a_day: minutes.ok()?,
        sowings_a_day: sowings.ok()?,
        pace,
        yield_factor,
        crops: crops?,
        mass_factors: BTreeMap::new(),
        batch_mass_factors: BTreeMap::new(),
    })
}

/// Every class day: the weekdays without days off, and the extra days.
fn class_days(
    reading: &mut Reading,
    entries: &Entries<'_>,
    term: Option<DateSpan>,
    offs: &[Off],
    whose: &str,
) -> Option<Vec<NaiveDate>> {
    let node = reading.need(entries, "class-days", "class-days: [Monday, Thursday]");
    let weekdays = node.and_then(|node| reading.weekdays(node));
    let extra_nodes = entries.get("extra-class-days").map(Reading::items).unwrap_or_default();
    let extra: Vec<NaiveDate> = extra_nodes
        .iter()
        .filter_map(|node| {
            let day = reading.date(node)?;
            calendar::in_term(reading, &node.span, day, term).then_some(day)
        })
        .collect();
    let (weekdays, term, node) = (weekdays?, term?, node?);
    let off = |day: NaiveDate| offs.iter().find(|off| off.days.span.contains(day));
    let regular = term.days().filter(|day| weekdays.contains(&day.weekday()) && off(*day).is_none());
    let mut days: BTreeSet<NaiveDate> = regular.collect();
    for day in extra {
        if let Some(off) = off(day) {
            let name = &off.days.name;
            reading.remark(format!("{whose}{} is a class day although it lies in \"{name}\"", shown(day)));
        }
        days.insert(day);
    }
    if days.is_empty() {
        reading.note(&node.span, "no class day is left in the term", "add a weekday, or check the days off");
        return None;
    }
    Some(days.into_iter().collect())
}

/// Complains about two breaks with school days, but no class day, between them: plants would stand
/// alone through both.
fn breaks_without_class_day(
    reading: &mut Reading,
    term: DateSpan,
    class_days: &[NaiveDate],
    offs: &[Off],
    whose: &str,
) {
    let breaks: Vec<&Off> = offs.iter().filter(|off| off.days.kind == DaysOffKind::Break).collect();
    for pair in breaks.windows(2) {
        let (before, after) = (&pair[0].days, &pair[1].days);
        let between =
            DateSpan { first: plus_days(before.span.last, 1), last: plus_days(after.span.first, 0) };
        let school_day = |day: NaiveDate| {
            day < after.span.first && day.weekday().number_from_monday() <= 5 && term.contains(day)
        };
        if !between.days().any(school_day) || class_days.iter().any(|day| between.contains(*day)) {
            continue;
        }
        let title =
            format!("{whose}there is no class day between \"{}\" and \"{}\"", before.name, after.name);
        let help = format!(
            "write one break from {} to {}, or give this site an extra class day between them",
            before.span.first, after.span.last
        );
        match &pair[1].written {
            Some(place) => reading.note(place, title, help),
            None => reading.remark(format!("{title}; {help}")),
        }
    }
}
