//! Why something could not be done.

use crate::files::history::SaveError;
use crate::files::journal_file::AddError;
use crate::files::problem::Problems;
use crate::files::store::LockError;
use std::fmt;
use std::io;

/// Why something could not be done.
#[derive(Debug)]
pub enum Trouble {
    /// Mistakes in the user's files.
    Files(Problems),
    /// Anything else in the user's data or plan: what is wrong, and how to mend it.
    Told {
        /// What is wrong.
        what: String,
        /// How to mend it.
        help: String,
    },
    /// What was asked for makes no sense.
    Usage {
        /// What is wrong.
        what: String,
        /// How to ask.
        help: String,
    },
}

impl Trouble {
    /// Something wrong in the user's data or plan, and how to mend it.
    pub fn told(what: impl Into<String>, help: impl Into<String>) -> Self {
        Self::Told { what: what.into(), help: help.into() }
    }

    /// Something asked for that makes no sense, and how to ask.
    pub fn usage(what: impl Into<String>, help: impl Into<String>) -> Self {
        Self::Usage { what: what.into(), help: help.into() }
    }

    /// A file that could not be written.
    #[must_use]
    pub fn unwritten(path: &str, error: &io::Error) -> Self {
        Self::told(
            format!("{path} could not be written: {error}"),
            "check that the folder exists, may be written to and has room; the old file, if any, is unharmed",
        )
    }

    pub(super) fn locked(folder: &str, error: &LockError) -> Self {
        match error {
            LockError::Busy(_) => Self::told(
                error.to_string(),
                "nothing was saved; try again in a moment. If nobody is at work there, end the program that holds the \
                 file .sowtide.lock",
            ),
            LockError::Unwritable(error) => Self::told(
                format!("the folder {folder} cannot be written to: {error}"),
                "nothing was saved; check that the folder exists and that you may write to it",
            ),
        }
    }
}

impl fmt::Display for Trouble {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Files(problems) => problems.fmt(f),
            Self::Told { what, help } | Self::Usage { what, help } => write!(f, "{what} ({help})"),
        }
    }
}

impl std::error::Error for Trouble {}

impl From<Problems> for Trouble {
    fn from(problems: Problems) -> Self {
        Self::Files(problems)
    }
}

impl From<SaveError> for Trouble {
    fn from(error: SaveError) -> Self {
        match error {
            SaveError::Unread(problems) => Self::Files(problems),
            SaveError::Unwritten { path, error } => Self::unwritten(&path, &error),
        }
    }
}

impl From<AddError> for Trouble {
    fn from(error: AddError) -> Self {
        match error {
            AddError::Unreadable(problems) => Self::Files(problems),
            AddError::Unwritten(error) => Self::told(
                format!("the journal could not be written: {error}"),
                "nothing was recorded; check that the folder may be written to and has room",
            ),
        }
    }
}
