//! A term's files in memory.

use super::{Held, Lock, LockError, Store, split};
use std::collections::BTreeMap;
use std::io;
use std::sync::{Mutex, MutexGuard, PoisonError};

/// Files in memory. They go when this is dropped.
#[derive(Debug, Default)]
pub struct Memory {
    files: Mutex<BTreeMap<String, Vec<u8>>>,
    lock: Mutex<()>,
}

impl Memory {
    /// No file yet.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds a file, or replaces it.
    #[must_use]
    pub fn with(self, name: &str, text: &str) -> Self {
        self.files().insert(name.to_owned(), text.as_bytes().to_vec());
        self
    }

    /// The files. Nothing in here can stop halfway, so what a thread that stopped has left is whole.
    fn files(&self) -> MutexGuard<'_, BTreeMap<String, Vec<u8>>> {
        self.files.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Store for Memory {
    fn read(&self, name: &str) -> io::Result<Option<Vec<u8>>> {
        Ok(self.files().get(name).cloned())
    }

    fn names(&self, folder: &str) -> io::Result<Vec<String>> {
        let files = self.files();
        let here = files.keys().map(|name| split(name)).filter(|(at, _)| *at == folder);
        Ok(here.map(|(_, name)| name.to_owned()).collect())
    }

    fn write(&self, name: &str, bytes: &[u8]) -> io::Result<()> {
        self.files().insert(name.to_owned(), bytes.to_vec());
        Ok(())
    }

    fn create(&self, name: &str, bytes: &[u8]) -> io::Result<()> {
        let mut files = self.files();
        if files.contains_key(name) {
            return Err(io::ErrorKind::AlreadyExists.into());
        }
        files.insert(name.to_owned(), bytes.to_vec());
        Ok(())
    }

    fn lock(&self, _waits: &dyn Fn()) -> Result<Lock<'_>, LockError> {
        Ok(Lock(Box::new(self.lock.lock().unwrap_or_else(PoisonError::into_inner))))
    }

    fn shown(&self, name: &str) -> String {
        name.to_owned()
    }
}

impl Held for MutexGuard<'_, ()> {}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn files_come_back_as_they_were_written() {
        let store = Memory::new().with("plans/plan-0002.yaml", "two").with("plan.yaml", "newest");
        store.write("plans/plan-0001.yaml", b"one").unwrap();
        assert_eq!(store.read("plan.yaml").unwrap().as_deref(), Some(&b"newest"[..]));
        assert_eq!(store.read("journal.yaml").unwrap(), None);
        assert_eq!(store.names("plans").unwrap(), ["plan-0001.yaml", "plan-0002.yaml"]);
        assert_eq!(store.create("plan.yaml", b"x").unwrap_err().kind(), io::ErrorKind::AlreadyExists);
        assert_eq!(store.read("plan.yaml").unwrap().as_deref(), Some(&b"newest"[..]));
    }
}
