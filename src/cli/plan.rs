//! `sowtide plan`: from the term file to a plan.

use super::dates;
use super::failure::Failure;
use super::folder::Folder;
use super::numbers;
use super::odds;
use super::output;
use super::patience::Limit;
use super::screen::Screen;
use super::search::{Search, THREADS};
use crate::desk::{Begun, Desk, Finished, Opened};
use crate::domain::plan;
use crate::domain::text;
use crate::files::history::{NEWEST, Saved};
use crate::insight::idle::idle;
use crate::report::history::{Past, table};
use crate::report::words::counted;
use crate::report::{Look, ahead, glance, json, most, rhythm, summary, weights};
use crate::schedule::{self, Watch};
use chrono::NaiveDate;
use clap::Args;
use std::hash::{BuildHasher, RandomState};
use std::path::{Path, PathBuf};

/// Seconds for finding out why days are short, beside those for planning; fewer for people in a hurry.
const SECONDS_FOR_REASONS: u64 = 30;
const HURRIED_SECONDS_FOR_REASONS: u64 = 3;
/// Seconds for finding out how much every day could get.
const SECONDS_FOR_MOST: u64 = 600;

/// Plan the term: what to sow, move and harvest, where and when
///
/// The plan goes to plan.yaml beside the term file. It is checked before it is saved. Planning again
/// replaces it, unless the plan there still fits and is better; dates people already have in their calendars
/// move along. Every plan is kept, under its number, in the folder "plans". Press Ctrl-C once to end the search with the best plan so far, twice to leave without a plan.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  sowtide plan autumn\n  \
        sowtide plan autumn --time-limit 300   search for five minutes\n  \
        sowtide plan autumn --sure 90%         with more in reserve\n  \
        sowtide plan autumn --why \"new tank in the hall\"\n  \
        sowtide plan autumn --most             how much could every serving day get?\n  \
        sowtide plan autumn --history          list all plans so far\n  \
        sowtide plan autumn --back-to 2        make plan 2 the newest again")]
pub(super) struct Plan {
    #[command(flatten)]
    folder: Folder,
    #[command(flatten)]
    search: Search,
    /// Promise every serving day this chance, 50 % to 95 %, and not what the term file says; "no" promises nothing
    #[arg(long, value_name = "CHANCE", conflicts_with_all = ["history", "back_to", "export_model"],
          value_parser = numbers::chance)]
    sure: Option<f64>,
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
    /// Find out how much every serving day could get alike, and do not plan; takes some minutes
    #[arg(long, conflicts_with_all = ["why", "history", "back_to", "export_model", "proof", "show_weights"])]
    most: bool,
    #[command(flatten)]
    more: More,
    /// Write the planning model as an MPS file for other solvers, and do not plan
    #[arg(long, value_name = "FILE")]
    export_model: Option<PathBuf>,
}

/// What else to tell of a plan.
#[derive(Debug, Args)]
struct More {
    /// Also tell what is proven of the best plan there could be
    #[arg(long)]
    proof: bool,
    /// Also print the points a plan is judged by
    #[arg(long)]
    show_weights: bool,
}

impl Plan {
    pub(super) fn run(&self, screen: &Screen) -> Result<(), Failure> {
        let files = self.folder.disk();
        let desk = screen.desk(&files);
        if self.history {
            return list(&desk, screen);
        }
        if let Some(path) = &self.export_model {
            return export_model(&desk, path, screen);
        }
        if let Some(number) = self.back_to {
            return self.back_to(&desk, number, screen);
        }
        let begun = desk.begin_plan(&new_term_id(), self.sure)?;
        screen.remarks(&begun.opened.read.remarks);
        if self.most {
            return self.tell_most(&begun, screen);
        }
        let mut plan = self.seek(&begun, screen)?;
        if let Some(why) = &self.why {
            plan.reason.clone_from(why);
        }
        let finished = desk.finish_plan(&begun, &plan)?;
        match &finished {
            Finished::Saved(saved) => tell_saved(saved, &desk, screen),
            Finished::Kept { plan, new_cost } => screen.remark(&format!(
                "The plan from before still fits the term and costs less ({:.1} points against {new_cost:.1}). It stays.",
                plan.facts.cost
            )),
        }
        if begun.opened.read.term.own_end() >= desk.moment.today
            && let Some(remark) = gone_by(finished.plan(), desk.moment.today)
        {
            screen.remark(&remark);
        }
        self.tell(&begun.opened, finished.plan(), screen)
    }

    /// Finds out how much every serving day could get alike.
    fn tell_most(&self, begun: &Begun, screen: &Screen) -> Result<(), Failure> {
        let asked = self.search.asked();
        let seek = |watch: &Watch| begun.most(&asked, odds::usual_luck(), watch);
        let Some(most) = self.search.run_within(SECONDS_FOR_MOST, screen, seek).found? else {
            return Err(Failure::told(
                "no even target was found for this term: no serving day is left, or there was no time",
                "check the target and the breaks, or give it more time with --time-limit 600",
            ));
        };
        if screen.json {
            screen.result(&json::most(&most))
        } else {
            screen.result(&most::text(&most, &begun.opened.read.term, &screen.look))
        }
    }

    /// Makes a plan from before the newest again.
    fn back_to(&self, desk: &Desk<'_>, number: u32, screen: &Screen) -> Result<(), Failure> {
        let (opened, saved, overtaken) = desk.back_to(number, self.why.as_deref())?;
        screen.remarks(&opened.read.remarks);
        tell_saved(&saved, desk, screen);
        self.tell(&opened, &saved.plan, screen)?;
        if let Some(misfit) = desk.misfit(&opened, &saved.plan) {
            screen.remark(&misfit);
        } else if overtaken {
            screen.remark("It does not know all that happened since. To plan around that: sowtide replan");
        }
        Ok(())
    }

    fn tell(&self, opened: &Opened, plan: &plan::Plan, screen: &Screen) -> Result<(), Failure> {
        if screen.json {
            let (term, own) = (opened.read.term.of_its_own(), opened.read.term.own_part(plan));
            screen.result(&json::plan(&term, &own, &idle(&term, &own), Some(&odds::of(opened, plan))))
        } else {
            screen.result(&self.text(opened, plan, &screen.look))
        }
    }

    fn text(&self, opened: &Opened, plan: &plan::Plan, look: &Look) -> String {
        let (whole, odds) = (&opened.read.term, odds::of(opened, plan));
        let (term, own) = (&whole.of_its_own(), &whole.own_part(plan));
        let summary = summary::lines(term, own, &idle(term, own), Some(&odds), look);
        let mut text = format!("{}\n{summary}", glance::table(term, own, Some(&odds), look));
        if let Some(stands_on) = whole.stands_on(plan) {
            text.push_str(&ahead::text(whole, &stands_on, look));
        }
        if self.more.proof {
            text.push_str(&summary::proof(plan, look));
        }
        if let Some(rhythm) = rhythm::table(whole, plan, look) {
            text = format!("{text}\n{rhythm}");
        }
        if self.more.show_weights {
            text = format!("{text}\n{}", weights::table(&term.rules, look));
        }
        text
    }

    /// Searches for a plan and for the reasons of its short days.
    fn seek(&self, begun: &Begun, screen: &Screen) -> Result<plan::Plan, Failure> {
        let sought = self.search.run(screen, |watch| begun.seek(&self.search.asked(), watch));
        let mut plan = sought.found?;
        plan.facts.seconds = sought.seconds;
        let limit = Limit::seconds(match (plan.facts.stopped, plan.facts.cost_bound) {
            (false, _) => SECONDS_FOR_REASONS,
            (true, Some(_)) => HURRIED_SECONDS_FOR_REASONS,
            // Where there was no time for the bound, there is none for a reason either.
            (true, None) => 0,
        });
        let interrupt = sought.interrupt.again();
        let watch =
            Watch { stop: &|| limit.is_over() || interrupt.pressed(), report: &|_| {}, threads: THREADS };
        begun.explain(&mut plan, &watch);
        Ok(plan)
    }
}

/// Says that a plan was saved, and what became of one that somebody had changed by hand.
pub(super) fn tell_saved(saved: &Saved, desk: &Desk<'_>, screen: &Screen) {
    screen.remark(&format!("Saved: {}, revision {}", desk.store.shown(NEWEST), saved.plan.revision));
    if let Some(name) = &saved.unreadable {
        screen.remark(&format!(
            "The plan from before could not be read; it is kept as {}, in case somebody had changed it by hand.",
            desk.store.shown(name)
        ));
    }
    if let Some(number) = saved.by_hand {
        screen.remark(&format!(
            "The plan from before had been changed by hand; it is kept as plan {number}. To bring it back: sowtide plan \
             --back-to {number}"
        ));
    }
}

/// Says so if a plan that is made from the beginning has sowings before today.
fn gone_by(plan: &plan::Plan, today: NaiveDate) -> Option<String> {
    let sown = plan.batches.iter().filter(|batch| batch.origin.is_sown());
    let (past, all) = sown.fold((0, 0), |(past, all), batch| (past + u32::from(batch.sown < today), all + 1));
    (past > 0).then(|| {
        format!(
            "Of {}, {past} should have been made before today and {} as done. If nothing is sown yet, put a later day behind \
             start: in the term file and plan again.",
            counted(all, "sowing"),
            if past == 1 { "counts" } else { "count" },
        )
    })
}

/// Prints all plans. One that cannot be read is remarked and left out.
fn list(desk: &Desk<'_>, screen: &Screen) -> Result<(), Failure> {
    let history = desk.history()?;
    for problems in &history.unreadable {
        screen.remark(&format!("{problems}\n"));
    }
    let newest = |plan: &plan::Plan| Some(plan.revision) == history.newest;
    let past: Vec<Past> =
        history.plans.iter().map(|plan| Past::new(plan, dates::local(plan.made), newest(plan))).collect();
    if screen.json {
        screen.result(&json::history(&past))
    } else {
        screen.result(&table(&past, &screen.look))
    }
}

fn export_model(desk: &Desk<'_>, path: &Path, screen: &Screen) -> Result<(), Failure> {
    let opened = desk.open()?;
    screen.remarks(&opened.read.remarks);
    output::write(path, output::Kind::Model, &schedule::export_model(&opened.read.term))?;
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
