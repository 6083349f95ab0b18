//! The checker: one change after another to a sound plan or its term, and the rule that must notice.
#![allow(clippy::unwrap_used, reason = "a helper of tests that cannot go on should panic")]

mod any;
mod growing;
mod plan;
mod rhythm;
mod room;
mod servings;
mod standing;
mod whole;

use self::plan::{plan, term};
use crate::support::day;
use sowtide::check::{Rule, Violation, check};
use sowtide::domain::crop::Crop;
use sowtide::domain::plan::{Harvest, Part, Plan, Shortfall};
use sowtide::domain::term::Term;

fn after(change: impl FnOnce(&mut Term, &mut Plan)) -> Vec<Violation> {
    let (mut term, mut plan) = (term(), plan());
    change(&mut term, &mut plan);
    check(&term, &plan)
}

/// After the change, `rule` and no other is broken, and the words say what they should.
#[track_caller]
fn only(rule: Rule, words: &str, change: impl FnOnce(&mut Term, &mut Plan)) {
    let found = after(change);
    let told: Vec<String> = found.iter().map(ToString::to_string).collect();
    assert!(
        !found.is_empty() && found.iter().all(|violation| violation.rule == rule),
        "{rule:?} alone should be broken: {found:#?}"
    );
    assert!(told.iter().any(|text| text.contains(words)), "{words:?} should be in {told:#?}");
}

/// After the change, `rule` is broken among others.
#[track_caller]
fn also(rule: Rule, words: &str, change: impl FnOnce(&mut Term, &mut Plan)) {
    let found = after(change);
    assert!(
        found.iter().any(|violation| violation.rule == rule && violation.to_string().contains(words)),
        "{rule:?} with {words:?} should be among {found:#?}"
    );
}

fn oakleaf(term: &mut Term) -> &mut Crop {
    &mut term.crops[0].crop
}

fn chard(term: &mut Term) -> &mut Crop {
    &mut term.crops[1].crop
}

fn part(plan: &mut Plan, batch: usize) -> &mut Part {
    &mut plan.batches[batch].parts[0]
}

fn last_harvest(plan: &mut Plan, batch: usize) -> &mut Harvest {
    part(plan, batch).harvests.last_mut().unwrap()
}

fn planned<'a>(plan: &'a mut Plan, date: &str) -> &'a mut f64 {
    let date = day(date);
    let serving = plan.servings.iter_mut().find(|serving| serving.date == date);
    &mut serving.unwrap().planned
}

fn reason<'a>(plan: &'a mut Plan, date: &str) -> &'a mut Option<Shortfall> {
    let date = day(date);
    let serving = plan.servings.iter_mut().find(|serving| serving.date == date);
    &mut serving.unwrap().shortfall
}
