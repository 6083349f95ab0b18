//! Running totals against totals from scratch.

use super::anneal::{Annealing, COLD, ROUNDS, Walker};
use super::change::Change;
use super::dates;
use super::moves::Servings;
use super::series;
use super::state::State;
use super::{Kind, MISSED, heat, misses};
use crate::domain::term::{Rhythm, Term};
use crate::files::store::Disk;
use crate::files::term_file;
use crate::schedule::instance::{Hints, Instance, Network};
use std::path::Path;

/// The same plan, booked part by part.
fn anew<'g>(state: &State<'g>, mut empty: State<'g>) -> State<'g> {
    for (number, lots) in state.all_lots().iter().enumerate() {
        for lot in lots {
            empty.book(&Change { candidate: number as u32, path: lot.path, plants: lot.plants });
        }
    }
    empty.settle();
    empty
}

fn example(name: &str) -> Term {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples").join(name);
    term_file::read(&Disk::at(folder)).unwrap_or_else(|problems| panic!("{problems}")).term
}

fn books_of(example: &str, rhythm: Rhythm, seed: u64) {
    let mut term = self::example(example);
    term.rules.every_site = true;
    term.promise(0.8);
    term.rules.rhythm = rhythm;
    let net = Network::new(&term);
    let instance = Instance::new(&net);
    let empty = State::new(&instance);
    let servings = Servings::new(&instance, &[]);
    let mut walker = Walker::new(empty.clone(), seed);
    for (heat, uneven) in [(100.0, Some(0.5)), (30.0, Some(8.0)), (8.0, None), (1.0, None), (0.01, None)] {
        if uneven.is_none() {
            series::even_out(&mut walker.state);
        }
        walker.state.allow_uneven(uneven);
        walker.walk(&servings, heat, 2_000, &|| false);
        let mut nothing = empty.clone();
        nothing.allow_uneven(uneven);
        let anew = anew(&walker.state, nothing);
        let (running, scratch) = (walker.state.points(), anew.points());
        assert!(
            (running - scratch).abs() < 1e-6 * scratch.max(1.0),
            "{example}: {running}, {scratch} from scratch"
        );
        for (running, scratch) in walker.state.needs().zip(anew.needs()) {
            assert!(
                (running - scratch).abs() < 1e-3,
                "{example}: {running} g missing, {scratch} from scratch"
            );
        }
        assert!(anew.sound(), "{example}: something is used too much, or out of rhythm");
        assert!(
            walker.state.all_lots().iter().any(|lots| !lots.is_empty()),
            "{example}: nothing was planned"
        );
    }
}

#[test]
fn totals_after_any_walk_are_those_from_scratch() {
    for example in ["one-room", "school", "too-much"] {
        for seed in 1..4 {
            books_of(example, Rhythm::Free, seed);
        }
        books_of(example, Rhythm::Steady { every: 2 }, 1);
    }
}

#[test]
fn only_what_plants_in_fractions_could_bring_is_missed() {
    let term = example("one-room");
    let net = Network::new(&term);
    let instance = Instance::new(&net);
    let nothing = State::new(&instance);
    let target: f64 = nothing.short().iter().sum();
    assert!(misses(&nothing, &Hints::default()));
    let scarce = Hints { short: target * (1.0 - MISSED / 2.0), ..Hints::default() };
    assert!(!misses(&nothing, &scarce));
}

#[test]
fn work_that_costs_nothing_still_leaves_some_heat() {
    let mut term = example("one-room");
    let weights = &mut term.rules.weights;
    (weights.sowing, weights.task, weights.visit) = (0.0, 0.0, 0.0);
    let net = Network::new(&term);
    let heat = heat(&Instance::new(&net), &Hints::default(), 0, Kind::Fresh);
    for plant in [None, Some(1.0)] {
        let annealing = Annealing { heat, steps: 1, walk: 0, walks: 1, plant };
        for round in 0..ROUNDS {
            assert!(annealing.heat(round) >= COLD, "round {round} of {heat:?}, {plant:?}");
        }
    }
}

/// A plan as it stands when somebody stops the search: hot, with days that nobody would choose.
#[test]
fn no_single_move_or_harvest_is_better_on_another_day() {
    let term = example("school");
    let net = Network::new(&term);
    let instance = Instance::new(&net);
    let empty = State::new(&instance);
    let mut walker = Walker::new(empty.clone(), 1);
    walker.walk(&Servings::new(&instance, &[]), 10.0, 20_000, &|| false);
    let mut state = walker.state;
    let before = state.points();
    dates::polish(&mut state);
    let after = state.points();
    assert!(after < 0.99 * before, "{after} points, {before} before");
    assert!((after - anew(&state, empty).points()).abs() < 1e-6 * after);
    for batch in state.active().to_vec() {
        for lot in state.lots(batch).to_vec() {
            let candidate = &instance.candidates[batch as usize];
            let days = lot.path.harvests().iter().enumerate();
            let others = days.flat_map(|(place, day)| [day + 1, day.saturating_sub(1)].map(|to| (place, to)));
            for path in others.map(|(place, to)| lot.path.with_harvest(place, to)) {
                let change = |path, plants| Change { candidate: batch, path, plants };
                let changes = [change(lot.path, -lot.plants), change(path, lot.plants)];
                let better = |points: f64| points < -1e-3;
                assert!(!instance.allows(candidate, &path) || !state.attempt(&changes, better), "{path:?}");
            }
        }
    }
}
