//! Where results, remarks and complaints go, and how they look.

use super::failure::Failure;
use super::{Colour, Common, UnitsChoice, dates};
use crate::desk::{Desk, Face, Trouble};
use crate::domain::text;
use crate::domain::units::Units;
use crate::files::remark::Remark;
use crate::files::store::Disk;
use crate::report::{Look, json};
use anstream::{AutoStream, ColorChoice};
use clap::error::ContextKind;
use std::borrow::Cow;
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
        let text = if self.json { escaped(text) } else { harmless(text, self.look.colour) };
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
            self.complain(&format!("{text}\n"), false);
        }
    }

    /// Prints several things worth knowing, each as long as lines are.
    pub(super) fn remarks(&self, remarks: &[Remark]) {
        for remark in remarks {
            self.warn(&remark.short());
        }
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
                self.complain(&format!("{}\n", problems.render(self.colour_errors)), self.colour_errors);
            }
            Failure::Trouble(Trouble::Told { what, help } | Trouble::Usage { what, help }) => {
                self.complain(&format!("error: {what}\n = help: {help}\n"), false);
            }
        }
        failure.exit_code()
    }

    fn complain(&self, text: &str, painted: bool) {
        let mut out = AutoStream::new(io::stderr().lock(), choice(self.colour_errors));
        // Nobody could be told that telling failed.
        let _ = out.write_all(harmless(text, painted).as_bytes());
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

/// Tells what was typed wrongly, or the help that was asked for, and gives the exit code.
pub(super) fn usage(mut error: clap::Error) -> ExitCode {
    if !error.use_stderr() {
        // If even this cannot be printed, nobody reads it.
        let _ = error.print();
        return ExitCode::SUCCESS;
    }
    // How to pass something as a value that is none; nobody has a use for it here.
    error.remove(ContextKind::Suggested);
    let painted = AutoStream::choice(&io::stderr()) != ColorChoice::Never;
    let text = error.render();
    let text = if painted { text.ansi().to_string() } else { text.to_string() };
    let mut out = AutoStream::new(io::stderr().lock(), choice(painted));
    let _ = out.write_all(harmless(&text, painted).as_bytes());
    ExitCode::from(2)
}

/// What a screen must not get as it is: file names and files that somebody changed may hold anything. Line ends and the
/// tabs of shell scripts are our own.
fn is_harmful(c: char) -> bool {
    text::is_hidden(c) && !matches!(c, '\n' | '\t')
}

/// The text with a mark in place of every command to the screen but our own colours.
fn harmless(text: &str, painted: bool) -> Cow<'_, str> {
    if !text.contains(is_harmful) {
        return Cow::Borrowed(text);
    }
    let mut clean = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(at) = rest.find(is_harmful) {
        clean.push_str(&rest[..at]);
        rest = &rest[at..];
        let length = if let Some(code) = colour_code(rest).filter(|_| painted) {
            clean.push_str(code);
            code.len()
        } else {
            clean.push(char::REPLACEMENT_CHARACTER);
            rest.chars().next().map_or(0, char::len_utf8)
        };
        rest = &rest[length..];
    }
    clean.push_str(rest);
    Cow::Owned(clean)
}

/// The colour or weight a text begins with, if it does. Nothing that hides letters or makes them blink.
fn colour_code(text: &str) -> Option<&str> {
    let inside = text.strip_prefix("\u{1b}[")?;
    let end = inside.find(|c: char| !(c.is_ascii_digit() || c == ';'))?;
    let ours = |code: &str| matches!(code.parse(), Ok(0..=4 | 30..=37 | 39 | 90..=97));
    let known = inside[end..].starts_with('m') && inside[..end].split(';').all(ours);
    known.then(|| &text[..="\u{1b}[".len() + end])
}

/// JSON whose texts hold such characters only by their numbers.
fn escaped(json: &str) -> Cow<'_, str> {
    if !json.contains(is_harmful) {
        return Cow::Borrowed(json);
    }
    let numbered = |c: char| if is_harmful(c) { format!("\\u{:04x}", u32::from(c)) } else { c.to_string() };
    Cow::Owned(json.chars().map(numbered).collect())
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_our_own_colours_reach_the_screen() {
        let ours = "\u{1b}[1m\u{1b}[31mshort\u{1b}[0m\n\tä 👩\u{200d}🌾";
        assert_eq!(harmless(ours, true), ours);
        for (text, clean) in [
            ("a\u{1b}[2Jb", "a\u{fffd}[2Jb"),
            ("a\u{1b}[8mb", "a\u{fffd}[8mb"),
            ("a\u{1b}]0;title\u{7}b", "a\u{fffd}]0;title\u{fffd}b"),
            ("a\u{9b}31mb\r", "a\u{fffd}31mb\u{fffd}"),
            ("a\u{202e}b\u{2028}c", "a\u{fffd}b\u{fffd}c"),
            ("a\u{1b}", "a\u{fffd}"),
        ] {
            assert_eq!(harmless(text, true), clean, "{text:?}");
        }
        assert_eq!(harmless("a\u{1b}[31mb", false), "a\u{fffd}[31mb");
    }

    #[test]
    fn json_keeps_what_it_says() {
        let json = serde_json::to_string("a\u{202e}b\u{9b}c\n\u{1b}").unwrap();
        let clean = escaped(&json);
        assert!(!clean.contains(is_harmful), "{clean}");
        assert_eq!(serde_json::from_str::<String>(&clean).unwrap(), "a\u{202e}b\u{9b}c\n\u{1b}");
    }
}
