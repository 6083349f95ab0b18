//! `sowtide report`: the term on one page with charts.

use super::dates;
use super::failure::Failure;
use super::folder::Folder;
use super::odds;
use super::output;
use super::screen::Screen;
use crate::insight::idle::idle;
use crate::report::{json, page};
use clap::Args;
use std::path::PathBuf;

/// Write a page with charts on the whole term, to read in a browser or to print
///
/// The page shows what every week brings against its target and why if it falls short, how full tanks and
/// nurseries get, how much work there is, and every batch. It is one file that needs no internet and no
/// other file, so it can be sent as it is.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  sowtide report autumn\n  \
        sowtide report autumn --units us --out to-print.html")]
pub(super) struct Report {
    #[command(flatten)]
    folder: Folder,
    /// Where to write it [default: out/report.html in the term's folder]
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
}

impl Report {
    pub(super) fn run(&self, screen: &Screen) -> Result<(), Failure> {
        let (opened, plan) = self.folder.planned(screen)?;
        let term = &opened.read.term;
        let shown = opened.as_expected(&plan, dates::today());
        let own = term.of_its_own();
        let idle = idle(&own, &term.own_part(&plan));
        let text =
            page::html(&own, &term.own_part(&shown), &idle, Some(&odds::of(&opened, &plan)), &screen.look);
        let path = self.out.clone().unwrap_or_else(|| self.folder.disk().path("out/report.html"));
        output::write(&path, output::Kind::Page, &text)?;
        let path = path.display().to_string();
        if screen.json { screen.result(&json::written(&[path])) } else { screen.result(&format!("{path}\n")) }
    }
}
