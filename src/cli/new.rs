//! `sowtide new`: a folder for a new term.

use super::dates;
use super::failure::Failure;
use super::screen::Screen;
use crate::files::store::{Disk, Store};
use crate::files::{new_term, term_file};
use crate::report::json;
use chrono::NaiveDate;
use clap::Args;
use std::path::PathBuf;

/// Start a folder for a new term, with a term file to fill in
///
/// The file explains every line. A term file that is already there is never touched.
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  sowtide new autumn --start 2026-09-07")]
pub(super) struct New {
    /// The folder to make
    #[arg(value_name = "DIR")]
    dir: PathBuf,
    /// First day of the term [default: today]
    #[arg(long, value_name = "DATE", value_parser = dates::parse)]
    start: Option<NaiveDate>,
}

impl New {
    pub(super) fn run(&self, screen: &Screen) -> Result<(), Failure> {
        let disk = Disk::at(&self.dir);
        new_term::create(&disk, self.start.unwrap_or_else(dates::today))?;
        let path = disk.shown(term_file::FILE_NAME);
        if screen.json {
            return screen.result(&json::written(&[path]));
        }
        screen.result(&format!("{path}\n"))?;
        screen.remark(&format!(
            "Open this file in a text editor and fill it in, then: sowtide check {}",
            self.dir.display()
        ));
        Ok(())
    }
}
