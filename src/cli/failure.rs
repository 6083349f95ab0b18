//! Why a command could not do what was asked.

use crate::files::problem::Problems;
use std::io;
use std::path::Path;
use std::process::ExitCode;

/// Why a command could not do what was asked.
#[derive(Debug)]
pub(super) enum Failure {
    /// Mistakes in the user's files.
    Files(Problems),
    /// Anything else in the user's data or plan: what is wrong, and how to mend it.
    Told { what: String, help: String },
    /// The command was used wrongly.
    Usage { what: String, help: String },
    /// The result was printed and says itself that something is wrong.
    Printed,
    /// Nobody reads on; a normal end.
    ReaderGone,
}

impl Failure {
    pub(super) fn told(what: impl Into<String>, help: impl Into<String>) -> Self {
        Self::Told { what: what.into(), help: help.into() }
    }

    /// A file that could not be written.
    pub(super) fn unwritten(path: &Path, error: &io::Error) -> Self {
        Self::told(
            format!("{} could not be written: {error}", path.display()),
            "check that the folder exists, may be written to and has room; the old file, if any, is unharmed",
        )
    }

    pub(super) fn exit_code(&self) -> ExitCode {
        match self {
            Self::ReaderGone => ExitCode::SUCCESS,
            Self::Files(_) | Self::Told { .. } | Self::Printed => ExitCode::from(1),
            Self::Usage { .. } => ExitCode::from(2),
        }
    }
}

impl From<Problems> for Failure {
    fn from(problems: Problems) -> Self {
        Self::Files(problems)
    }
}
