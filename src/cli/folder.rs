//! The folder of a term, as typed, and what a command needs from it.

use super::failure::Failure;
use super::screen::Screen;
use crate::desk::Opened;
use crate::domain::plan::Plan;
use crate::files::store::Disk;
use clap::Args;
use std::path::PathBuf;

/// The folder of a term.
#[derive(Debug, Args)]
pub(super) struct Folder {
    /// The term's folder [default: the current one]
    #[arg(value_name = "DIR")]
    dir: Option<PathBuf>,
}

impl Folder {
    /// The folder's files.
    pub(super) fn disk(&self) -> Disk {
        Disk::at(self.dir.clone().unwrap_or_default())
    }

    /// Tells if things happened that a plan does not know of: what is told or written of it is then out of date.
    pub(super) fn tell_if_overtaken(&self, opened: &Opened, plan: &Plan, screen: &Screen) {
        let files = self.disk();
        if let Some(overtaken) = screen.desk(&files).overtaken(opened, plan) {
            screen.remark(&overtaken);
        }
    }

    /// Term (as it really is), journal and plan, for commands that need all of them. Tells what is lost or no longer fits.
    pub(super) fn planned(&self, screen: &Screen) -> Result<(Opened, Plan), Failure> {
        let files = self.disk();
        let desk = screen.desk(&files);
        let (opened, plan) = desk.open_planned()?;
        if let Some(misfit) = desk.misfit(&opened, &plan) {
            screen.remark(&misfit);
        }
        Ok((opened, plan))
    }
}
