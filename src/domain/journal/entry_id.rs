//! Numbers of entries.

use std::fmt;
use std::str::FromStr;

/// Number of an entry in a term's journal, from 1, counting up. Shown and written as `j001`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct EntryId(pub u32);

impl fmt::Display for EntryId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&format!("j{:03}", self.0))
    }
}

/// A text that is no entry's number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("write the entry's number as in the journal, such as j012")]
pub struct NoEntryId;

impl FromStr for EntryId {
    type Err = NoEntryId;

    /// Reads `j012`, and `12` too.
    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let digits = text.strip_prefix('j').unwrap_or(text);
        let plain = digits.bytes().all(|byte| byte.is_ascii_digit());
        match digits.parse() {
            Ok(number @ 1..) if plain => Ok(Self(number)),
            _ => Err(NoEntryId),
        }
    }
}
