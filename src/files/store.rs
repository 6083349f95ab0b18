//! Where a term's files lie: a folder on a disk, or memory, for tests and for places without a file system.
//!
//! Everything that reads or writes one of a term's files goes through a [`Store`], so that what is read together,
//! and what one may replace while others wait, is settled in one place. Files go by their names within the term's
//! folder, with `/` between folders, such as `plans/plan-0001.yaml`.

#[cfg(not(target_family = "wasm"))]
mod disk;
mod laid;
mod memory;

#[cfg(not(target_family = "wasm"))]
pub use disk::Disk;
pub(crate) use laid::Laid;
pub use memory::Memory;

use std::fmt;
use std::io;

/// Largest file read and written, in bytes. A term with dozens of sites needs a hundredth of it.
pub const MOST_BYTES: usize = 4_000_000;

/// A term's files.
pub trait Store: Sync {
    /// What is in a file; `None` if there is none of that name. Of one that is larger than [`MOST_BYTES`], enough to
    /// see that it is.
    ///
    /// # Errors
    /// If there is such a file, but it cannot be read; also if it is a link that leads nowhere.
    fn read(&self, name: &str) -> io::Result<Option<Vec<u8>>>;

    /// Names of the files in a folder, sorted; none if there is no such folder.
    ///
    /// # Errors
    /// If there is one, but it cannot be read.
    fn names(&self, folder: &str) -> io::Result<Vec<String>>;

    /// Writes a file, whole or not at all, making its folder if there is none.
    ///
    /// # Errors
    /// If it cannot be written, or is a link that leads nowhere. The old file is then unharmed.
    fn write(&self, name: &str, bytes: &[u8]) -> io::Result<()>;

    /// Writes a file that must not be there yet, otherwise as [`Store::write`].
    ///
    /// # Errors
    /// As [`Store::write`], and if there is a file of that name, which then stays as it is.
    fn create(&self, name: &str, bytes: &[u8]) -> io::Result<()>;

    /// Waits for the right to replace files. Others wait until it is dropped, or until the process ends in whatever
    /// way. `waits` is called once if that takes long.
    ///
    /// # Errors
    /// If it does not come, or the place cannot be written to.
    fn lock(&self, waits: &dyn Fn()) -> Result<Lock<'_>, LockError>;

    /// What people call a file.
    fn shown(&self, name: &str) -> String;
}

/// The right to replace files, as long as it is held.
pub struct Lock<'s>(#[allow(dead_code, reason = "held, never read")] Box<dyn Held + 's>);

impl fmt::Debug for Lock<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Lock")
    }
}

/// Something that is given back when it is dropped.
trait Held {}

/// Why nobody may replace files now.
#[derive(Debug, thiserror::Error)]
pub enum LockError {
    /// Somebody else does not come to an end.
    #[error("another sowtide has been at work in this folder for more than {0} seconds")]
    Busy(u64),
    /// The place cannot be written to.
    #[error("{0}")]
    Unwritable(#[from] io::Error),
}

/// Splits a name into its folder, empty for the term's own, and the rest.
fn split(name: &str) -> (&str, &str) {
    name.rsplit_once('/').unwrap_or(("", name))
}

/// Whether text may be written: what is too large could not be read again.
///
/// # Errors
/// If it is larger than [`MOST_BYTES`].
pub(super) fn readable_again(text: &str) -> io::Result<()> {
    if text.len() <= MOST_BYTES {
        return Ok(());
    }
    let message = "it would be larger than what can be read again, 4 MB";
    Err(io::Error::new(io::ErrorKind::FileTooLarge, message))
}

/// Writes a file under the first name of a row that is not taken: `name` of 1, 2 and so on. Returns that name.
///
/// # Errors
/// As [`Store::create`], with the name that could not be written.
pub(crate) fn create_next(
    store: &dyn Store,
    name: impl Fn(u32) -> String,
    bytes: &[u8],
) -> Result<String, (String, io::Error)> {
    let mut number = 1;
    loop {
        let name = name(number);
        match store.create(&name, bytes) {
            Ok(()) => return Ok(name),
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists && number < u32::MAX => number += 1,
            Err(error) => return Err((name, error)),
        }
    }
}
