//! `sowtide journal`: what was recorded.

use super::failure::Failure;
use super::folder::Folder;
use super::screen::Screen;
use crate::domain::ids::SiteId;
use crate::domain::journal::{Entry, Journal as Entries};
use crate::domain::plan::Plan;
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
}

impl Journal {
    pub(super) fn run(&self, screen: &Screen) -> Result<(), Failure> {
        let (read, plan) = self.folder.term_as_written_and_plan()?;
        let term = &read.term;
        let entries = self.folder.journal()?;
        if let Some(name) = &self.of {
            let sites = term.sites.iter().map(|site| site.id.as_str());
            let known: Vec<&str> = sites.chain(plan.batches.iter().map(|batch| batch.id.as_str())).collect();
            if !known.contains(&name.as_str()) {
                return Err(Failure::Usage {
                    what: format!("there is no batch or site \"{name}\""),
                    help: suggest(name, known),
                });
            }
        }
        let shown = self.shown(&entries);
        if screen.json {
            return screen.result(&json::journal(&entries, &shown));
        }
        screen.result(&journal::table(term, &entries, &shown, &screen.look))
    }

    fn shown<'a>(&self, entries: &'a Entries) -> Vec<&'a Entry> {
        let mut shown = if self.all { entries.entries().iter().collect() } else { entries.in_force() };
        if let Some(name) = &self.of {
            let site = SiteId::new(name);
            shown.retain(|entry| match entry.what.batch() {
                Some(batch) if batch.as_str() == name => true,
                _ => {
                    entry.concerns(&site)
                        && entry.what.batch().is_none_or(|_| entry.site.as_ref() == Some(&site))
                }
            });
        }
        shown
    }
}

/// Reads the journal, and tells of batches in it that the plan does not know.
pub(super) fn read(folder: &Folder, plan: &Plan, screen: &Screen) -> Result<Entries, Failure> {
    let entries = folder.journal()?;
    let strange = |entry: &&Entry| {
        entry.what.batch().is_some_and(|id| plan.batches.iter().all(|batch| batch.id != *id))
    };
    let strangers: Vec<String> =
        entries.in_force().into_iter().filter(strange).map(|entry| entry.id.to_string()).collect();
    if !strangers.is_empty() {
        screen.remark(&format!(
            "The journal speaks of batches that are not in the plan, and what it says of them is left out: {}. \
             See them with: sowtide journal",
            strangers.join(", ")
        ));
    }
    Ok(entries)
}
