//! One command at a time may replace what another would replace, too.

use std::fs::{File, OpenOptions};
use std::io;
use std::path::Path;

/// Name of the file that is locked. It stays: removing it would let two commands lock two files of that name.
const FILE_NAME: &str = ".sowtide.lock";

/// The right to read and replace files of a term's folder; others wait until it is dropped, or until the
/// process ends in whatever way.
#[derive(Debug)]
pub struct Lock(#[allow(dead_code, reason = "held, never read")] File);

/// Waits for the right to replace files in `folder`.
///
/// # Errors
/// If the folder cannot be written to. Where the file system knows no locks, nothing is locked.
pub fn take(folder: &Path) -> io::Result<Lock> {
    let file = OpenOptions::new().create(true).truncate(false).write(true).open(folder.join(FILE_NAME))?;
    match file.lock() {
        Err(error) if error.kind() != io::ErrorKind::Unsupported => Err(error),
        _ => Ok(Lock(file)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::atomic::{AtomicU32, Ordering};

    #[test]
    fn only_one_at_a_time() {
        let folder = tempfile::tempdir().unwrap();
        let inside = AtomicU32::new(0);
        std::thread::scope(|scope| {
            for _ in 0..8 {
                scope.spawn(|| {
                    for _ in 0..20 {
                        let lock = take(folder.path()).unwrap();
                        assert_eq!(inside.fetch_add(1, Ordering::SeqCst), 0);
                        std::thread::yield_now();
                        inside.fetch_sub(1, Ordering::SeqCst);
                        drop(lock);
                    }
                });
            }
        });
    }

    #[test]
    fn a_missing_folder_is_an_error() {
        assert!(take(Path::new("no/such/folder")).is_err());
    }
}
