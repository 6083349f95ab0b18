//! `sowtide calendar`: calendar files for all sites together and for each.

use super::failure::Failure;
use super::folder::Folder;
use super::screen::Screen;
use crate::files::write;
use crate::report::{ical, json};
use clap::Args;
use std::path::PathBuf;

/// Write calendar files (.ics) for all sites together and for each site
///
/// The files go to the folder "out" beside the term file: all-sites.ics, and site-NAME.ics for each
/// site. Put them where people can subscribe to them and write them again after each planning: events
/// keep their identity, so that subscribed calendars change in place.
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  sowtide calendar autumn")]
pub(super) struct Calendar {
    #[command(flatten)]
    folder: Folder,
}

impl Calendar {
    pub(super) fn run(&self, screen: &Screen) -> Result<(), Failure> {
        let (read, plan) = self.folder.term_and_plan(screen)?;
        let units = screen.look.units;
        let mut files: Vec<(PathBuf, String)> =
            vec![(self.folder.join("out/all-sites.ics"), ical::calendar(&read.term, &plan, None, units))];
        for site in &read.term.sites {
            files.push((
                self.folder.join(format!("out/site-{}.ics", site.id)),
                ical::calendar(&read.term, &plan, Some(&site.id), units),
            ));
        }
        for (path, text) in &files {
            write::whole(path, text.as_bytes()).map_err(|error| Failure::unwritten(path, &error))?;
        }
        let paths: Vec<String> = files.iter().map(|(path, _)| path.display().to_string()).collect();
        if screen.json {
            screen.result(&json::written(&paths))
        } else {
            screen.result(&format!("{}\n", paths.join("\n")))
        }
    }
}
