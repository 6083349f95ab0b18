//! `sowtide learn`: what a term's records teach.

use super::failure::Failure;
use super::folder::Folder;
use super::screen::Screen;
use crate::desk::{Learning, Written};
use crate::domain::learned::Lesson;
use crate::files::problem::suggest;
use crate::report::{json, learned};
use clap::Args;

/// See what the term's records teach: masses, days, regrowth, germination and losses, and take it over for plans to come
///
/// Each figure is believed as far as it was seen: two light heads change little, forty change much. What is seen at one site says
/// something of the same crop elsewhere, too. Nothing changes until you say --take: then the figures go into the term file and
/// the folder "crops" beside it, with a note on each, and --take-back puts them back.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  sowtide learn autumn\n  sowtide learn autumn --take --crop butterhead\n  \
        sowtide learn autumn --take-back"
)]
pub(super) struct Learn {
    #[command(flatten)]
    folder: Folder,
    /// Write the figures into the term's files
    #[arg(long)]
    take: bool,
    /// Put back what the files said before
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
            return told_back(&desk.take_back()?, screen);
        }
        let Learning { opened, mut lessons, taken, .. } = desk.learning()?;
        let term = &opened.as_written;
        let crops = term.crops.iter().map(|wanted| wanted.crop.id.as_str()).collect();
        known(&self.crops, crops, "crop")?;
        known(&self.sites, term.sites.iter().map(|site| site.id.as_str()).collect(), "site")?;
        if self.take {
            return told_taken(&desk.take_over(|lesson| self.wants(lesson))?, screen);
        }
        lessons.retain(|lesson| self.wants(lesson));
        if screen.json {
            return screen.result(&json::learning(term, &lessons, &taken));
        }
        if lessons.is_empty() {
            return screen.result(
                "Nothing to learn from yet: harvests with their mass, counts of seedlings and losses teach (sowtide record).\n",
            );
        }
        screen.result(&learned::table(term, &lessons, &taken, &screen.look))?;
        screen.remark(&format!("To take this over for plans to come: {}", desk.command("learn", "--take")));
        Ok(())
    }

    fn wants(&self, lesson: &Lesson) -> bool {
        let crop = lesson.of.crop.as_str();
        let site = lesson.of.site.as_ref();
        let here = site.is_some_and(|site| self.sites.iter().any(|name| name == site.as_str()));
        (self.crops.is_empty() || self.crops.iter().any(|name| name == crop))
            && (self.sites.is_empty() || here)
    }
}

/// Whether the term has all that was named.
fn known(named: &[String], known: Vec<&str>, what: &str) -> Result<(), Failure> {
    match named.iter().find(|name| !known.contains(&name.as_str())) {
        None => Ok(()),
        Some(name) => {
            Err(Failure::usage(format!("there is no {what} \"{name}\" in the term"), suggest(name, known)))
        }
    }
}

fn told_taken(written: &Written, screen: &Screen) -> Result<(), Failure> {
    if screen.json {
        return screen.result(&json::learned(&written.files, &written.figures, &written.left));
    }
    if written.figures.is_empty() {
        return screen.result("Nothing to take over: the files say what the records teach.\n");
    }
    screen.result(&learned::written(&written.term, &written.figures, &screen.look))?;
    screen.remark(&format!(
        "Changed: {}. A plan under way goes by them once the rest of the term is planned again.",
        written.files.join(", ")
    ));
    Ok(())
}

fn told_back(written: &Written, screen: &Screen) -> Result<(), Failure> {
    if screen.json {
        return screen.result(&json::learned(&written.files, &written.figures, &written.left));
    }
    if !written.left.is_empty() {
        screen.remark(&format!(
            "Left alone, because somebody has changed them since they were taken over:\n{}",
            learned::written(&written.term, &written.left, &screen.look)
        ));
    }
    if written.figures.is_empty() {
        return screen.result("There is nothing to put back.\n");
    }
    screen.result(&learned::written(&written.term, &written.figures, &screen.look))?;
    screen.remark(&format!("Changed: {}.", written.files.join(", ")));
    Ok(())
}
