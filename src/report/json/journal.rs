//! Entries of the journal.

use super::plan::way;
use super::{FORMAT, write};
use crate::domain::ids::{BatchId, SiteId, TankId};
use crate::domain::journal::{
    Amount, Entry, Harvested, InTank, Journal, Kind, Measured, Place, Sample, TargetHolds, What,
};
use chrono::{NaiveDate, SecondsFormat};
use serde::Serialize;

#[derive(Serialize)]
struct JournalJson<'a> {
    format: u32,
    entries: Vec<EntryJson<'a>>,
}

#[derive(Serialize)]
struct EntryJson<'a> {
    id: String,
    recorded: String,
    day: NaiveDate,
    site: Option<&'a str>,
    by: Option<&'a str>,
    what: &'static str,
    replaces: Option<String>,
    replaced_by: Option<String>,
    batch: Option<&'a str>,
    tank: Option<&'a str>,
    plugs: Option<u32>,
    plants: Option<u32>,
    holes: &'a [u32],
    places: Vec<PlaceJson<'a>>,
    all: bool,
    way: Option<&'static str>,
    mass_g: Option<f64>,
    measured_as: Option<&'a str>,
    only_that_day: Option<bool>,
    days_behind: Option<u32>,
    until: Option<NaiveDate>,
    cause: Option<&'a str>,
    text: Option<&'a str>,
    samples: Vec<SampleJson>,
}

#[derive(Serialize)]
struct PlaceJson<'a> {
    tank: &'a str,
    plants: u32,
    holes: &'a [u32],
}

#[derive(Serialize)]
struct SampleJson {
    height_cm: Option<MeasuredJson>,
    width_cm: Option<MeasuredJson>,
    leaves: Option<MeasuredJson>,
    longest_root_cm: Option<MeasuredJson>,
    mass_g: Option<MeasuredJson>,
}

#[derive(Serialize)]
struct MeasuredJson {
    estimate: Option<f64>,
    found: f64,
}

/// Entries. Keys: `format`, `entries`:
///
/// - `id`, `recorded` (time in UTC), `day`, `site` (`null`: all), `by`, `replaces`, `replaced_by` (`null` while in
///   force)
/// - `what`: `sown`, `came_up`, `transplanted`, `lost`, `harvested`, `tank_out`, `tank_back`, `class_lost`,
///   `class_added`, `target`, `behind`, `measured`, `put_off`, `note`, `withdrawn`
/// - `batch`, `tank` (`null` for losses in the nursery, and for harvests from several tanks), `places` (harvests: each `tank` with
///   its `plants` and `holes`), `measured_as` (`null` if it was weighed), `plugs`, `plants`, `holes` (empty: not said), `all` (everything
///   that stood there was lost), `way`, `mass_g` (harvested, or wanted from now on), `only_that_day` (targets), `days_behind`, `until`
///   (last day without a tank, or the day to which work is put off), `cause`, `text`
/// - `samples`: `height_cm`, `width_cm`, `leaves`, `longest_root_cm`, `mass_g`, each with `estimate` and `found`
pub fn journal(journal: &Journal, entries: &[&Entry]) -> String {
    write(&JournalJson { format: FORMAT, entries: entries.iter().map(|one| entry(journal, one)).collect() })
}

fn entry<'a>(journal: &Journal, entry: &'a Entry) -> EntryJson<'a> {
    let plain = EntryJson {
        id: entry.id.to_string(),
        recorded: entry.recorded.to_rfc3339_opts(SecondsFormat::Secs, true),
        day: entry.day,
        site: entry.site.as_ref().map(SiteId::as_str),
        by: entry.by.as_deref(),
        what: word(entry.what.kind()),
        replaces: entry.replaces.map(|id| id.to_string()),
        replaced_by: journal.replaced_by(entry.id).map(|by| by.id.to_string()),
        batch: entry.what.batch().map(BatchId::as_str),
        tank: entry.what.tank().map(TankId::as_str),
        plugs: None,
        plants: None,
        holes: entry.what.holes(),
        places: Vec::new(),
        all: false,
        way: None,
        mass_g: None,
        measured_as: None,
        only_that_day: None,
        days_behind: None,
        until: None,
        cause: None,
        text: None,
        samples: Vec::new(),
    };
    match &entry.what {
        What::Sown { plugs, .. } | What::CameUp { plugs, .. } => EntryJson { plugs: Some(*plugs), ..plain },
        What::Transplanted { plants, .. } => EntryJson { plants: Some(*plants), ..plain },
        What::Lost { place, plants, cause, .. } => {
            let number = match plants {
                Amount::All => None,
                Amount::Plants(number) => Some(*number),
            };
            let in_nursery = *place == Place::Nursery;
            EntryJson {
                plugs: number.filter(|_| in_nursery),
                plants: number.filter(|_| !in_nursery),
                all: *plants == Amount::All,
                cause: Some(cause),
                ..plain
            }
        }
        What::Harvested(harvested) => with_harvest(plain, harvested),
        What::Measured(measuring) => {
            EntryJson { samples: measuring.samples.iter().map(sample).collect(), ..plain }
        }
        What::PutOff { until, .. } => EntryJson { until: Some(*until), ..plain },
        What::TankOut { until, .. } => EntryJson { until: *until, ..plain },
        What::TargetChanged { holds, grams } => {
            EntryJson { mass_g: Some(*grams), only_that_day: Some(*holds == TargetHolds::ThatDay), ..plain }
        }
        What::Behind { days, .. } => EntryJson { days_behind: Some(*days), ..plain },
        What::Note { text, .. } => EntryJson { text: Some(text), ..plain },
        What::TankBack { .. } | What::ClassLost | What::ClassAdded | What::Withdrawn => plain,
    }
}

fn with_harvest<'a>(plain: EntryJson<'a>, harvested: &'a Harvested) -> EntryJson<'a> {
    let place = |place: &'a InTank| PlaceJson {
        tank: place.tank.as_str(),
        plants: place.plants,
        holes: &place.holes,
    };
    EntryJson {
        plants: Some(harvested.plants()),
        places: harvested.places.iter().map(place).collect(),
        measured_as: harvested.measured_as.as_deref(),
        way: Some(way(harvested.way)),
        mass_g: Some(harvested.grams),
        samples: harvested.samples.iter().map(sample).collect(),
        ..plain
    }
}

fn sample(sample: &Sample) -> SampleJson {
    let measured =
        |one: Option<Measured>| one.map(|one| MeasuredJson { estimate: one.estimate, found: one.found });
    SampleJson {
        height_cm: measured(sample.height_cm),
        width_cm: measured(sample.width_cm),
        leaves: measured(sample.leaves),
        longest_root_cm: measured(sample.longest_root_cm),
        mass_g: measured(sample.mass_g),
    }
}

fn word(kind: Kind) -> &'static str {
    match kind {
        Kind::Sown => "sown",
        Kind::CameUp => "came_up",
        Kind::Transplanted => "transplanted",
        Kind::Lost => "lost",
        Kind::Harvested => "harvested",
        Kind::TankOut => "tank_out",
        Kind::TankBack => "tank_back",
        Kind::ClassLost => "class_lost",
        Kind::ClassAdded => "class_added",
        Kind::TargetChanged => "target",
        Kind::Behind => "behind",
        Kind::Measured => "measured",
        Kind::PutOff => "put_off",
        Kind::Note => "note",
        Kind::Withdrawn => "withdrawn",
    }
}
