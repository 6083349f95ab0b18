//! Why a command could not do what was asked.

use crate::desk::Trouble;
use crate::files::problem::Problems;
use std::io;
use std::path::Path;
use std::process::ExitCode;

/// Why a command could not do what was asked.
#[derive(Debug)]
pub(super) enum Failure {
    /// Something to tell the user.
    Trouble(Trouble),
    /// The result was printed and says itself that something is wrong.
    Printed,
    /// Nobody reads on; a normal end.
    ReaderGone,
}

impl Failure {
    /// Something wrong in the user's data or plan, and how to mend it.
    pub(super) fn told(what: impl Into<String>, help: impl Into<String>) -> Self {
        Self::Trouble(Trouble::told(what, help))
    }

    /// A command used wrongly, and how to use it.
    pub(super) fn usage(what: impl Into<String>, help: impl Into<String>) -> Self {
        Self::Trouble(Trouble::usage(what, help))
    }

    /// A file that could not be written.
    pub(super) fn unwritten(path: &Path, error: &io::Error) -> Self {
        Self::Trouble(Trouble::unwritten(&path.display().to_string(), error))
    }

    pub(super) fn exit_code(&self) -> ExitCode {
        match self {
            Self::ReaderGone => ExitCode::SUCCESS,
            Self::Trouble(Trouble::Files(_) | Trouble::Told { .. }) | Self::Printed => ExitCode::from(1),
            Self::Trouble(Trouble::Usage { .. }) => ExitCode::from(2),
        }
    }
}

impl From<Problems> for Failure {
    fn from(problems: Problems) -> Self {
        Self::Trouble(problems.into())
    }
}

impl From<Trouble> for Failure {
    fn from(trouble: Trouble) -> Self {
        Self::Trouble(trouble)
    }
}
