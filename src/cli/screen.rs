//! Where results, remarks and complaints go, and how they look.

use super::failure::Failure;
use super::{Colour, Common, UnitsChoice, dates};
use crate::desk::{Desk, Face, Trouble};
use crate::domain::units::Units;
use crate::files::store::Disk;
use crate::report::{Look, json};
use anstream::{AutoStream, ColorChoice};
use std::io::{self, IsTerminal, Write};
use std::process::ExitCode;

/// Characters in a line where no screen says otherwise.
const USUAL_WIDTH: usize = 80;
/// Beyond this, lines are hard to read.
const MOST_WIDTH: usize = 110;

/// The user's screen and wishes.
#[derive(Debug)]
pub(super) struct Screen {
    /// How results look.
    pub(super) look: Look,
    /// Whether results are printed as JSON.
    pub(super) json: bool,
    quiet: bool,
    colour_errors: bool,
}

impl Screen {
    pub(super) fn new(common: &Common) -> Self {
        let colour = |auto: ColorChoice| match common.color {
            Colour::Always => true,
            Colour::Never => false,
            Colour::Auto => auto != ColorChoice::Never,
        };
        let width = terminal_size::terminal_size().map_or(USUAL_WIDTH, |(width, _)| usize::from(width.0));
        Self {
            look: Look {
                units: match common.units {
                    UnitsChoice::Metric => Units::Metric,
                    UnitsChoice::Us => Units::Us,
                },
                width: if io::stdout().is_terminal() { width.min(MOST_WIDTH) } else { USUAL_WIDTH },
                colour: colour(AutoStream::choice(&io::stdout())),
            },
            json: common.json,
            quiet: common.quiet,
            colour_errors: colour(AutoStream::choice(&io::stderr())),
        }
    }

    /// Prints a result.
    ///
    /// # Errors
    /// If it cannot be written; that nobody reads on is told apart, as it is a normal end.
    pub(super) fn result(&self, text: &str) -> Result<(), Failure> {
        let mut out = AutoStream::new(io::stdout().lock(), choice(self.look.colour));
        out.write_all(text.as_bytes()).and_then(|()| out.flush()).map_err(|error| match error.kind() {
            io::ErrorKind::BrokenPipe => Failure::ReaderGone,
            _ => Failure::told(
                format!("the result could not be printed: {error}"),
                "check where the output goes",
            ),
        })
    }

    /// Prints something worth knowing beside the result, unless the user wants quiet.
    pub(super) fn remark(&self, text: &str) {
        if !self.quiet {
            self.complain(&format!("{text}\n"));
        }
    }

    /// Prints several things worth knowing, each as long as lines are.
    pub(super) fn remarks(&self, remarks: &[String]) {
        remarks.iter().for_each(|remark| self.warn(remark));
    }

    /// A desk for these files, here and now.
    pub(super) fn desk<'d>(&'d self, disk: &'d Disk) -> Desk<'d> {
        Desk { store: disk, moment: dates::moment(), face: self }
    }

    /// Whether to show how far long work is.
    pub(super) fn shows_progress(&self) -> bool {
        !self.quiet && io::stderr().is_terminal()
    }

    /// Tells a failure once and gives the exit code.
    pub(super) fn fail(&self, failure: &Failure) -> ExitCode {
        match failure {
            Failure::Printed | Failure::ReaderGone => {}
            _ if self.json => {
                // If even this cannot be printed, the exit code still tells.
                let _ = self.result(&json::mistakes(&mistakes(failure)));
            }
            Failure::Trouble(Trouble::Files(problems)) => {
                self.complain(&format!("{}\n", problems.render(self.colour_errors)));
            }
            Failure::Trouble(Trouble::Told { what, help } | Trouble::Usage { what, help }) => {
                self.complain(&format!("error: {what}\n = help: {help}\n"));
            }
        }
        failure.exit_code()
    }

    fn complain(&self, text: &str) {
        let mut out = AutoStream::new(io::stderr().lock(), choice(self.colour_errors));
        // Nobody could be told that telling failed.
        let _ = out.write_all(text.as_bytes());
    }
}

impl Face for Screen {
    fn waits(&self) {
        self.remark("Waiting for another sowtide that is at work in this folder ...");
    }

    fn warn(&self, warning: &str) {
        self.remark(self.look.wrap(warning).trim_end());
    }
}

fn choice(colour: bool) -> ColorChoice {
    if colour { ColorChoice::Always } else { ColorChoice::Never }
}

fn mistakes(failure: &Failure) -> Vec<json::Mistake> {
    match failure {
        Failure::Trouble(Trouble::Files(problems)) => problems
            .iter()
            .map(|problem| json::Mistake {
                file: Some(problem.path().to_owned()),
                line: problem.line(),
                column: problem.column(),
                message: problem.message().to_owned(),
                help: problem.help().to_owned(),
            })
            .collect(),
        Failure::Trouble(Trouble::Told { what, help } | Trouble::Usage { what, help }) => {
            vec![json::Mistake {
                file: None,
                line: None,
                column: None,
                message: what.clone(),
                help: help.clone(),
            }]
        }
        Failure::Printed | Failure::ReaderGone => Vec::new(),
    }
}
