//! Entries as they are written.

use crate::domain::growth::Way;
use crate::domain::journal::{
    Amount, Entry, Harvested, InTank, Kind, Measured, Place, Sample, TargetHolds, What,
};
use crate::files::problem::{Problem, TextFile};
use chrono::{NaiveDate, SecondsFormat};
use serde::Serialize;
use serde_yaml::{FlowMap, FlowSeq};
use std::io;

/// The kinds of entries as written.
pub(crate) const KINDS: [(&str, Kind); 15] = [
    ("sown", Kind::Sown),
    ("came up", Kind::CameUp),
    ("transplanted", Kind::Transplanted),
    ("lost", Kind::Lost),
    ("harvested", Kind::Harvested),
    ("measured", Kind::Measured),
    ("put off", Kind::PutOff),
    ("tank out", Kind::TankOut),
    ("tank back", Kind::TankBack),
    ("class lost", Kind::ClassLost),
    ("class added", Kind::ClassAdded),
    ("target", Kind::TargetChanged),
    ("behind", Kind::Behind),
    ("note", Kind::Note),
    ("withdrawn", Kind::Withdrawn),
];

/// The ways of harvesting as written.
pub(super) const WAYS: [(&str, Way); 2] = [("cut", Way::Cut), ("whole head", Way::WholeHead)];

/// How long a target holds, as written.
pub(super) const HOLDS: [(&str, TargetHolds); 2] =
    [("that day", TargetHolds::ThatDay), ("from then on", TargetHolds::FromThenOn)];

/// One entry; what its kind does not have is left away.
#[derive(Default, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(super) struct EntryShape {
    pub(super) id: String,
    pub(super) recorded: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) by: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) replaces: Option<String>,
    pub(super) day: NaiveDate,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) site: Option<String>,
    pub(super) what: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) batch: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) tank: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) plugs: Option<u32>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) plants: Option<u32>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) days: Option<u32>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) holes: Option<FlowSeq<Vec<u32>>>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(super) places: Vec<FlowMap<PlaceShape>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) way: Option<&'static str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) grams: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) measured_as: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) holds: Option<&'static str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) until: Option<NaiveDate>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) cause: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) text: Option<String>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    samples: Vec<SampleShape>,
}

/// Plants of a harvest from one of several tanks.
#[derive(Serialize)]
pub(super) struct PlaceShape {
    pub(super) tank: String,
    pub(super) plants: u32,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(super) holes: Vec<u32>,
}

#[derive(Serialize)]
#[serde(rename_all = "kebab-case")]
struct SampleShape {
    #[serde(skip_serializing_if = "Option::is_none")]
    height: Option<FlowMap<MeasuredShape>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    width: Option<FlowMap<MeasuredShape>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    leaves: Option<FlowMap<MeasuredShape>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    longest_root: Option<FlowMap<MeasuredShape>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    mass: Option<FlowMap<MeasuredShape>>,
}

#[derive(Serialize)]
struct MeasuredShape {
    #[serde(skip_serializing_if = "Option::is_none")]
    estimate: Option<f64>,
    found: f64,
}

/// The entries' text, as items of a list.
pub(super) fn text(entries: &[Entry]) -> io::Result<String> {
    let shapes: Vec<EntryShape> = entries.iter().map(entry).collect();
    let options = serde_yaml::ser_options! { yaml_12: true, no_lang_directive: true };
    serde_yaml::to_string_with_options(&shapes, options).map_err(io::Error::other)
}

/// An entry in words and numbers.
pub(super) fn entry(entry: &Entry) -> EntryShape {
    let kind = entry.what.kind();
    let shape = EntryShape {
        id: entry.id.to_string(),
        recorded: entry.recorded.to_rfc3339_opts(SecondsFormat::AutoSi, true),
        by: entry.by.clone(),
        replaces: entry.replaces.map(|id| id.to_string()),
        day: entry.day,
        site: entry.site.as_ref().map(ToString::to_string),
        what: word(&KINDS, kind),
        batch: entry.what.batch().map(ToString::to_string),
        tank: entry.what.tank().map(ToString::to_string),
        holes: Some(entry.what.holes())
            .filter(|holes| !holes.is_empty())
            .map(|holes| FlowSeq(holes.to_vec())),
        ..EntryShape::default()
    };
    with_details(shape, &entry.what)
}

fn with_details(shape: EntryShape, what: &What) -> EntryShape {
    match what {
        What::Sown { plugs, .. } | What::CameUp { plugs, .. } => EntryShape { plugs: Some(*plugs), ..shape },
        What::Transplanted { plants, .. } => EntryShape { plants: Some(*plants), ..shape },
        What::Lost { place, plants, cause, .. } => {
            let number = match plants {
                Amount::All => None,
                Amount::Plants(number) => Some(*number),
            };
            // Seedlings are counted in plugs, so the key tells the place; "tank" does so besides.
            let (plugs, plants) = if *place == Place::Nursery { (number, None) } else { (None, number) };
            EntryShape { plugs, plants, cause: Some(cause.clone()), ..shape }
        }
        What::Harvested(harvested) => with_harvest(shape, harvested),
        What::Measured(measuring) => {
            EntryShape { samples: measuring.samples.iter().map(sample).collect(), ..shape }
        }
        What::PutOff { until, .. } => EntryShape { until: Some(*until), ..shape },
        What::TankOut { until, .. } => EntryShape { until: *until, ..shape },
        What::TargetChanged { holds, grams } => {
            EntryShape { holds: Some(word(&HOLDS, *holds)), grams: Some(*grams), ..shape }
        }
        What::Behind { days, .. } => EntryShape { days: Some(*days), ..shape },
        What::Note { text, .. } => EntryShape { text: Some(text.clone()), ..shape },
        What::TankBack { .. } | What::ClassLost | What::ClassAdded | What::Withdrawn => shape,
    }
}

fn with_harvest(shape: EntryShape, harvested: &Harvested) -> EntryShape {
    // One tank is told by the entry itself, so that journals stay as they always were.
    let several = if harvested.places.len() > 1 { &harvested.places[..] } else { &[] };
    EntryShape {
        plants: Some(harvested.plants()),
        places: several.iter().map(place).collect(),
        measured_as: harvested.measured_as.clone(),
        way: Some(word(&WAYS, harvested.way)),
        grams: Some(harvested.grams),
        samples: harvested.samples.iter().map(sample).collect(),
        ..shape
    }
}

fn place(place: &InTank) -> FlowMap<PlaceShape> {
    FlowMap(PlaceShape { tank: place.tank.to_string(), plants: place.plants, holes: place.holes.clone() })
}

fn sample(sample: &Sample) -> SampleShape {
    let measured = |one: Option<Measured>| {
        one.map(|one| FlowMap(MeasuredShape { estimate: one.estimate, found: one.found }))
    };
    SampleShape {
        height: measured(sample.height_cm),
        width: measured(sample.width_cm),
        leaves: measured(sample.leaves),
        longest_root: measured(sample.longest_root_cm),
        mass: measured(sample.mass_g),
    }
}

/// The word for a value of one of the lists above, which name every value.
fn word<T: PartialEq + Copy>(words: &[(&'static str, T)], value: T) -> &'static str {
    words.iter().find(|(_, known)| *known == value).map_or("", |(word, _)| word)
}

/// Why new entries cannot be put behind the text of a journal that people changed by hand, with the place, if so.
pub(super) fn no_room_behind(file: &TextFile) -> Option<Problem> {
    let mut start = 0;
    let mut entries_begun = false;
    for line in file.text().split_inclusive('\n') {
        let span = start..start + line.trim_end().len();
        start += line.len();
        let value =
            line.strip_prefix("entries:").map(|value| value.split(" #").next().unwrap_or_default().trim());
        let is_key = line.starts_with(|c: char| c.is_ascii_alphabetic());
        let title = match value {
            Some(value) if !value.is_empty() => "new entries cannot be put behind entries in brackets",
            Some(_) => {
                entries_begun = true;
                continue;
            }
            None if entries_begun && is_key => "new entries cannot be put behind this line",
            None if entries_begun && line.trim_end() == "..." => "new entries cannot be put behind this end",
            None => continue,
        };
        let help = "nothing was recorded; let \"entries:\" stand alone on a line, below \"format: 1\", and let the file end with \
                    the last entry, each beginning with \"- id:\"";
        return Some(file.problem(span, title, help));
    }
    None
}
