//! `sowtide check`: mistakes in the term's files, and in its plan if there is one.

use super::failure::Failure;
use super::folder::Folder;
use super::screen::Screen;
use crate::check::{self, Rule, Violation};
use crate::desk::{Face, Opened};
use crate::domain::plan::Plan;
use crate::domain::term::Term;
use crate::files::store::Store;
use crate::files::{history, journal_file};
use crate::report::json;
use crate::report::words::counted;
use clap::Args;
use std::collections::BTreeMap;

/// Look for mistakes in the term file, the crops and the plan
///
/// The plan, if there is one, is replayed day by day: holes, nursery cells, class days, water, hands and
/// every gram. This also works for a plan that somebody changed by hand.
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  sowtide check autumn")]
pub(super) struct Check {
    #[command(flatten)]
    folder: Folder,
}

impl Check {
    pub(super) fn run(&self, screen: &Screen) -> Result<(), Failure> {
        let files = self.folder.disk();
        let desk = screen.desk(&files);
        let opened = desk.open()?;
        let Opened { read, plan, .. } = &opened;
        let remarks: Vec<String> = read.remarks.iter().map(ToString::to_string).collect();
        for remark in &remarks {
            screen.warn(remark);
        }
        if plan.is_none() && !history::numbers(&files)?.is_empty() {
            return Err(desk.no_plan()?.into());
        }
        let mut findings: Vec<String> =
            plan.iter().flat_map(|plan| gathered(plan, &check::check(&read.term, plan))).collect();
        let broken = !findings.is_empty();
        let overtaken = broken && !opened.journal.journal.entries().is_empty();
        let journal = files.shown(journal_file::FILE_NAME);
        let today = desk.moment.today;
        findings.extend(desk.unfounded(&opened));
        findings.extend(plan.iter().flat_map(|plan| opened.untrue(plan, &journal, today)));
        if screen.json {
            screen.result(&json::checks(&findings, &remarks))?;
        } else {
            screen.result(&text(&read.term, plan.as_ref(), &findings, &desk.command("plan", "")))?;
        }
        if overtaken {
            let replan = desk.command("replan", "");
            screen.remark(&format!("To plan the rest of the term as things stand now: {replan}"));
        } else if broken {
            screen.remark(&format!("To plan the term anew: {}", desk.command("plan", "")));
        }
        if findings.is_empty() { Ok(()) } else { Err(Failure::Printed) }
    }
}

/// The violations in words. What is out of rhythm is told once for a crop at a site: a plan made without a rhythm has none on
/// nearly any day.
fn gathered(plan: &Plan, violations: &[Violation]) -> Vec<String> {
    let place = |violation: &Violation| {
        let batch = plan.batches.iter().find(|batch| Some(&batch.id) == violation.batch.as_ref());
        batch.filter(|_| violation.rule == Rule::Rhythm).map(|batch| (&batch.site, &batch.crop))
    };
    let mut places: BTreeMap<_, u32> = BTreeMap::new();
    for place in violations.iter().filter_map(place) {
        *places.entry(place).or_default() += 1;
    }
    let tell = |violation: &Violation| match place(violation) {
        None => Some(violation.to_string()),
        Some(place) => places.remove(&place).map(|times| match times {
            1 => violation.to_string(),
            _ => format!("{violation} ({} more of {} here)", times - 1, place.1),
        }),
    };
    violations.iter().filter_map(tell).collect()
}

fn text(term: &Term, plan: Option<&Plan>, findings: &[String], to_plan: &str) -> String {
    let mut text = format!(
        "Term {}: {}, {}, {}. No mistakes.\n",
        term.name,
        counted(term.sites.len() as u32, "site"),
        counted(term.servings.len() as u32, "serving day"),
        counted(term.crops.len() as u32, "crop")
    );
    match plan {
        None => text = format!("{text}There is no plan yet. Make one with: {to_plan}\n"),
        Some(plan) => {
            let batches = counted(plan.batches.len() as u32, "batch");
            let verdict = if findings.is_empty() {
                "Everything fits.".to_owned()
            } else {
                format!("{} found:", counted(findings.len() as u32, "mistake"))
            };
            text = format!("{text}Plan, revision {}: {batches}. {verdict}\n", plan.revision);
            for finding in findings {
                text = format!("{text}- {finding}\n");
            }
        }
    }
    text
}
