//! `sowtide calendar`: calendar files for all sites together and for each.

use super::failure::Failure;
use super::folder::Folder;
use super::screen::Screen;
use crate::files::write;
use crate::report::{ical, json};
use clap::Args;
use std::path::{Path, PathBuf};

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
        self.tell_of_strangers(&files, screen);
        let paths: Vec<String> = files.iter().map(|(path, _)| path.display().to_string()).collect();
        if screen.json {
            screen.result(&json::written(&paths))
        } else {
            screen.result(&format!("{}\n", paths.join("\n")))
        }
    }

    /// Calendars of sites that are no longer in the term would go on telling people to sow.
    fn tell_of_strangers(&self, written: &[(PathBuf, String)], screen: &Screen) {
        let entries = std::fs::read_dir(self.folder.join("out")).into_iter().flatten().flatten();
        let of_site = |path: &Path| {
            let named =
                path.file_stem().and_then(|stem| stem.to_str()).is_some_and(|stem| stem.starts_with("site-"));
            named && path.extension().is_some_and(|extension| extension == "ics")
        };
        for entry in entries.filter(|entry| of_site(&entry.path())) {
            if !written.iter().any(|(path, _)| path.file_name() == Some(&entry.file_name())) {
                screen.remark(&format!(
                    "{} is of a site that is not in the term and was not written again. Remove it, so that nobody \
                     works by it.",
                    self.folder.join("out").join(entry.file_name()).display()
                ));
            }
        }
    }
}
