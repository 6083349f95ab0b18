//! Properties of every plan and every bound, on terms of every kind.
//!
//! The bound is the optimum of a linear program, so more room, more days or more crops can only lower it.

use crate::support::any::any_term;
use crate::support::build::{TermBuilder, site, tank, wanted};
use crate::support::crops::{cutter, figure, head, young};
use crate::support::{few, plan_at, write_plan};
use chrono::Weekday::{Thu, Wed};
use chrono::{Days, NaiveDate};
use proptest::prelude::*;
use proptest::sample::Index;
use sowtide::check::check;
use sowtide::domain::ids::{BatchId, CropId, SiteId, TankId};
use sowtide::domain::plan::Plan;
use sowtide::domain::term::{Location, Stage, Standing, Term, WantedCrop, WayWish};
use sowtide::schedule::{self, Bound, Options, ScheduleError, Watch};
use std::collections::BTreeSet;

/// Relative: an interior-point solver stops within about 1e-8 of the optimum, and two programs differ in how they
/// get there.
const TOLERANCE: f64 = 1e-5;

pub(crate) fn plan(term: &Term, seed: u64, effort: u64) -> Result<Plan, ScheduleError> {
    plan_unless(term, seed, effort, &|| false)
}

/// The same, but stopped once somebody asks for it.
pub(crate) fn plan_unless(
    term: &Term,
    seed: u64,
    effort: u64,
    stop: &(dyn Fn() -> bool + Sync),
) -> Result<Plan, ScheduleError> {
    let options = Options {
        seed,
        effort: Some(effort),
        until_stopped: false,
        term_id: "0123456789abcdef".to_owned(),
        made: "2026-09-01T08:30:00Z".parse().unwrap(),
    };
    schedule::plan(term, None, &options, &Watch { stop, report: &|_| {}, threads: 2 })
}

/// A term and its bound; terms without one have nothing to compare. Where more can be done, more sites may have to have
/// something to do, so none has to.
fn bounded() -> impl Strategy<Value = (Term, Bound)> {
    any_term().prop_filter_map("no plan is possible", |mut term| {
        term.rules.every_site = false;
        let bound = schedule::bound(&term)?;
        Some((term, bound))
    })
}

fn not_above(one: f64, other: f64) -> bool {
    one <= other + TOLERANCE * other.abs().max(1.0)
}

/// The bound of a term that leaves more choices than one with a bound.
fn freer(term: &Term, before: Bound) -> Result<(), TestCaseError> {
    let after = schedule::bound(term);
    let points = after.map(|bound| bound.points);
    prop_assert!(points.is_some_and(|points| not_above(points, before.points)), "{after:?} after {before:?}");
    Ok(())
}

proptest! {
    #![proptest_config(few(24))]

    #[test]
    fn every_plan_is_sound_and_costs_no_less_than_the_bound(
        term in any_term(),
        seed in any::<u64>(),
        effort in 20..=40_u64,
    ) {
        // Plants that stand at the start may be in each other's way; that there is no plan then is right.
        let Ok(found) = plan(&term, seed, effort) else { return Ok(()) };
        prop_assert_eq!(check(&term, &found), []);
        if let Some(bound) = schedule::bound(&term) {
            prop_assert!(not_above(bound.points, found.facts.cost), "{:?} above {:?}", bound, found.facts);
            let (least, short) = (bound.short_grams, found.facts.short_grams);
            prop_assert!(not_above(least, short), "{least} g above {short} g");
        }
        let again = plan(&term, seed, effort);
        let mut again = again.map_err(|error| TestCaseError::fail(error.to_string()))?;
        again.facts.seconds = found.facts.seconds;
        prop_assert_eq!(&again, &found);
    }

    /// Solvers tell rows and columns apart by their names.
    #[test]
    fn every_row_and_column_of_an_exported_model_has_a_name_of_its_own(term in any_term()) {
        let text = schedule::export_model(&term);
        let (rows, columns) = text.split_once("COLUMNS").unwrap();
        let mut seen = BTreeSet::new();
        for row in rows.lines().filter_map(|line| line.trim().split_once(' ')).map(|(_, name)| name) {
            prop_assert!(seen.insert(row), "two rows are called {}", row);
        }
        seen.clear();
        let (columns, _) = columns.split_once("RHS").unwrap();
        let own = columns.lines().filter_map(|line| line.trim().split_once(" points ")).map(|(name, _)| name);
        for column in own {
            prop_assert!(seen.insert(column), "two columns are called {}", column);
        }
    }

    #[test]
    fn a_plan_read_back_is_the_plan_that_was_written(term in any_term(), seed in any::<u64>()) {
        let Ok(plan) = plan(&term, seed, 20) else { return Ok(()) };
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("plan.yaml");
        write_plan(&path, &plan);
        let read = plan_at(&path);
        prop_assert_eq!(&read, &plan);
        prop_assert_eq!(check(&term, &read), []);
    }
}

/// A batch may be larger than its tank: seedlings that waited take the holes of those that were pulled young.
#[test]
fn holes_used_twice_by_one_batch_are_counted_twice() {
    let crop = young("oakleaf");
    let mut term = TermBuilder::default()
        .weeks(6)
        .site(site("annex").meets(&[Wed]).tank(tank("a", 2, 4)).nursery(24, 7))
        .serves(Thu, 120.0)
        .crop(WantedCrop { way: WayWish::WholeHead, ..wanted(crop) })
        .build();
    term.sites[0].nursery.cell_cm = 15.0;
    // Two batches cost too much, and greens are worth one.
    let weights = &mut term.rules.weights;
    (weights.short, weights.very_short, weights.sowing) = (1.0, 1.0, 60.0);
    term.rules.turnover_days = 0;
    let (found, bound) = (plan(&term, 1, 60).unwrap(), schedule::bound(&term).unwrap());
    assert_eq!(check(&term, &found), []);
    let largest = found.batches.iter().map(|batch| batch.parts.iter().map(|part| part.plants).sum::<u32>());
    assert!(largest.max() > Some(8), "no batch uses a hole twice: {:?}", found.batches);
    assert!(not_above(bound.points, found.facts.cost), "{bound:?} above {:?}", found.facts);
}

proptest! {
    #![proptest_config(few(12))]

    #[test]
    fn more_holes_never_cost_more((mut term, before) in bounded(), site in any::<Index>(), tank in any::<Index>()) {
        let tanks = &mut site.get_mut(&mut term.sites).tanks;
        tank.get_mut(tanks).lid.columns += 1;
        freer(&term, before)?;
    }

    /// Between the first and the last class day another one only splits a stretch in which nobody came. Before the
    /// first, it may open a new absence over plants that stand at the start, so there it may do harm.
    #[test]
    fn another_class_day_never_costs_more((mut term, before) in bounded(), site in any::<Index>(), day in any::<Index>()) {
        let days = &mut site.get_mut(&mut term.sites).class_days;
        let free: Vec<NaiveDate> = match (days.first(), days.last()) {
            (Some(first), Some(last)) => {
                first.iter_days().take_while(|day| day < last).filter(|day| !days.contains(day)).collect()
            }
            _ => Vec::new(),
        };
        prop_assume!(!free.is_empty());
        days.push(*day.get(&free));
        days.sort();
        freer(&term, before)?;
    }

    #[test]
    fn another_crop_never_costs_more((mut term, before) in bounded(), regrows in any::<bool>()) {
        let crop = if regrows { cutter("endive") } else { head("endive") };
        term.crops.push(wanted(crop));
        freer(&term, before)?;
    }

    #[test]
    fn twice_of_everything_costs_twice_as_much(term in any_term()) {
        let term = divisible(term);
        let twice = doubled(term.clone());
        let (once, twice) = (schedule::bound(&term).unwrap().points, schedule::bound(&twice).unwrap().points);
        prop_assert!((twice - 2.0 * once).abs() <= TOLERANCE * (2.0 * once).max(1.0), "{once}, then {twice}");
    }
}

/// The term without all that does not grow with its size: prices of batches, tasks, visits and sites without work, the smallest batch, the
/// share of a single tank, and batches rounded down to whole plants (which needs a plant from every plug).
fn divisible(mut term: Term) -> Term {
    let rules = &mut term.rules;
    let weights = &mut rules.weights;
    (weights.sowing, weights.visit) = (0.0, 0.0);
    (weights.task, weights.further_tank, weights.scant, weights.idle) = (0.0, 0.0, 0.0, 0.0);
    (weights.split, weights.overmature) = (0.0, 0.0);
    (rules.smallest_batch, rules.one_tank_at_most) = (1, 1.0);
    term.standing.clear();
    term.arrivals.clear();
    for WantedCrop { crop, .. } in &mut term.crops {
        crop.germination = figure(1.0);
        crop.nursery_survival = figure(1.0);
    }
    term
}

/// Twice the greens wanted, the cells, the minutes and the tanks, and with the tanks twice the litres. Classes may
/// sow as many batches as before, because these may now be twice as large.
fn doubled(mut term: Term) -> Term {
    for serving in &mut term.servings {
        serving.grams *= 2.0;
    }
    for wanted in &mut term.crops {
        let tanks = wanted.only_in.iter().filter_map(|place| Some((&place.site, place.tank.as_ref()?)));
        let more: Vec<Location> = tanks
            .map(|(site, tank)| Location {
                site: site.clone(),
                tank: Some(TankId::new(format!("{tank}-too"))),
            })
            .collect();
        wanted.only_in.extend(more);
    }
    for site in &mut term.sites {
        site.nursery.cells *= 2;
        site.minutes_a_day = site.minutes_a_day.map(|minutes| 2.0 * minutes);
        let mut more = site.tanks.clone();
        for tank in &mut more {
            tank.id = TankId::new(format!("{}-too", tank.id));
        }
        site.tanks.append(&mut more);
    }
    term
}

/// Random terms once came upon this: without rest between plants, all of these were put into hole 1.
#[test]
fn plants_pulled_on_the_first_day_stood_in_holes_of_their_own() {
    let sown = TermBuilder::start() - Days::new(49);
    let term = TermBuilder::default()
        .site(site("hall").tank(tank("a", 2, 3)))
        .crop(wanted(head("oakleaf")))
        .rules(|rules| rules.turnover_days = 0)
        .standing(Standing {
            batch: BatchId::new("old"),
            crop: CropId::new("oakleaf"),
            site: SiteId::new("hall"),
            sown,
            plants: 4,
            stage: Stage::Tank {
                tank: TankId::new("a"),
                transplanted: sown + Days::new(14),
                holes: Vec::new(),
                cuts: Vec::new(),
            },
        })
        .build();
    let found = plan(&term, 1, 20).unwrap();
    assert_eq!(check(&term, &found), []);
    let old = found.batches.iter().find(|batch| batch.is_standing()).unwrap();
    assert_eq!(old.parts[0].leaves(), Some(term.start));
}
