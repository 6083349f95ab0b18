//! `sowtide learn`: what a term's records teach.

use super::failure::Failure;
use super::folder::Folder;
use super::screen::Screen;
use super::sites;
use crate::desk::{Learning, Opened, Written};
use crate::domain::ids::{CropId, SiteId};
use crate::domain::learned::Lesson;
use crate::files::problem::suggest;
use crate::files::store::Disk;
use crate::report::{json, learned};
use clap::Args;
use std::path::PathBuf;

/// See what the term's records teach: masses, days, regrowth, germination and losses, and take it over for the next term
///
/// Each figure is believed as far as it was seen: two light heads change little, forty change much. What is seen at one site says
/// something of the same crop elsewhere, too, and of the other crops there. This term's own files never change. With --take the
/// figures go into the term file and the folder "crops" of the next term, with a note on each, as long as nothing is recorded
/// there; --take-back puts back what was there before.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  sowtide learn autumn\n  sowtide learn autumn --take winter --crop butterhead\n  \
        sowtide learn winter --take-back"
)]
pub(super) struct Learn {
    #[command(flatten)]
    folder: Folder,
    /// Write the figures into the files of the next term
    #[arg(long, value_name = "NEXT_DIR")]
    take: Option<PathBuf>,
    /// Put back what this term's files said before figures were taken over into them
    #[arg(long, conflicts_with_all = ["take", "crops", "sites"])]
    take_back: bool,
    /// Only these crops [default: all]
    #[arg(long = "crop", value_name = "CROP", value_delimiter = ',')]
    crops: Vec<String>,
    /// Only figures of these sites [default: all, and those that hold everywhere]
    #[arg(long = "site", value_name = "SITE", value_delimiter = ',')]
    sites: Vec<String>,
}

impl Learn {
    pub(super) fn run(&self, screen: &Screen) -> Result<(), Failure> {
        let files = self.folder.disk();
        let desk = screen.desk(&files);
        if self.take_back {
            let written = desk.take_back()?;
            return told(&written, screen, "There is nothing to put back.\n");
        }
        let Learning { opened, mut lessons } = desk.learning()?;
        let term = &opened.as_written;
        let crops: Vec<CropId> =
            self.crops.iter().map(|name| crop(&opened, name)).collect::<Result<_, _>>()?;
        let sites = sites::named(term, &self.sites)?;
        lessons.retain(|lesson| wants(lesson, &crops, &sites));
        if let Some(next) = &self.take {
            let next = Disk::at(next);
            let written = screen.desk(&next).take_over(term, &lessons)?;
            return told(&written, screen, "Nothing to take over: the files say what the records teach.\n");
        }
        if screen.json {
            return screen.result(&json::learning(&lessons));
        }
        if lessons.is_empty() {
            return screen.result(
                "Nothing to learn from yet: harvests with their mass, counts of seedlings and losses teach (sowtide record).\n",
            );
        }
        screen.result(&learned::table(term, &lessons, &screen.look))?;
        screen.remark(&format!(
            "To count on this in the next term, once you have its folder (sowtide next): {}",
            desk.command("learn", "--take NEXT_DIR")
        ));
        Ok(())
    }
}

/// Whether a lesson is of these crops and sites; of all, where none are named.
fn wants(lesson: &Lesson, crops: &[CropId], sites: &[SiteId]) -> bool {
    (crops.is_empty() || crops.contains(&lesson.of.crop))
        && (sites.is_empty() || lesson.of.site.as_ref().is_some_and(|site| sites.contains(site)))
}

/// The crop of the term that somebody typed a name of.
fn crop(opened: &Opened, name: &str) -> Result<CropId, Failure> {
    let wanted = || opened.as_written.crops.iter().map(|wanted| wanted.crop.id.as_str());
    let found = opened.read.library.typed(name).filter(|found| wanted().any(|id| id == found.id.as_str()));
    found.map(|found| found.id.clone()).ok_or_else(|| {
        Failure::usage(format!("there is no crop \"{name}\" in the term"), suggest(name, wanted()))
    })
}

/// What was written, and what was left alone.
fn told(written: &Written, screen: &Screen, nothing: &str) -> Result<(), Failure> {
    if screen.json {
        return screen.result(&json::learned(&written.files, &written.figures, &written.left));
    }
    if !written.left.is_empty() {
        screen.remark(&format!(
            "Left alone, because somebody has changed them by hand:\n{}",
            learned::written(&written.term, &written.left, &screen.look)
        ));
    }
    if written.figures.is_empty() {
        return screen.result(nothing);
    }
    screen.result(&learned::written(&written.term, &written.figures, &screen.look))?;
    screen.remark(&format!("Changed: {}.", written.files.join(", ")));
    Ok(())
}
