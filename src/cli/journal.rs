//! `sowtide journal`: what was recorded.

use super::failure::Failure;
use super::folder::Folder;
use super::screen::Screen;
use crate::domain::ids::SiteId;
use crate::domain::journal::{Entry, EntryId, Journal as Entries};
use crate::domain::site::Site;
use crate::files::problem::suggest;
use crate::report::{journal, json};
use clap::Args;

/// List what was recorded
///
/// Entries that were corrected or withdrawn are left out, unless --all is given.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  sowtide journal autumn\n  \
        sowtide journal autumn --of b002   what happened to one batch\n  \
        sowtide journal autumn --of hall   what happened at one site")]
pub(super) struct Journal {
    #[command(flatten)]
    folder: Folder,
    /// Only entries about this batch or site
    #[arg(long, value_name = "BATCH OR SITE")]
    of: Option<String>,
    /// Also show entries that were corrected or withdrawn, in the order recorded
    #[arg(long)]
    all: bool,
    /// Go on without entries that the journal has lost but the plan takes into account
    #[arg(long)]
    let_go: bool,
    /// Take entries that say something else than when the plan was made for the same in other words
    #[arg(long)]
    reworded: bool,
}

impl Journal {
    pub(super) fn run(&self, screen: &Screen) -> Result<(), Failure> {
        let files = self.folder.disk();
        let desk = screen.desk(&files);
        if self.let_go {
            told(&desk.let_go()?, "let go; what the plan made of them stays as it is", screen);
        }
        if self.reworded {
            told(
                &desk.take_reworded()?,
                "taken for what the plan knew; planning again makes nothing new of them",
                screen,
            );
        }
        let (opened, plan) = desk.open_planned()?;
        let (term, entries) = (&opened.as_written, &opened.journal.journal);
        let site = self.of.as_ref().and_then(|name| term.site_called(name));
        if let (Some(name), None) = (&self.of, site) {
            let sites = term.sites.iter().map(|site| site.id.as_str());
            let known: Vec<&str> = sites.chain(plan.batches.iter().map(|batch| batch.id.as_str())).collect();
            if !known.contains(&name.as_str()) {
                return Err(Failure::usage(
                    format!("there is no batch or site \"{name}\""),
                    suggest(name, known),
                ));
            }
        }
        let shown = self.shown(entries, site);
        if screen.json {
            return screen.result(&json::journal(entries, &shown));
        }
        screen.result(&journal::table(term, entries, &shown, &screen.look))
    }

    fn shown<'a>(&self, entries: &'a Entries, site: Option<&Site>) -> Vec<&'a Entry> {
        let mut shown = if self.all { entries.entries().iter().collect() } else { entries.in_force() };
        if let Some(name) = &self.of {
            let at = |entry: &Entry, site: &SiteId| {
                entry.concerns(site) && entry.what.batch().is_none_or(|_| entry.site.as_ref() == Some(site))
            };
            shown.retain(|entry| {
                entry.what.batch().is_some_and(|batch| batch.as_str() == name)
                    || site.is_some_and(|site| at(entry, &site.id))
            });
        }
        shown
    }
}

/// Says what became of entries.
fn told(entries: &[EntryId], what: &str, screen: &Screen) {
    let list: Vec<String> = entries.iter().map(ToString::to_string).collect();
    screen.remark(&match list.as_slice() {
        [] => "There is no such entry; there was nothing to do.".to_owned(),
        list => format!("{}: {what}.", list.join(", ")),
    });
}
