//! `sowtide record`: writing down what really happened.

mod draft;
mod holes;
mod import;
mod samples;
mod what;

use super::dates;
use super::failure::Failure;
use super::folder::Folder;
use super::screen::Screen;
use crate::domain::ids::BatchId;
use crate::domain::journal::{Entry, Journal, Kind};
use crate::domain::plan::Plan;
use crate::domain::term::Term;
use crate::files::journal_file::{self, AppendError};
use crate::files::problem::suggest;
use crate::replan::accept::{Known, accept};
use crate::replan::refusal::{Named, Refusal};
use crate::replan::state::state;
use crate::replan::{holes_meant, is_overtaken, laid_over};
use crate::report::words::counted;
use crate::report::{json, recorded};
use chrono::{NaiveDate, SubsecRound, Utc};
use clap::Args;
use draft::Draft;
use std::path::PathBuf;
use what::What;

/// Write down what really happened: sowings, losses, harvests, lost class days ...
///
/// Entries go to journal.yaml beside the term file. They are only added, never changed: to correct one, record it again
/// with --replaces and its number; to take one back, use "withdraw". What cannot be true is refused, with the reason.
///
/// You need not record everything. Planned work that nobody recorded counts as done as planned, unless both earlier and
/// later work of the same kind was recorded at the same site.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  \
        sowtide record autumn sown --batch b002 --plugs 24\n  \
        sowtide record autumn harvested --batch b002 --way cut --plants 12 --mass \"480 g\"\n  \
        sowtide record autumn lost --batch b003 --in nursery --plants 5 --cause \"dried out\" --day 2026-10-05\n  \
        sowtide record autumn withdraw j007\n\n\
        Each of them explains itself: sowtide record harvested --help")]
pub(super) struct Record {
    #[command(flatten)]
    folder: Folder,
    #[command(subcommand)]
    what: What,
}

impl Record {
    pub(super) fn run(&self, screen: &Screen) -> Result<(), Failure> {
        let (read, plan) = self.folder.term_as_written_and_plan()?;
        let desk =
            Desk { term: &read.term, plan: &plan, path: self.folder.journal_path(), today: dates::today() };
        if let What::Import(import) = &self.what {
            let entries = import.run(&desk)?;
            screen.remark(&format!("{} recorded", counted(entries.len() as u32, "line")));
            return desk.tell_list(&entries, screen);
        }
        let draft = self.what.draft(&desk)?;
        let entry = desk.record(&draft)?;
        desk.tell(&entry, screen)
    }
}

/// What is at hand when something is written down.
struct Desk<'a> {
    term: &'a Term,
    plan: &'a Plan,
    path: PathBuf,
    today: NaiveDate,
}

impl Desk<'_> {
    /// Adds one entry.
    fn record(&self, draft: &Draft) -> Result<Entry, Failure> {
        let added = journal_file::append(&self.path, |journal| {
            let entry = draft.entry(journal.next_id(), now());
            self.accept(journal, &entry).map_err(|refusal| refused(&refusal))?;
            Ok::<_, Failure>(vec![entry])
        })?;
        let nothing = || Failure::told("nothing was recorded", "try again");
        added.into_iter().next().ok_or_else(nothing)
    }

    fn accept(&self, journal: &Journal, entry: &Entry) -> Result<(), Refusal> {
        accept(&Known { term: self.term, plan: self.plan, journal, today: self.today }, entry)
    }

    fn unknown_batch(&self, batch: &BatchId) -> Failure {
        let known = self.plan.batches.iter().map(|batch| batch.id.to_string()).collect();
        refused(&Refusal::Unknown { what: Named::Batch, name: batch.to_string(), known })
    }

    /// Tells an entry as recorded, and what it means.
    fn tell(&self, entry: &Entry, screen: &Screen) -> Result<(), Failure> {
        let journal = journal_file::read(&self.path)?;
        let term = laid_over(self.term, &journal);
        let told = if screen.json {
            json::journal(&journal, &[entry])
        } else {
            let now = state(&term, self.plan, &journal, self.today);
            let holes = holes_meant((&term, self.plan), &journal, entry, self.today);
            recorded::told(&term, self.plan, &journal, (entry, &holes), &now, &screen.look)
        };
        screen.result(&told)?;
        self.point_on(&term, &journal, &[entry], screen);
        Ok(())
    }

    fn tell_list(&self, entries: &[Entry], screen: &Screen) -> Result<(), Failure> {
        let journal = journal_file::read(&self.path)?;
        let entries: Vec<&Entry> = entries.iter().collect();
        screen.result(&if screen.json {
            json::journal(&journal, &entries)
        } else {
            crate::report::journal::table(self.term, &journal, &entries, &screen.look)
        })?;
        self.point_on(&laid_over(self.term, &journal), &journal, &entries, screen);
        Ok(())
    }

    /// Where something went wrong that the plan has no answer to, says what to do about it.
    fn point_on(&self, term: &Term, journal: &Journal, entries: &[&Entry], screen: &Screen) {
        let upsets = |entry: &&Entry| {
            // Taking a loss back upsets a plan just as well.
            let old = entry.replaces.and_then(|old| journal.entry(old));
            [Some(*entry), old].into_iter().flatten().any(|entry| upsets_plans(entry.what.kind()))
        };
        if entries.iter().any(upsets) && is_overtaken(term, self.plan, journal, self.today) {
            screen.remark("To plan around it: sowtide replan (with --try it only shows what would change)");
        }
    }
}

/// Whether things of this kind are seldom what a plan expects. Work done a little otherwise is not worth a word each time.
fn upsets_plans(kind: Kind) -> bool {
    matches!(
        kind,
        Kind::CameUp
            | Kind::Lost
            | Kind::TankOut
            | Kind::TankBack
            | Kind::ClassLost
            | Kind::ClassAdded
            | Kind::TargetChanged
    )
}

/// The journal knows whole seconds.
fn now() -> chrono::DateTime<Utc> {
    Utc::now().trunc_subsecs(0)
}

/// How to mend what was refused, with a nearer name where there is one.
fn mend(refusal: &Refusal) -> String {
    match refusal.unknown_name() {
        Some((name, known)) => suggest(name, known.iter().map(String::as_str)),
        None => refusal.help(),
    }
}

fn refused(refusal: &Refusal) -> Failure {
    Failure::told(format!("not recorded: {refusal}"), mend(refusal))
}

impl From<AppendError> for Failure {
    fn from(error: AppendError) -> Self {
        match error {
            AppendError::Unreadable(problems) => Self::Files(problems),
            AppendError::Busy => Self::told(
                AppendError::Busy.to_string(),
                "nothing was recorded; try again in a moment. If nobody is, end the program that holds the file \
                 .journal.yaml.lock",
            ),
            AppendError::Unwritten(error) => Self::told(
                format!("the journal could not be written: {error}"),
                "nothing was recorded; check that the folder may be written to and has room",
            ),
        }
    }
}
