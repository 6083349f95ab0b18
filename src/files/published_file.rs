//! `calendar.yaml`: what calendars have told people so far, written by `sowtide calendar`.

use super::plan_file::{date_of, moment_of};
use super::problem::{Problem, Problems, TextFile};
use super::store::{Store, readable_again};
use super::yaml;
use crate::domain::calendar::DateSpan;
use crate::domain::ids::SiteId;
use crate::domain::published::{Entry, EventKind, Published, PublishedEvent};
use crate::domain::tasks::TaskKind;
use chrono::{DateTime, NaiveDate, Utc};
use serde::de::{Deserializer, Error, Unexpected};
use serde::{Deserialize, Serialize, Serializer};
use serde_yaml::{FlowSeq, Spanned};
use std::collections::BTreeMap;
use std::io;

/// Name of the file within a term's folder.
pub const FILE_NAME: &str = "calendar.yaml";

/// Name of its copy, which stays newer where somebody brings back an old file.
pub const COPY: &str = "plans/calendar.yaml";

/// The only format so far.
const FORMAT: u32 = 1;

/// What people see who open the file.
const HEADER: &str = "\
# What calendars have told people so far, written by sowtide. Please keep it with the plan and do not edit it:
# without it, people's calendars could miss changes.
";

/// Reads the file; nothing was published yet if there is none.
///
/// # Errors
/// If the file cannot be read or is of another kind, with the place.
pub fn read(store: &dyn Store, name: &str) -> Result<Option<Published>, Problems> {
    TextFile::read(store, name)?.map(|file| from_file(&file)).transpose()
}

/// Writes the file, whole or not at all, after making sure that it can be read back as it is.
///
/// # Errors
/// If it would not be the same when read back, or cannot be written. The old file is then unharmed.
pub fn write(store: &dyn Store, name: &str, published: &Published) -> io::Result<()> {
    let text = to_text(published)?;
    readable_again(&text)?;
    match from_file(&TextFile::new(store.shown(name), &text)) {
        Ok(read) if read == *published => store.write(name, text.as_bytes()),
        Ok(_) => Err(io::Error::new(
            io::ErrorKind::InvalidData,
            "the list of events would change when read back, so it was not written",
        )),
        Err(problems) => Err(io::Error::new(io::ErrorKind::InvalidData, problems.to_string())),
    }
}

#[derive(Serialize)]
#[serde(rename_all = "kebab-case")]
struct Written<'a> {
    format: u32,
    events: Vec<EventShape<&'a str>>,
}

#[derive(Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
struct Shape {
    #[serde(rename = "format", deserialize_with = "known_format")]
    _format: u32,
    events: Vec<EventShape<Spanned<String>>>,
}

#[derive(Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
struct EventShape<U> {
    uid: U,
    kind: KindShape,
    sites: FlowSeq<Vec<String>>,
    #[serde(deserialize_with = "day")]
    first: NaiveDate,
    #[serde(deserialize_with = "day")]
    last: NaiveDate,
    title: String,
    #[serde(default, skip_serializing_if = "String::is_empty")]
    place: String,
    #[serde(serialize_with = "write_hex", deserialize_with = "hex")]
    fingerprint: u64,
    sequence: u32,
    #[serde(deserialize_with = "moment")]
    changed: DateTime<Utc>,
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    cancelled: bool,
}

#[derive(Clone, Copy, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
enum KindShape {
    Sow,
    Transplant,
    Harvest,
    Break,
    Closure,
    Serving,
}

fn to_text(published: &Published) -> io::Result<String> {
    // Without it, dates would be put into quotes for old readers. The directive would be in the way of the header.
    let options = serde_yaml::ser_options! { yaml_12: true, no_lang_directive: true };
    let events = published.events.values().map(write_event).collect();
    serde_yaml::to_string_with_options(&Written { format: FORMAT, events }, options)
        .map(|body| format!("{HEADER}{body}"))
        .map_err(io::Error::other)
}

fn write_event(event: &PublishedEvent) -> EventShape<&str> {
    let entry = &event.entry;
    EventShape {
        uid: &entry.uid,
        kind: match entry.kind {
            EventKind::Task(TaskKind::Sow) => KindShape::Sow,
            EventKind::Task(TaskKind::Transplant) => KindShape::Transplant,
            EventKind::Task(TaskKind::Harvest) => KindShape::Harvest,
            EventKind::Break => KindShape::Break,
            EventKind::Closure => KindShape::Closure,
            EventKind::Serving => KindShape::Serving,
        },
        sites: FlowSeq(entry.sites.iter().map(ToString::to_string).collect()),
        first: entry.days.first,
        last: entry.days.last,
        title: entry.title.clone(),
        place: entry.place.clone(),
        fingerprint: entry.fingerprint,
        sequence: event.sequence,
        changed: event.changed,
        cancelled: event.cancelled,
    }
}

fn from_file(file: &TextFile) -> Result<Published, Problems> {
    let shape: Shape = serde_yaml::from_str_with_options(file.text(), yaml::long_options())
        .map_err(|error| yaml::placed(file, &error).alone())?;
    let mut events = BTreeMap::new();
    let mut problems = Vec::new();
    for event in shape.events {
        let place = event.uid.referenced;
        let event = read_event(event);
        let mut note = |title: String, help: &str| problems.push(at(file, place, title, help));
        if event.entry.days.last < event.entry.days.first {
            note(format!("{} ends before it begins", event.entry.uid), "swap its days");
        }
        if let Some(twin) = events.insert(event.entry.uid.clone(), event) {
            note(format!("{} is listed twice", twin.entry.uid), "keep the entry with the higher sequence");
        }
    }
    Problems::check(problems)?;
    Ok(Published { events })
}

fn at(file: &TextFile, place: serde_yaml::Location, title: String, help: &str) -> Problem {
    match yaml::span_of(file, place) {
        Some(span) => file.problem(span, title, help),
        None => file.whole_problem(title, help),
    }
}

fn read_event(shape: EventShape<Spanned<String>>) -> PublishedEvent {
    PublishedEvent {
        entry: Entry {
            uid: shape.uid.value,
            kind: match shape.kind {
                KindShape::Sow => EventKind::Task(TaskKind::Sow),
                KindShape::Transplant => EventKind::Task(TaskKind::Transplant),
                KindShape::Harvest => EventKind::Task(TaskKind::Harvest),
                KindShape::Break => EventKind::Break,
                KindShape::Closure => EventKind::Closure,
                KindShape::Serving => EventKind::Serving,
            },
            sites: shape.sites.0.into_iter().map(SiteId::new).collect(),
            days: DateSpan { first: shape.first, last: shape.last },
            title: shape.title,
            place: shape.place,
            fingerprint: shape.fingerprint,
        },
        sequence: shape.sequence,
        changed: shape.changed,
        cancelled: shape.cancelled,
    }
}

fn known_format<'de, D: Deserializer<'de>>(from: D) -> Result<u32, D::Error> {
    yaml::only_format(from, "a list of events of another format")
}

fn day<'de, D: Deserializer<'de>>(from: D) -> Result<NaiveDate, D::Error> {
    date_of(&String::deserialize(from)?)
}

fn moment<'de, D: Deserializer<'de>>(from: D) -> Result<DateTime<Utc>, D::Error> {
    moment_of(&String::deserialize(from)?)
}

/// A prefix keeps a fingerprint of digits alone from being read as a number.
#[allow(clippy::trivially_copy_pass_by_ref, reason = "serde asks for it")]
fn write_hex<S: Serializer>(number: &u64, to: S) -> Result<S::Ok, S::Error> {
    to.collect_str(&format_args!("x{number:016x}"))
}

fn hex<'de, D: Deserializer<'de>>(from: D) -> Result<u64, D::Error> {
    let text = String::deserialize(from)?;
    let digits = text.strip_prefix('x').filter(|digits| digits.len() == 16);
    digits
        .and_then(|digits| u64::from_str_radix(digits, 16).ok())
        .ok_or_else(|| D::Error::invalid_value(Unexpected::Str(&text), &"an x and 16 digits from 0 to f"))
}

#[cfg(test)]
mod tests;
