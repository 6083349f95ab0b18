//! `journal.yaml`: what really happened, entry after entry.
//!
//! An entry once written is never touched again: new ones are put behind the text as it stands, comments of people
//! included. The longer text goes to a temporary file that takes the journal's name once it is safely on the disk, so
//! whoever is interrupted, or reads meanwhile, finds the journal from before or the whole new one. A lock held from
//! reading to renaming lets only one person add at a time; nobody's entry is lost to another's.

mod entries;
mod shape;

use super::problem::{Problem, Problems, TextFile};
use super::{tree, write as disk};
use crate::domain::journal::{Entry, Journal};
use std::fs::{File, OpenOptions, TryLockError};
use std::io;
use std::path::{Path, PathBuf};
use std::time::Duration;

/// What people see who open the file.
const HEADER: &str = "\
# What really happened, written by sowtide. Entries are only added, never changed: whoever was wrong records a
# correction with --replaces, or takes an entry back with: sowtide record withdraw. Masses are grams, lengths cm.
format: 1
entries:
";

/// Values in a file; a busy school year of entries has about a tenth of it.
const MOST_VALUES: usize = 1_000_000;

/// How often, and after which pause, to ask again while somebody else is adding: ten seconds in all. Adding takes
/// hundredths of a second.
const TRIES: u32 = 500;
const PAUSE: Duration = Duration::from_millis(20);

/// Why nothing was added.
#[derive(Debug, thiserror::Error)]
pub enum AppendError {
    /// The journal, or what should be added, cannot be read.
    #[error(transparent)]
    Unreadable(#[from] Problems),
    /// Somebody else is adding and does not come to an end.
    #[error("somebody else has been adding to the journal for more than ten seconds")]
    Busy,
    /// The file could not be locked or written.
    #[error("{0}")]
    Unwritten(#[from] io::Error),
}

/// Reads a journal; a file that does not exist is a journal without entries.
///
/// # Errors
/// If the file cannot be read or anything in it cannot be meant, with all such places.
pub fn read(path: &Path) -> Result<Journal, Problems> {
    Ok(read_with_text(path)?.0)
}

/// Adds entries, all or none. `choose` is given the journal as it stands, which nobody else can add to until this is
/// done, and says what to add; if it fails, nothing is written.
///
/// # Errors
/// What `choose` says, or that the journal cannot be read, locked or written. The journal is then as it was.
pub fn append<E: From<AppendError>>(
    path: &Path,
    choose: impl FnOnce(&Journal) -> Result<Vec<Entry>, E>,
) -> Result<Vec<Entry>, E> {
    let _lock = lock(path).map_err(E::from)?;
    let (journal, text) = read_with_text(path).map_err(|problems| E::from(problems.into()))?;
    let added = choose(&journal)?;
    if !added.is_empty() {
        write_behind(path, &journal, &text, &added).map_err(E::from)?;
    }
    Ok(added)
}

fn read_with_text(path: &Path) -> Result<(Journal, String), Problems> {
    if !path.exists() {
        return Ok((Journal::default(), String::new()));
    }
    let file = TextFile::read(path)?;
    Ok((from_file(&file)?, file.text().to_owned()))
}

fn from_file(file: &TextFile) -> Result<Journal, Problems> {
    let root = tree::parse_long(file, MOST_VALUES).map_err(Problem::alone)?;
    entries::journal(file, &root)
}

/// Writes the old text with the new entries behind it, after making sure that it reads back as just that.
fn write_behind(path: &Path, journal: &Journal, old: &str, added: &[Entry]) -> Result<(), AppendError> {
    let mut text = if old.is_empty() { HEADER.to_owned() } else { old.to_owned() };
    if !text.ends_with('\n') {
        text.push('\n');
    }
    text.push_str(&indented(&shape::text(added)?, indentation(old)));
    let mut expected = journal.clone();
    for entry in added {
        expected.push(entry.clone());
    }
    let read = from_file(&TextFile::new(path.display().to_string(), &text))?;
    if read != expected {
        let message = "the new entries would not read back as they are, so nothing was written";
        return Err(io::Error::new(io::ErrorKind::InvalidData, message).into());
    }
    Ok(disk::whole(path, text.as_bytes())?)
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

/// Waits for its turn. The lock is on a file of its own, as the journal's is replaced; it ends with the process.
fn lock(path: &Path) -> Result<File, AppendError> {
    let file = OpenOptions::new().create(true).truncate(false).write(true).open(lock_path(path))?;
    for _ in 0..TRIES {
        match file.try_lock() {
            Ok(()) => return Ok(file),
            Err(TryLockError::WouldBlock) => std::thread::sleep(PAUSE),
            Err(TryLockError::Error(error)) => return Err(error.into()),
        }
    }
    Err(AppendError::Busy)
}

/// `.journal.yaml.lock` beside the journal.
fn lock_path(path: &Path) -> PathBuf {
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    path.with_file_name(format!(".{name}.lock"))
}

#[cfg(test)]
mod tests;
