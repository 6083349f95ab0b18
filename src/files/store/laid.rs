//! Files laid over others, to see how they would be read before anything is written.

use super::{Lock, LockError, Store, split};
use std::io;

/// Files over those of another store, which stays as it is.
pub(crate) struct Laid<'s> {
    below: &'s dyn Store,
    /// Names and texts.
    files: &'s [(String, String)],
}

impl<'s> Laid<'s> {
    pub(crate) fn new(below: &'s dyn Store, files: &'s [(String, String)]) -> Self {
        Self { below, files }
    }
}

impl Store for Laid<'_> {
    fn read(&self, name: &str) -> io::Result<Option<Vec<u8>>> {
        match self.files.iter().find(|(own, _)| own == name) {
            Some((_, text)) => Ok(Some(text.as_bytes().to_vec())),
            None => self.below.read(name),
        }
    }

    fn names(&self, folder: &str) -> io::Result<Vec<String>> {
        let own = self.files.iter().map(|(name, _)| split(name)).filter(|(at, _)| *at == folder);
        let mut names = self.below.names(folder)?;
        names.extend(own.map(|(_, name)| name.to_owned()));
        names.sort_unstable();
        names.dedup();
        Ok(names)
    }

    fn write(&self, _name: &str, _bytes: &[u8]) -> io::Result<()> {
        Err(io::ErrorKind::ReadOnlyFilesystem.into())
    }

    fn create(&self, name: &str, bytes: &[u8]) -> io::Result<()> {
        self.write(name, bytes)
    }

    fn lock(&self, _waits: &dyn Fn()) -> Result<Lock<'_>, LockError> {
        Err(LockError::Unwritable(io::ErrorKind::ReadOnlyFilesystem.into()))
    }

    fn shown(&self, name: &str) -> String {
        self.below.shown(name)
    }
}
