//! Names and other words in a plan file.

use crate::domain::text::{self, Unfit};
use serde::Deserialize;
use serde::de::{Deserializer, Error, Unexpected};

/// Text that is fit for people, as all that is printed.
pub(super) fn name<'de, D: Deserializer<'de>>(from: D) -> Result<String, D::Error> {
    fit(String::deserialize(from)?)
}

pub(super) fn maybe_name<'de, D: Deserializer<'de>>(from: D) -> Result<String, D::Error> {
    let name = String::deserialize(from)?;
    if name.is_empty() { Ok(name) } else { fit(name) }
}

fn fit<E: Error>(name: String) -> Result<String, E> {
    let found = match text::check(&name) {
        Ok(()) => return Ok(name),
        Err(Unfit::Empty) => "text without a letter",
        Err(Unfit::Hidden(_)) => "text with a hidden character",
    };
    Err(E::invalid_value(Unexpected::Other(found), &"letters and digits, all on one line"))
}
