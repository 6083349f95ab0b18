//! Planning again changes little: days that would be met stay met, and nothing changes where nothing is missing.

use crate::replan::{again, any_seeds, entry, happenings, planned};
use crate::support::any::any_term;
use crate::support::build::{TermBuilder, site, tank, wanted};
use crate::support::crops::head;
use crate::support::few;
use chrono::{Days, NaiveDate};
use proptest::prelude::*;
use sowtide::domain::journal::{Amount, Journal, Place, What};
use sowtide::domain::plan::{Plan, Serving, is_short};
use sowtide::domain::tasks::tasks;
use sowtide::domain::term::Term;
use sowtide::replan::laid_over;
use sowtide::schedule::Resumed;

/// Serving days from a day on that get their target, within what may be missing.
fn met<'p>(term: &Term, plan: &'p Plan, from: NaiveDate) -> impl Iterator<Item = (NaiveDate, f64)> + 'p {
    let tolerance = term.rules.tolerance;
    let open = plan.servings.iter().filter(move |serving| serving.date >= from);
    open.filter(move |serving| !is_short(serving.target, serving.planned, tolerance))
        .map(|serving| (serving.date, serving.planned))
}

/// What is lost at one site is made up for there, and no other class has to do anything else.
#[test]
fn sites_without_a_part_in_a_loss_are_left_alone() {
    let sites = ["annex", "hall"].map(|id| site(id).tank(tank("a", 4, 6)).tank(tank("b", 4, 6)));
    let builder = sites.into_iter().fold(TermBuilder::default(), TermBuilder::site);
    let term = builder.crop(wanted(head("oakleaf"))).build();
    let plan = planned(&term).unwrap();
    let later = term.start + Days::new(14);
    let lost = plan.batches.iter().find(|batch| batch.sown >= later).unwrap();
    let (batch, place, plants) = (lost.id.clone(), Place::Nursery, Amount::All);
    let what = What::Lost { batch, place, plants, holes: Vec::new(), cause: "mould".to_owned() };
    let today = lost.sown + Days::new(1);
    let journal = Journal::new(vec![entry(0, today, Some(lost.site.clone()), what)]);
    let Resumed { left, plan: new } = again(&term, &plan, &journal, today).unwrap();
    let short = |plan: &Plan| plan.servings.iter().map(Serving::short).sum::<f64>();
    assert!(short(&left) > short(&plan) + 100.0, "something is missed");
    assert!(short(&new) < short(&left), "and made up for");
    let entries = |plan: &Plan| {
        let elsewhere = tasks(&term, plan).into_iter().filter(|task| task.batch.site != lost.site);
        elsewhere.map(|task| (task.date, task.kind, task.batch.id.clone(), task.plants())).collect::<Vec<_>>()
    };
    assert_eq!(entries(&new), entries(&plan));
}

proptest! {
    #![proptest_config(few(64))]

    #[test]
    fn a_day_that_would_be_met_is_not_given_up_for_others(
        term in any_term(), seeds in any_seeds(), days in 1..90_u64,
    ) {
        let Some(plan) = planned(&term) else { return Ok(()) };
        let today = (term.start + Days::new(days)).min(term.end);
        let journal = happenings(&term, &plan, &seeds, today);
        let really = laid_over(&term, &journal);
        let Some(Resumed { left, plan: new }) = again(&really, &plan, &journal, today) else { return Ok(()) };
        for (day, grams) in met(&really, &left, today) {
            let now = met(&really, &new, today).any(|(other, _)| other == day);
            let gets = new.servings.iter().find(|serving| serving.date == day).map(|serving| serving.planned);
            prop_assert!(now, "{day} got {grams} and gets {gets:?} after {:#?}", journal.in_force());
        }
    }

    /// Where something is lost and every day still gets what it was to get, what was planned and can still be done is done.
    #[test]
    fn a_loss_that_makes_no_day_short_changes_nothing_else(
        term in any_term(), seeds in any_seeds(), days in 1..90_u64,
    ) {
        let Some(plan) = planned(&term) else { return Ok(()) };
        let today = (term.start + Days::new(days)).min(term.end);
        // Losses and lost classes; other targets are no losses.
        let seeds: Vec<_> = seeds.into_iter().filter(|seed| matches!(seed.0, 0 | 1 | 5 | 6)).collect();
        let journal = happenings(&term, &plan, &seeds, today);
        let really = laid_over(&term, &journal);
        let Some(Resumed { left, plan: new }) = again(&really, &plan, &journal, today) else { return Ok(()) };
        let still = |before: &Serving, left: &Serving| !left.is_short(term.rules.tolerance) || left.short() <= before.short();
        let unpromised = really.servings.iter().all(|serving| serving.sure == 0.0);
        if unpromised && plan.servings.iter().zip(&left.servings).all(|(before, left)| still(before, left)) {
            prop_assert_eq!(new.batches, left.batches, "after {:#?}", journal.in_force());
        }
    }
}
