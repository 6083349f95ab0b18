//! `sowtide show`: the plan as it stands.

use super::failure::Failure;
use super::folder::Folder;
use super::screen::Screen;
use crate::domain::plan::Batch;
use crate::files::problem::suggest;
use crate::report::{batches, glance, json, steps, summary};
use clap::Args;

/// Show the plan: the term at a glance, every batch, and how good the plan is
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  sowtide show autumn\n  \
        sowtide show autumn --batch b-0003   how the mass of one batch comes about")]
pub(super) struct Show {
    #[command(flatten)]
    folder: Folder,
    /// Explain one batch, step by step from seed to plate
    #[arg(long, value_name = "BATCH")]
    batch: Option<String>,
}

impl Show {
    pub(super) fn run(&self, screen: &Screen) -> Result<(), Failure> {
        let (read, plan) = self.folder.term_and_plan(screen)?;
        let (term, look) = (&read.term, &screen.look);
        if let Some(id) = &self.batch {
            let batch = find(&plan.batches, id)?;
            return if screen.json {
                screen.result(&json::batch(term, batch))
            } else {
                screen.result(&steps::batch(term, batch, look))
            };
        }
        if screen.json {
            return screen.result(&json::plan(term, &plan));
        }
        screen.result(&format!(
            "{}\n{}\n{}",
            glance::table(term, &plan, look),
            batches::table(term, &plan, look),
            summary::lines(&plan, look)
        ))
    }
}

fn find<'a>(batches: &'a [Batch], id: &str) -> Result<&'a Batch, Failure> {
    batches.iter().find(|batch| batch.id.as_str() == id).ok_or_else(|| Failure::Usage {
        what: format!("there is no batch \"{id}\" in the plan"),
        help: suggest(id, batches.iter().map(|batch| batch.id.as_str())),
    })
}
