//! `journal.yaml`: what really happened, entry after entry.
//!
//! An entry once written is never touched again: new ones are put behind the text as it stands, comments of people
//! included. The longer text goes to a temporary file that takes the journal's name once it is safely on the disk, so
//! whoever is interrupted, or reads meanwhile, finds the journal from before or the whole new one. Who adds holds the
//! store's lock from reading to writing, so that nobody's entry is lost to another's.
//!
//! A copy grows beside it, so that a journal which was brought back from an older backup, or lost, is missed at once.

mod entries;
mod shape;
pub(crate) mod table;

use super::problem::{Problem, Problems, TextFile};
use super::store::{Lock, Store, readable_again};
use super::tree;
use crate::domain::journal::{Entry, EntryId, Journal};
use std::collections::BTreeMap;
use std::io;
use std::ops::Range;

pub(crate) use shape::KINDS;
pub use table::MARK as TABLE_MARK;

/// Name of the file within a term's folder.
pub const FILE_NAME: &str = "journal.yaml";

/// Name of the copy.
pub const COPY: &str = "plans/journal.yaml";

/// What people see who open the file.
const HEADER: &str = "\
# What really happened, written by sowtide. Entries are only added, never changed: whoever was wrong records a
# correction with --replaces, or takes an entry back with: sowtide record withdraw. Masses are grams, lengths cm.
format: 1
entries:
";

/// A journal as it stands in its file.
#[derive(Debug, Clone, Default)]
pub struct Written {
    /// What it says.
    pub journal: Journal,
    /// The text as it stands, with what people wrote beside the entries; empty if there is no file.
    text: String,
    /// Where in the text each entry begins, in bytes.
    starts: BTreeMap<EntryId, usize>,
}

impl Written {
    /// The line on which an entry begins, from 1.
    #[must_use]
    pub fn line_of(&self, id: EntryId) -> Option<usize> {
        let before = self.text.get(..*self.starts.get(&id)?)?;
        Some(before.matches('\n').count() + 1)
    }
}

/// Why nothing was added.
#[derive(Debug, thiserror::Error)]
pub enum AddError {
    /// What should be added cannot be read back.
    #[error(transparent)]
    Unreadable(#[from] Problems),
    /// The file could not be written.
    #[error("{0}")]
    Unwritten(#[from] io::Error),
}

/// Reads a journal; a file that does not exist is a journal without entries.
///
/// # Errors
/// If the file cannot be read or anything in it cannot be meant, with all such places.
pub fn read(store: &dyn Store) -> Result<Written, Problems> {
    let Some(file) = TextFile::read(store, FILE_NAME)? else {
        return Ok(Written::default());
    };
    if file.text().trim().is_empty() {
        let help = match TextFile::read(store, COPY) {
            Ok(None) => "remove the file; the next entry makes a new one".to_owned(),
            _ => format!("all that was ever recorded is kept in {}: copy that file here", store.shown(COPY)),
        };
        return Err(file.whole_problem("there is nothing in this file", help).alone());
    }
    let entries = entries_of(&file)?;
    let starts = entries.iter().map(|(span, entry)| (entry.id, span.start)).collect();
    Ok(Written { journal: journal_of(entries), text: file.text().to_owned(), starts })
}

/// Everything that was ever recorded, as the copy has it, if that is more than the journal has. A copy that cannot be read
/// tells nothing.
#[must_use]
pub fn longer_copy(store: &dyn Store, written: &Written) -> Option<Journal> {
    let file = TextFile::read(store, COPY).ok().flatten().filter(|file| file.text() != written.text)?;
    let copy = from_file(&file).ok()?;
    copy.entries().iter().any(|entry| written.journal.entry(entry.id).is_none()).then_some(copy)
}

/// Makes the copy equal to the journal.
///
/// # Errors
/// If it cannot be written.
pub fn forget_copy(store: &dyn Store, _held: &Lock<'_>, written: &Written) -> io::Result<()> {
    store.write(COPY, written.text.as_bytes())
}

/// Adds entries, all or none, to a journal as it was read. The lock must have been held since before reading, or
/// entries of others could be lost.
///
/// # Errors
/// If the entries would not read back as they are, or the file cannot be written. The journal is then as it was.
pub fn add(store: &dyn Store, _held: &Lock<'_>, written: &Written, added: &[Entry]) -> Result<(), AddError> {
    if added.is_empty() {
        return Ok(());
    }
    let text = text_with(store, written, added)?;
    store.write(FILE_NAME, text.as_bytes())?;
    let Some(copy) = longer_copy(store, written) else {
        return Ok(store.write(COPY, text.as_bytes())?);
    };
    // What was lost and comes back from elsewhere may be in the copy still.
    let missing: Vec<Entry> = added.iter().filter(|new| copy.entry(new.id).is_none()).cloned().collect();
    if missing.is_empty() {
        return Ok(());
    }
    let old = TextFile::read(store, COPY)?.map_or_else(String::new, |file| file.text().to_owned());
    Ok(store.write(COPY, with(&old, &missing)?.as_bytes())?)
}

fn from_file(file: &TextFile) -> Result<Journal, Problems> {
    entries_of(file).map(journal_of)
}

/// The entries, each with its place.
fn entries_of(file: &TextFile) -> Result<Vec<(Range<usize>, Entry)>, Problems> {
    let root = tree::parse_long(file).map_err(Problem::alone)?;
    entries::entries(file, &root)
}

fn journal_of(entries: Vec<(Range<usize>, Entry)>) -> Journal {
    Journal::new(entries.into_iter().map(|(_, entry)| entry).collect())
}

/// The old text with the new entries behind it.
fn with(old: &str, added: &[Entry]) -> Result<String, AddError> {
    let mut text = if old.is_empty() { HEADER.to_owned() } else { old.to_owned() };
    if !text.ends_with('\n') {
        text.push('\n');
    }
    text.push_str(&indented(&shape::text(added)?, indentation(old)));
    readable_again(&text)?;
    Ok(text)
}

/// The journal's text with the new entries behind it, after making sure that it reads back as just that.
fn text_with(store: &dyn Store, written: &Written, added: &[Entry]) -> Result<String, AddError> {
    let old = TextFile::new(store.shown(FILE_NAME), &written.text);
    if let Some(problem) = shape::no_room_behind(&old) {
        return Err(problem.alone().into());
    }
    let text = with(&written.text, added)?;
    let mut expected = written.journal.clone();
    for entry in added {
        expected.push(entry.clone());
    }
    let read = from_file(&TextFile::new(store.shown(FILE_NAME), &text))?;
    if read != expected {
        let message = "the new entries would not read back as they are, so nothing was written";
        return Err(io::Error::new(io::ErrorKind::InvalidData, message).into());
    }
    Ok(text)
}

/// Blanks before the entries as they stand; people may have moved them.
fn indentation(text: &str) -> usize {
    let last = text.lines().rev().find(|line| line.trim_start().starts_with("- id:"));
    last.map_or(0, |line| line.len() - line.trim_start().len())
}

fn indented(text: &str, blanks: usize) -> String {
    let gap = " ".repeat(blanks);
    text.lines().flat_map(|line| [gap.as_str(), line, "\n"]).collect()
}

#[cfg(test)]
mod tests;
