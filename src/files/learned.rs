//! `learned.yaml`: figures that were taken over from a term's own records, with what its files said before; and how they get
//! into those files.

mod amend;

use super::plan_file::date_of;
use super::problem::{Problems, TextFile};
use super::store::{Store, readable_again};
use super::yaml;
use crate::domain::crop::Limits;
use crate::domain::ids::{CropId, SiteId};
use crate::domain::learned::{Figure, Of, Taken};
use chrono::NaiveDate;
use serde::de::{Deserializer, Error, Unexpected};
use serde::{Deserialize, Serialize};
use serde_yaml::FlowMap;
use std::io;

pub use amend::{Amended, Note, amended, source_of};

/// Name of the file within a term's folder.
pub const FILE_NAME: &str = "learned.yaml";

/// The only format so far.
const FORMAT: u32 = 1;

/// What people see who open the file.
const HEADER: &str = "\
# Figures taken over from this term's own records, written by sowtide: what its files said before, and what they say since.
# Please do not edit it: without it nothing could be taken back.
";

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Shape {
    #[serde(deserialize_with = "known_format")]
    format: u32,
    figures: Vec<FlowMap<TakenShape>>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct TakenShape {
    crop: String,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    site: Option<String>,
    #[serde(deserialize_with = "known_figure")]
    figure: String,
    before: f64,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    low: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    high: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    source: Option<String>,
    after: f64,
    #[serde(deserialize_with = "day")]
    day: NaiveDate,
}

/// Reads the file; nothing was taken over if there is none.
///
/// # Errors
/// If the file cannot be read or is of another kind, with the place.
pub fn read(store: &dyn Store) -> Result<Vec<Taken>, Problems> {
    TextFile::read(store, FILE_NAME)?.map_or_else(|| Ok(Vec::new()), |file| from_file(&file))
}

/// Writes the file, whole or not at all, after making sure that it can be read back as it is.
///
/// # Errors
/// If it would not be the same when read back, or cannot be written. The old file is then unharmed.
pub fn write(store: &dyn Store, taken: &[Taken]) -> io::Result<()> {
    let figures = taken.iter().map(|own| FlowMap(own.into())).collect();
    let options = serde_yaml::ser_options! { yaml_12: true, no_lang_directive: true };
    let body = serde_yaml::to_string_with_options(&Shape { format: FORMAT, figures }, options);
    let text = body.map(|body| format!("{HEADER}{body}")).map_err(io::Error::other)?;
    readable_again(&text)?;
    match from_file(&TextFile::new(store.shown(FILE_NAME), &text)) {
        Ok(read) if read == taken => store.write(FILE_NAME, text.as_bytes()),
        _ => Err(io::Error::new(
            io::ErrorKind::InvalidData,
            "the figures would change when read back, so they were not written",
        )),
    }
}

fn from_file(file: &TextFile) -> Result<Vec<Taken>, Problems> {
    let shape: Shape = serde_yaml::from_str_with_options(file.text(), yaml::long_options())
        .map_err(|error| yaml::placed(file, &error).alone())?;
    let taken: Vec<Taken> = shape.figures.into_iter().filter_map(|FlowMap(own)| own.taken()).collect();
    match taken.iter().find(|own| !can_be(own)) {
        None => Ok(taken),
        Some(own) => {
            let title = format!("what is listed of {} cannot be a figure", own.of.crop);
            let help = "put back the file as sowtide wrote it; without it nothing can be taken back";
            Err(file.whole_problem(title, help).alone())
        }
    }
}

/// Whether a figure has a site just where it should, and values that figures have.
fn can_be(own: &Taken) -> bool {
    let spread = own.spread.map(|spread| [spread.low, spread.high]).into_iter().flatten();
    let values = [own.before, own.after].into_iter().chain(spread);
    own.of.site.is_some() == own.of.figure.is_of_site()
        && values.into_iter().all(|value| (0.001..=400.0).contains(&value))
}

impl From<&Taken> for TakenShape {
    fn from(taken: &Taken) -> Self {
        Self {
            crop: taken.of.crop.to_string(),
            site: taken.of.site.as_ref().map(ToString::to_string),
            figure: taken.of.figure.word().to_owned(),
            before: taken.before,
            low: taken.spread.map(|spread| spread.low),
            high: taken.spread.map(|spread| spread.high),
            source: taken.source.clone(),
            after: taken.after,
            day: taken.day,
        }
    }
}

impl TakenShape {
    /// `None` for a figure of no known name, which reading has refused.
    fn taken(self) -> Option<Taken> {
        let figure = figure(&self.figure)?;
        let of = Of { crop: CropId::new(self.crop), site: self.site.map(SiteId::new), figure };
        let spread = self.low.zip(self.high).map(|(low, high)| Limits { low, high });
        Some(Taken { of, before: self.before, spread, source: self.source, after: self.after, day: self.day })
    }
}

fn figure(word: &str) -> Option<Figure> {
    Figure::ALL.into_iter().find(|figure| figure.word() == word)
}

fn known_figure<'de, D: Deserializer<'de>>(from: D) -> Result<String, D::Error> {
    let word = String::deserialize(from)?;
    match figure(&word) {
        Some(_) => Ok(word),
        None => Err(D::Error::invalid_value(Unexpected::Str(&word), &"the name of a figure")),
    }
}

fn known_format<'de, D: Deserializer<'de>>(from: D) -> Result<u32, D::Error> {
    yaml::only_format(from, "a list of figures of another format")
}

fn day<'de, D: Deserializer<'de>>(from: D) -> Result<NaiveDate, D::Error> {
    date_of(&String::deserialize(from)?)
}

#[cfg(test)]
mod tests;
