//! The plan file as it is written: its keys, and what may stand behind them.

use super::mass_factors::MassFactorShape;
use super::names::{maybe_name, name};
use crate::domain::calendar::can_be_meant;
use crate::domain::growth::Way;
use crate::domain::journal::EntryId;
use crate::domain::known::Digest;
use crate::domain::plan::Shortfall;
use crate::domain::term::PROMISED;

use chrono::{DateTime, NaiveDate, Utc};
use serde::de::{Deserializer, Error, Unexpected};
use serde::{Deserialize, Serialize, Serializer};
use serde_yaml::{FlowMap, FlowSeq};
use std::collections::BTreeMap;
use std::fmt::Display;
use std::str::FromStr;

/// The format written. The first one only counted the journal entries that a plan knows; it is read, too.
pub(super) const FORMAT: u32 = 2;
const OLDEST_FORMAT: u32 = 1;
/// No school has more of anything that is counted in a batch; larger numbers would only overflow sums.
const MOST: u32 = 100_000;
/// Last number of plans and batches: some room to go on remains after whatever people write.
pub(in crate::files) const LAST_RUNNING: u32 = 1_000_000_000;

/// Declares a block of the file: unknown keys are refused, keys are written with hyphens.
macro_rules! block {
    ($(#[$doc:meta])* struct $name:ident { $($(#[$meta:meta])* $field:ident: $type:ty,)* }) => {
        $(#[$doc])*
        #[derive(Serialize, Deserialize)]
        #[serde(rename_all = "kebab-case", deny_unknown_fields)]
        pub(super) struct $name { $($(#[$meta])* pub(super) $field: $type,)* }
    };
}

/// Something written as its text.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Written<T>(pub(super) T);

impl<T: Display> Serialize for Written<T> {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.collect_str(&self.0)
    }
}

impl<'de, T: FromStr<Err: Display>> Deserialize<'de> for Written<T> {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        let text = String::deserialize(from)?;
        text.parse().map(Self).map_err(|error: T::Err| {
            D::Error::invalid_value(Unexpected::Str(&text), &error.to_string().as_str())
        })
    }
}

block! {
    /// The whole file.
    struct PlanShape {
        #[serde(deserialize_with = "known_format")]
        format: u32,
        #[serde(deserialize_with = "name")]
        term_id: String,
        #[serde(deserialize_with = "name")]
        term_name: String,
        #[serde(deserialize_with = "running")]
        revision: u32,
        #[serde(default, deserialize_with = "maybe_running", skip_serializing_if = "Option::is_none")]
        last_number: Option<u32>,
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        last_task_numbers: Vec<FlowMap<LastTasksShape>>,
        #[serde(deserialize_with = "moment")]
        made: DateTime<Utc>,
        #[serde(default, deserialize_with = "maybe_name", skip_serializing_if = "String::is_empty")]
        reason: String,
        #[serde(default, deserialize_with = "maybe_chance", skip_serializing_if = "Option::is_none")]
        sure: Option<f64>,
        #[serde(default, deserialize_with = "maybe_day", skip_serializing_if = "Option::is_none")]
        replanned: Option<NaiveDate>,
        #[serde(default, deserialize_with = "maybe_amount", skip_serializing_if = "Option::is_none")]
        journal_entries: Option<u32>,
        #[serde(default, skip_serializing_if = "is_zero")]
        last_entry: u32,
        #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
        journal: BTreeMap<Written<EntryId>, Option<Written<Digest>>>,
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        mass_factors: Vec<FlowMap<MassFactorShape>>,
        facts: FactsShape,
        servings: Vec<FlowMap<ServingShape>>,
        batches: Vec<BatchShape>,
    }
}

block! {
    struct FactsShape {
        #[serde(deserialize_with = "name")]
        solver: String,
        #[serde(deserialize_with = "number")]
        cost: f64,
        #[serde(default, deserialize_with = "maybe_number", skip_serializing_if = "Option::is_none")]
        cost_bound: Option<f64>,
        #[serde(deserialize_with = "number")]
        short_grams: f64,
        #[serde(default, deserialize_with = "maybe_number", skip_serializing_if = "Option::is_none")]
        short_bound_grams: Option<f64>,
        #[serde(deserialize_with = "number")]
        surplus_grams: f64,
        effort: u64,
        seed: u64,
        #[serde(deserialize_with = "number")]
        seconds: f64,
        stopped: bool,
    }
}

block! {
    struct ServingShape {
        #[serde(deserialize_with = "day")]
        date: NaiveDate,
        #[serde(deserialize_with = "number")]
        target: f64,
        #[serde(deserialize_with = "number")]
        planned: f64,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        shortfall: Option<ShortfallShape>,
    }
}

block! {
    struct BatchShape {
        #[serde(deserialize_with = "name")]
        id: String,
        #[serde(deserialize_with = "name")]
        crop: String,
        #[serde(deserialize_with = "name")]
        site: String,
        #[serde(deserialize_with = "day")]
        sown: NaiveDate,
        #[serde(default, skip_serializing_if = "std::ops::Not::not")]
        standing: bool,
        #[serde(default, skip_serializing_if = "std::ops::Not::not")]
        in_cups: bool,
        /// Days of age when they came.
        #[serde(default, skip_serializing_if = "Option::is_none", deserialize_with = "age")]
        bought: Option<u32>,
        #[serde(deserialize_with = "amount")]
        plugs: u32,
        #[serde(deserialize_with = "amount")]
        seeds_per_plug: u32,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        task_numbers: Option<TasksShape>,
        parts: Vec<PartShape>,
    }
}

/// Numbers of tasks of one kind, by day.
pub(super) type DaysShape = Option<FlowMap<BTreeMap<Day, u32>>>;

/// A day as a key.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(transparent)]
pub(super) struct Day(#[serde(deserialize_with = "day")] pub(super) NaiveDate);

block! {
    /// The numbers of a batch's tasks.
    struct TasksShape {
        #[serde(default, skip_serializing_if = "Option::is_none")]
        sow: DaysShape,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        transplant: DaysShape,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        harvest: DaysShape,
    }
}

block! {
    /// The highest numbers given to a batch's tasks; none where the plan's own tasks tell.
    struct LastTasksShape {
        batch: String,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        sow: Option<u32>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        transplant: Option<u32>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        harvest: Option<u32>,
    }
}

block! {
    struct PartShape {
        #[serde(deserialize_with = "amount")]
        plants: u32,
        #[serde(deserialize_with = "name")]
        tank: String,
        #[serde(deserialize_with = "day")]
        transplant: NaiveDate,
        holes: FlowSeq<Vec<u32>>,
        kept_empty: FlowSeq<Vec<u32>>,
        #[serde(deserialize_with = "amount")]
        cuts_before: u32,
        #[serde(default, deserialize_with = "maybe_day", skip_serializing_if = "Option::is_none")]
        lost: Option<NaiveDate>,
        harvests: Vec<HarvestShape>,
    }
}

block! {
    struct HarvestShape {
        #[serde(deserialize_with = "day")]
        date: NaiveDate,
        way: WayShape,
        #[serde(deserialize_with = "amount")]
        number: u32,
        #[serde(deserialize_with = "number")]
        grams: f64,
        arithmetic: FlowMap<ArithmeticShape>,
        serves: Vec<FlowMap<ServedShape>>,
    }
}

block! {
    struct ArithmeticShape {
        days: u32,
        #[serde(deserialize_with = "number")]
        standing_grams: f64,
        #[serde(deserialize_with = "number")]
        taken: f64,
        #[serde(deserialize_with = "number")]
        survival: f64,
        #[serde(deserialize_with = "number")]
        yield_factor: f64,
        #[serde(deserialize_with = "number")]
        ready_to_eat: f64,
    }
}

block! {
    struct ServedShape {
        #[serde(deserialize_with = "day")]
        date: NaiveDate,
        #[serde(deserialize_with = "number")]
        grams: f64,
    }
}

/// Declares an enum of the file next to its twin in the domain.
macro_rules! choice {
    ($name:ident for $domain:ident { $($variant:ident),* $(,)? }) => {
        #[derive(Clone, Copy, Serialize, Deserialize)]
        #[serde(rename_all = "kebab-case")]
        pub(super) enum $name { $($variant),* }

        impl From<$domain> for $name {
            fn from(value: $domain) -> Self {
                match value { $($domain::$variant => Self::$variant),* }
            }
        }

        impl From<$name> for $domain {
            fn from(value: $name) -> Self {
                match value { $($name::$variant => Self::$variant),* }
            }
        }
    };
}

choice!(WayShape for Way { Cut, WholeHead });
choice!(ShortfallShape for Shortfall {
    TooEarly, DaysOff, Holes, Nursery, Hands, Crops, OnlyIn, OneTank, Water, Unattended, Together, Failure, Search,
});

fn known_format<'de, D: Deserializer<'de>>(from: D) -> Result<u32, D::Error> {
    let format = u32::deserialize(from)?;
    if (OLDEST_FORMAT..=FORMAT).contains(&format) {
        Ok(format)
    } else {
        let found = Unexpected::Other("a plan of another format");
        let known = "format: 2, the newest known here; a newer sowtide may have written this plan";
        Err(D::Error::invalid_value(found, &known))
    }
}

fn amount<'de, D: Deserializer<'de>>(from: D) -> Result<u32, D::Error> {
    let number = u32::deserialize(from)?;
    if number <= MOST {
        Ok(number)
    } else {
        let found = Unexpected::Unsigned(number.into());
        Err(D::Error::invalid_value(found, &"a number up to 100000"))
    }
}

/// Days of age, if given.
fn age<'de, D: Deserializer<'de>>(from: D) -> Result<Option<u32>, D::Error> {
    let days = u32::deserialize(from)?;
    if (1..=1000).contains(&days) {
        Ok(Some(days))
    } else {
        Err(D::Error::invalid_value(Unexpected::Unsigned(days.into()), &"an age from 1 to 1000 days"))
    }
}

/// A number that counts up and must never come to an end.
fn running<'de, D: Deserializer<'de>>(from: D) -> Result<u32, D::Error> {
    let number = u32::deserialize(from)?;
    if number <= LAST_RUNNING {
        Ok(number)
    } else {
        let found = Unexpected::Unsigned(number.into());
        Err(D::Error::invalid_value(found, &"a number up to 1000000000"))
    }
}

fn maybe_running<'de, D: Deserializer<'de>>(from: D) -> Result<Option<u32>, D::Error> {
    running(from).map(Some)
}

fn maybe_amount<'de, D: Deserializer<'de>>(from: D) -> Result<Option<u32>, D::Error> {
    amount(from).map(Some)
}

fn number<'de, D: Deserializer<'de>>(from: D) -> Result<f64, D::Error> {
    let number = f64::deserialize(from)?;
    if number.is_finite() {
        Ok(number)
    } else {
        Err(D::Error::invalid_value(Unexpected::Float(number), &"a number such as 12.5"))
    }
}

fn maybe_number<'de, D: Deserializer<'de>>(from: D) -> Result<Option<f64>, D::Error> {
    number(from).map(Some)
}

fn maybe_chance<'de, D: Deserializer<'de>>(from: D) -> Result<Option<f64>, D::Error> {
    let chance = number(from)?;
    if chance == 0.0 || PROMISED.contains(&chance) {
        return Ok(Some(chance));
    }
    Err(D::Error::invalid_value(Unexpected::Float(chance), &"a chance from 0.5 to 0.95, or 0"))
}

fn day<'de, D: Deserializer<'de>>(from: D) -> Result<NaiveDate, D::Error> {
    date_of(&String::deserialize(from)?)
}

/// A date in the years that can be planned and reckoned with.
pub(in crate::files) fn date_of<E: Error>(text: &str) -> Result<NaiveDate, E> {
    let wrong = |known: &&str| E::invalid_value(Unexpected::Str(text), known);
    let day: NaiveDate = text.parse().map_err(|_| wrong(&"a date such as 2026-09-01"))?;
    if can_be_meant(day) { Ok(day) } else { Err(wrong(&"a date in the years from 1900 to 2199")) }
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde hands over references")]
fn is_zero(number: &u32) -> bool {
    *number == 0
}

fn maybe_day<'de, D: Deserializer<'de>>(from: D) -> Result<Option<NaiveDate>, D::Error> {
    day(from).map(Some)
}

fn moment<'de, D: Deserializer<'de>>(from: D) -> Result<DateTime<Utc>, D::Error> {
    moment_of(&String::deserialize(from)?)
}

/// A time in the same years.
pub(in crate::files) fn moment_of<E: Error>(text: &str) -> Result<DateTime<Utc>, E> {
    let wrong = |known: &&str| E::invalid_value(Unexpected::Str(text), known);
    let moment: DateTime<Utc> = text.parse().map_err(|_| wrong(&"a time such as 2026-09-01T12:00:00Z"))?;
    if can_be_meant(moment.date_naive()) {
        Ok(moment)
    } else {
        Err(wrong(&"a time in the years from 1900 to 2199"))
    }
}
