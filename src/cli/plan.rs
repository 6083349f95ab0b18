//! `sowtide plan`: from the term file to a plan.

mod past;

use super::dates;
use super::failure::Failure;
use super::folder::Folder;
use super::numbers;
use super::patience::Limit;
use super::screen::Screen;
use super::search::{self, Search};
use crate::check::{self, Violation};
use crate::domain::journal::{Entry, Journal, Kind};
use crate::domain::plan;
use crate::domain::term::Term;
use crate::domain::text;
use crate::files::{history, write};
use crate::insight::reasons;
use crate::replan::is_overtaken;
use crate::report::{Look, glance, json, summary, weights};
use crate::schedule::{self, Watch};
use clap::Args;
use std::hash::{BuildHasher, RandomState};
use std::path::{Path, PathBuf};

/// Seconds for finding out why days are short, beside those for planning; fewer for people in a hurry.
const SECONDS_FOR_REASONS: u64 = 30;
const HURRIED_SECONDS_FOR_REASONS: u64 = 3;

/// Plan the term: what to sow, move and harvest, where and when
///
/// The plan goes to plan.yaml beside the term file. It is checked before it is saved. Planning again
/// replaces it, unless the plan there still fits and is better; dates people already have in their calendars
/// move along. Every plan is kept, under its number, in the folder "plans". Press Ctrl-C once to end the search with the best plan so far, twice to leave without a plan.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  sowtide plan autumn\n  \
        sowtide plan autumn --time-limit 300   search for up to five minutes\n  \
        sowtide plan autumn --why \"new tank in the hall\"\n  \
        sowtide plan autumn --history          list all plans so far\n  \
        sowtide plan autumn --back-to 2        make plan 2 the newest again")]
pub(super) struct Plan {
    #[command(flatten)]
    folder: Folder,
    #[command(flatten)]
    search: Search,
    /// Why the plan is made, for the list of plans
    #[arg(long, value_name = "TEXT", value_parser = one_line)]
    why: Option<String>,
    /// List all plans so far, and do not plan
    #[arg(long, conflicts_with_all = ["why", "back_to", "export_model"])]
    history: bool,
    /// Make the plan of this number the newest again, if it still fits the term, and do not plan
    #[arg(long, value_name = "NUMBER", conflicts_with = "export_model",
          value_parser = numbers::whole::<u32>(1..=u64::from(u32::MAX)))]
    back_to: Option<u32>,
    /// Also print the points a plan is judged by
    #[arg(long)]
    show_weights: bool,
    /// Write the planning model as an MPS file for other solvers, and do not plan
    #[arg(long, value_name = "FILE")]
    export_model: Option<PathBuf>,
}

impl Plan {
    pub(super) fn run(&self, screen: &Screen) -> Result<(), Failure> {
        if self.history {
            return past::list(&self.folder, screen);
        }
        let (read, journal) = self.folder.term_as_it_is(screen)?;
        let term = &read.term;
        if let Some(path) = &self.export_model {
            return export_model(term, path, screen);
        }
        let previous = self.folder.plan_to_replace()?;
        if let Some(number) = self.back_to {
            let mut plan = past::back_to(&self.folder, term, number, previous.as_ref(), &journal)?;
            plan.reason = self.reason(&format!("back to plan {number}"));
            plan.made = search::now();
            self.save(term, &plan, screen)?;
            if is_overtaken(term, &plan, &journal, dates::today()) {
                screen
                    .remark("It does not know all that happened since. To plan around that: sowtide replan");
            }
            return Ok(());
        }
        refuse_to_forget(previous.as_ref(), &journal)?;
        let mut plan = self.seek(term, previous.as_ref(), screen)?;
        plan.reason = self.reason(if previous.is_some() { "planned again" } else { "first plan" });
        refuse_unsound(term, &plan, None)?;
        if let Some(better) = previous.filter(|previous| outdoes(previous, &plan, term)) {
            let better = seen_anew(better, &plan);
            history::refresh(self.folder.path(), &better)?;
            screen.remark(&format!(
                "The plan from before still fits the term and costs less ({:.1} points against {:.1}). It stays.",
                better.facts.cost, plan.facts.cost
            ));
            return self.tell(term, &better, screen);
        }
        self.save(term, &plan, screen)
    }

    /// Makes a sound plan the newest, and tells of it.
    fn save(&self, term: &Term, plan: &plan::Plan, screen: &Screen) -> Result<(), Failure> {
        let saved = history::save(self.folder.path(), plan)?;
        screen.remark(&format!("Saved: {}, revision {}", self.folder.plan_path().display(), saved.revision));
        self.tell(term, &saved, screen)
    }

    /// What the user gave as a reason, or else the usual one.
    fn reason(&self, usual: &str) -> String {
        self.why.clone().unwrap_or_else(|| usual.to_owned())
    }

    fn tell(&self, term: &Term, plan: &plan::Plan, screen: &Screen) -> Result<(), Failure> {
        if screen.json {
            screen.result(&json::plan(term, plan))
        } else {
            screen.result(&self.text(term, plan, &screen.look))
        }
    }

    fn text(&self, term: &Term, plan: &plan::Plan, look: &Look) -> String {
        let mut text = format!("{}\n{}", glance::table(term, plan, look), summary::lines(plan, look));
        if self.show_weights {
            text = format!("{text}\n{}", weights::table(&term.rules.weights, look));
        }
        text
    }

    /// Searches for a plan and for the reasons of its short days.
    fn seek(
        &self,
        term: &Term,
        previous: Option<&plan::Plan>,
        screen: &Screen,
    ) -> Result<plan::Plan, Failure> {
        let sought = self.search.run(screen, |watch| {
            let id = previous.map_or_else(new_term_id, |plan| plan.term_id.clone());
            schedule::plan(term, previous, &self.search.options(id), watch)
        });
        let mut plan = sought.found.map_err(|error| Failure::told(error.to_string(), "then plan again"))?;
        plan.facts.seconds = sought.seconds;
        let hurried = plan.facts.stopped;
        let limit = Limit::seconds(if hurried { HURRIED_SECONDS_FOR_REASONS } else { SECONDS_FOR_REASONS });
        let interrupt = sought.interrupt.again();
        let watch = Watch { stop: &|| limit.is_over() || interrupt.pressed(), report: &|_| {} };
        reasons::explain(term, &mut plan, &watch);
        Ok(plan)
    }
}

/// Whether the plan from before still fits the term, and better than the new one. Who stops a search early, or lets
/// it take fewer steps, must not lose the good plan that was saved.
fn outdoes(previous: &plan::Plan, plan: &plan::Plan, term: &Term) -> bool {
    previous.facts.cost < plan.facts.cost - 0.01 && check::check(term, previous).is_empty()
}

/// The plan from before with what the new one knows of bounds and reasons: the term may have changed since.
fn seen_anew(mut plan: plan::Plan, new: &plan::Plan) -> plan::Plan {
    plan.facts.cost_bound = new.facts.cost_bound.map(|bound| bound.min(plan.facts.cost));
    plan.facts.short_bound_grams = new.facts.short_bound_grams.map(|bound| bound.min(plan.facts.short_grams));
    for (serving, seen) in plan.servings.iter_mut().zip(&new.servings) {
        let short = serving.short() >= 1.0;
        serving.shortfall = short.then(|| seen.shortfall.unwrap_or(plan::Shortfall::Search));
    }
    plan
}

/// Planning from nothing knows nothing of what was done.
fn refuse_to_forget(previous: Option<&plan::Plan>, journal: &Journal) -> Result<(), Failure> {
    let replanned = previous.is_some_and(|plan| plan.replanned.is_some());
    let began = |entry: &&Entry| !entry.what.kind().may_lie_ahead() && entry.what.kind() != Kind::Note;
    if !replanned && !journal.in_force().iter().any(began) {
        return Ok(());
    }
    Err(Failure::told(
        "this term is under way: a plan from nothing would forget what was done",
        "plan the rest of it again with: sowtide replan. To begin all over, move plan.yaml and journal.yaml out of the \
         folder",
    ))
}

/// A plan with mistakes must not reach anybody. They would be our own fault, unless the plan from before had them already:
/// somebody changed it, or the term file says otherwise of what is past.
pub(super) fn refuse_unsound(
    term: &Term,
    plan: &plan::Plan,
    old: Option<&plan::Plan>,
) -> Result<(), Failure> {
    let found = check::check(term, plan);
    if found.is_empty() {
        return Ok(());
    }
    let before = old.map_or_else(Vec::new, |old| check::check(term, old));
    let same = |one: &Violation, other: &Violation| {
        (one.rule, &one.site, &one.batch) == (other.rule, &other.site, &other.batch)
    };
    let inherited: Vec<&Violation> =
        before.iter().filter(|old| found.iter().any(|new| same(old, new))).collect();
    if !inherited.is_empty() {
        let told: Vec<String> = inherited.iter().map(ToString::to_string).collect();
        return Err(Failure::told(
            format!(
                "plan.yaml holds what cannot be, and planning again cannot mend it.\n- {}",
                told.join("\n- ")
            ),
            "if plan.yaml was changed by hand, correct these places in it, or take its newest copy from the folder plans; \
             if the term file was changed, put back what it said of days gone by",
        ));
    }
    let findings: Vec<String> = found.iter().map(ToString::to_string).collect();
    Err(Failure::told(
        format!(
            "the plan found does not pass our own check; this is a fault in sowtide, not in your files. \
             Nothing was saved.\n- {}",
            findings.join("\n- ")
        ),
        "please report it together with your term folder; another --seed may give a sound plan meanwhile",
    ))
}

fn export_model(term: &Term, path: &Path, screen: &Screen) -> Result<(), Failure> {
    let model = schedule::export_model(term);
    write::whole(path, model.as_bytes()).map_err(|error| Failure::unwritten(path, &error))?;
    let path = path.display().to_string();
    screen.remark("The model is written; no plan was made.");
    if screen.json { screen.result(&json::written(&[path])) } else { screen.result(&format!("{path}\n")) }
}

/// A reason has to fit into a list.
pub(super) fn one_line(text: &str) -> Result<String, String> {
    let text = text.trim();
    if text.is_empty() || text.chars().count() > 200 {
        return Err("write a few words on one line".to_owned());
    }
    text::check(text).map_err(|unfit| format!("{unfit}; {}", unfit.help()))?;
    Ok(text.to_owned())
}

/// Sixteen random hexadecimal digits. The keys of a fresh hasher come from the system's random source.
fn new_term_id() -> String {
    format!("{:016x}", RandomState::new().hash_one(std::process::id()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn term_ids_are_long_and_differ() {
        let (one, other) = (new_term_id(), new_term_id());
        assert_eq!(one.len(), 16);
        assert!(one.bytes().all(|b| b.is_ascii_hexdigit()));
        assert_ne!(one, other);
    }
}
