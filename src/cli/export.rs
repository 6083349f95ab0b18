//! `sowtide export`: the journal as a table.

use super::dates;
use super::failure::Failure;
use super::folder::Folder;
use super::output;
use super::screen::Screen;
use crate::report::json;
use clap::Args;
use std::path::PathBuf;

/// Write all that was recorded as a table, for spreadsheets and statistics
///
/// The file is CSV with a line for each entry, corrected and withdrawn ones too, and a line for each plant that was measured.
/// Only lines whose "status" is "counts" tell what happened, so keep to these when you add up. Masses are grams, lengths cm,
/// numbers have a decimal point, "recorded" is universal time. A loss without a number is of all plants that stood there.
///
/// "sowtide record import" takes the file in again and restores every entry with its number, even if a spreadsheet program
/// saved it anew. An apostrophe before a text keeps programs from taking it for a formula; it goes when the file comes back.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  sowtide export autumn\n  \
        sowtide export autumn --out autumn.csv\n  \
        sowtide record autumn import autumn.csv   bring back what the journal lost")]
pub(super) struct Export {
    #[command(flatten)]
    folder: Folder,
    /// Where to write it [default: out/journal.csv in the term's folder]
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
}

impl Export {
    pub(super) fn run(&self, screen: &Screen) -> Result<(), Failure> {
        let files = self.folder.disk();
        let (opened, plan) = screen.desk(&files).open_planned()?;
        let path = self.out.clone().unwrap_or_else(|| files.path("out/journal.csv"));
        output::write(&path, output::Kind::Table, &opened.as_table(&plan, dates::today()))?;
        let path = path.display().to_string();
        if screen.json { screen.result(&json::written(&[path])) } else { screen.result(&format!("{path}\n")) }
    }
}
