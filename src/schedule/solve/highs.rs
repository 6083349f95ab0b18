//! HiGHS, for who has a C++ compiler.

use super::{Constraint, SolveError, Told};
use good_lp::solvers::highs::HighsProblem;
pub(super) use good_lp::solvers::highs::highs as solver;
use good_lp::{DualValues, ResolutionError, Solution, SolutionWithDual, SolverModel, Variable};
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

/// The backend's name, for the plan's facts.
pub(in crate::schedule) const BACKEND: &str = "HiGHS";

/// Solves a model. HiGHS at work cannot be stopped.
pub(super) fn solve(
    model: HighsProblem,
    columns: &[Variable],
    constraints: &[Constraint],
    _stopped: &Arc<AtomicBool>,
) -> Result<Told, SolveError> {
    let mut solution = model.solve().map_err(|error| match error {
        ResolutionError::Infeasible => SolveError::Infeasible,
        other => SolveError::Failed(other.to_string()),
    })?;
    let values = columns.iter().map(|column| solution.value(*column)).collect();
    let dual = solution.compute_dual();
    let prices = constraints.iter().map(|constraint| dual.dual(constraint.reference.clone())).collect();
    Ok(Told { values, prices })
}
