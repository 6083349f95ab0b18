//! A term's folder: what stands where, and reading term and plan from it.

use super::failure::Failure;
use super::screen::Screen;
use crate::check;
use crate::domain::journal::Journal;
use crate::domain::plan::Plan;
use crate::domain::term::Term;
use crate::files::term_file::{self, ReadTerm};
use crate::files::{journal_file, plan_file};
use crate::replan;
use crate::report::words::counted;
use clap::Args;
use std::path::{Path, PathBuf};

/// The folder of a term.
#[derive(Debug, Args)]
pub(super) struct Folder {
    /// The term's folder [default: the current one]
    #[arg(value_name = "DIR")]
    dir: Option<PathBuf>,
}

impl Folder {
    pub(super) fn path(&self) -> &Path {
        self.dir.as_deref().unwrap_or(Path::new("."))
    }

    /// Path of something in it, without a needless `./`.
    pub(super) fn join(&self, name: impl AsRef<Path>) -> PathBuf {
        self.dir.as_ref().map_or_else(|| name.as_ref().to_path_buf(), |dir| dir.join(&name))
    }

    /// The term as it really is: with what the journal says of class days, tanks and targets. Remarks on its file are
    /// told, for commands that check and plan.
    pub(super) fn term_as_it_is(&self, screen: &Screen) -> Result<(ReadTerm, Journal), Failure> {
        let (read, journal) = self.term_laid_over()?;
        for remark in &read.remarks {
            screen.remark(screen.look.wrap(&remark.short()).trim_end());
        }
        Ok((read, journal))
    }

    /// As [`Self::term_as_it_is`], telling nothing.
    pub(super) fn term_laid_over(&self) -> Result<(ReadTerm, Journal), Failure> {
        let mut read = term_file::read(self.path())?;
        let journal = self.journal()?;
        read.term = replan::laid_over(&read.term, &journal);
        Ok((read, journal))
    }

    pub(super) fn journal_path(&self) -> PathBuf {
        self.join("journal.yaml")
    }

    /// What was recorded; nothing where there is no journal.
    pub(super) fn journal(&self) -> Result<Journal, Failure> {
        Ok(journal_file::read(&self.journal_path())?)
    }

    pub(super) fn plan_path(&self) -> PathBuf {
        self.join("plan.yaml")
    }

    /// The plan, if there is one.
    pub(super) fn plan(&self) -> Result<Option<Plan>, Failure> {
        let path = self.plan_path();
        if !path.exists() {
            return Ok(None);
        }
        Ok(Some(plan_file::read(&path)?))
    }

    /// The plan, for the command that makes a new one.
    pub(super) fn plan_to_replace(&self) -> Result<Option<Plan>, Failure> {
        self.plan().map_err(|failure| match failure {
            Failure::Files(problems) => Failure::told(
                format!("the plan from before cannot be read\n\n{problems}"),
                "move plan.yaml out of the folder and plan anew; calendars will then see all work as new",
            ),
            other => other,
        })
    }

    /// Term (as it really is) and plan, for commands that need both. Tells if they no longer fit.
    pub(super) fn term_and_plan(&self, screen: &Screen) -> Result<(ReadTerm, Plan), Failure> {
        let (read, journal) = self.term_laid_over()?;
        let plan = self.known_plan(&read.term)?;
        let findings = check::check(&read.term, &plan).len();
        if findings > 0 {
            let points = counted(findings as u32, "point");
            screen.remark(&if journal.entries().is_empty() {
                format!(
                    "Plan and term file no longer fit each other in {points}.\nSee them with: sowtide check. \
                     Plan anew with: sowtide plan"
                )
            } else {
                format!(
                    "What happened and the plan no longer fit each other in {points}.\nSee them with: sowtide check. \
                     Plan the rest of the term again with: sowtide replan"
                )
            });
        }
        Ok((read, plan))
    }

    /// The term as its file has it, and the plan, for commands that write and read the journal itself.
    pub(super) fn term_as_written_and_plan(&self) -> Result<(ReadTerm, Plan), Failure> {
        let read = term_file::read(self.path())?;
        let plan = self.known_plan(&read.term)?;
        Ok((read, plan))
    }

    /// The plan, if the term knows its sites.
    fn known_plan(&self, term: &Term) -> Result<Plan, Failure> {
        let plan = self.plan()?.ok_or_else(|| {
            Failure::told(
                format!("there is no plan in {} yet", self.path().display()),
                "make one with: sowtide plan",
            )
        })?;
        let foreign = plan.batches.iter().find(|batch| term.site(&batch.site).is_none());
        if let Some(batch) = foreign {
            return Err(Failure::told(
                format!("the plan has work at site \"{}\", which the term file does not know", batch.site),
                "plan anew with: sowtide plan",
            ));
        }
        Ok(plan)
    }
}
