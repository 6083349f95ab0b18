//! Writing results to files that a person names, without harming any that are somebody's own.

use super::failure::Failure;
use crate::files::history::NEWEST;
use crate::files::journal_file::{self, TABLE_MARK};
use crate::files::store::{Disk, Store};
use crate::files::{published_file, term_file};
use std::ffi::OsStr;
use std::fs::{self, File};
use std::io::{self, Read};
use std::path::Path;

/// What is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    /// A page for a browser.
    Page,
    /// The planning model.
    Model,
    /// The journal as a table.
    Table,
}

/// Files of a term, whatever folder they lie in.
const OWN: [&str; 4] = [term_file::FILE_NAME, NEWEST, journal_file::FILE_NAME, published_file::FILE_NAME];
/// Endings of files that people write, or that other commands write.
const FOREIGN: [&str; 5] = ["yaml", "yml", "ics", "csv", "lock"];
/// Bytes in which a file shows whether it is one of ours.
const HEAD: u64 = 1_000;

impl Kind {
    /// What every such file holds near its beginning.
    fn mark(self) -> &'static str {
        match self {
            Self::Page => crate::report::GENERATOR,
            Self::Model => "NAME sowtide",
            Self::Table => TABLE_MARK,
        }
    }

    fn called(self) -> &'static str {
        match self {
            Self::Page => "a page written by sowtide",
            Self::Model => "a model written by sowtide",
            Self::Table => "a table written by sowtide export",
        }
    }

    /// The ending of its files.
    fn ending(self) -> &'static str {
        match self {
            Self::Page => "html",
            Self::Model => "mps",
            Self::Table => "csv",
        }
    }
}

/// Writes a file that a person named, whole or not at all. One that is there is only replaced if it was written so before.
pub(super) fn write(path: &Path, kind: Kind, text: &str) -> Result<(), Failure> {
    refuse_foreign(path, kind)?;
    put(path, text)
}

/// Writes a file without asking what is there: [`refuse_foreign`] has.
pub(super) fn put(path: &Path, text: &str) -> Result<(), Failure> {
    let disk = Disk::at("");
    disk.write(&path.to_string_lossy(), text.as_bytes()).map_err(|error| Failure::unwritten(path, &error))
}

/// Refuses names of files that are somebody's own.
pub(super) fn refuse_foreign(path: &Path, kind: Kind) -> Result<(), Failure> {
    let is = |known: &str, part: Option<&OsStr>| part.is_some_and(|part| part.eq_ignore_ascii_case(known));
    let mut foreign = FOREIGN.iter().filter(|end| **end != kind.ending());
    if OWN.iter().any(|own| is(own, path.file_name())) || foreign.any(|end| is(end, path.extension())) {
        return Err(Failure::usage(
            format!("{} is a name for files of another kind; nothing was written", path.display()),
            format!("choose a name that ends in .{}", kind.ending()),
        ));
    }
    // Asked before it is opened: opening a pipe waits for who writes to it.
    match fs::metadata(path) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(()),
        Err(error) => return Err(Failure::unwritten(path, &error)),
        // That a folder is in the way is told by who writes.
        Ok(found) if found.is_dir() => return Ok(()),
        Ok(found) if !found.is_file() => {
            return Err(Failure::told(
                format!("{} is no file, but a device or a pipe; nothing was written", path.display()),
                "name a file",
            ));
        }
        Ok(_) => {}
    }
    let file = File::open(path).map_err(|error| Failure::unwritten(path, &error))?;
    let mut head = Vec::new();
    let read = file.take(HEAD).read_to_end(&mut head);
    if read.is_ok() && (head.is_empty() || String::from_utf8_lossy(&head).contains(kind.mark())) {
        return Ok(());
    }
    Err(Failure::told(
        format!("{} is there already and is not {}; it was left as it is", path.display(), kind.called()),
        "choose another name, or remove that file first",
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_what_was_written_so_before_is_replaced() {
        let folder = tempfile::tempdir().unwrap();
        let path = |name: &str| folder.path().join(name);
        for name in
            ["term.yaml", "journal.yaml", "Plan.YAML", "crops/oakleaf.yaml", "harvests.csv", "off.ics"]
        {
            assert!(write(&path(name), Kind::Page, "page").is_err(), "{name}");
            assert!(!path(name).exists());
        }
        std::fs::write(path("letter.html"), "<!DOCTYPE html><p>Dear parents").unwrap();
        assert!(write(&path("letter.html"), Kind::Page, "page").is_err());
        std::fs::write(path("taken.html"), "").unwrap();
        let page = format!("<meta {}>", Kind::Page.mark());
        for name in ["taken.html", "new.html", "new.html"] {
            write(&path(name), Kind::Page, &page).unwrap();
            assert_eq!(std::fs::read_to_string(path(name)).unwrap(), page);
        }
        assert!(write(&path("new.html"), Kind::Model, "NAME sowtide").is_err());
        fs::write(path("harvests.csv"), "day,what\n").unwrap();
        for name in ["harvests.csv", "journal.yaml", "new.html"] {
            assert!(write(&path(name), Kind::Table, TABLE_MARK).is_err(), "{name}");
        }
        for _ in 0..2 {
            write(&path("journal.csv"), Kind::Table, TABLE_MARK).unwrap();
        }
    }
}
