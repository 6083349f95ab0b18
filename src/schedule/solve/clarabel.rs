//! Clarabel, an interior-point solver in pure Rust.

use super::{Constraint, Side, SolveError, Told};
use clarabel::solver::{IPSolver, SolverStatus};
use good_lp::Variable;
use good_lp::solvers::clarabel::ClarabelProblem;
pub(super) use good_lp::solvers::clarabel::clarabel as solver;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering::Relaxed};

/// The backend's name, for the plan's facts.
pub(in crate::schedule) const BACKEND: &str = "Clarabel";

/// How near to the optimum the solver stops, as a share of it, and how far off it may be in a row.
const NEAR: f64 = 1e-6;

/// Solves a model. Values and prices that are not quite right are told, too: nobody relies on them.
pub(super) fn solve(
    mut model: ClarabelProblem,
    _columns: &[Variable],
    constraints: &[Constraint],
    stopped: &Arc<AtomicBool>,
) -> Result<Told, SolveError> {
    // The bound holds whatever the prices, and hints need not be exact; refining each step would take as long again.
    model.settings().tol_gap_abs(NEAR).tol_gap_rel(NEAR).tol_feas(NEAR).iterative_refinement_enable(false);
    // Through good_lp alone a solver at work could not be stopped.
    let mut solver = model.try_into_solver().map_err(|error| SolveError::Failed(error.to_string()))?;
    let stopped = Arc::clone(stopped);
    solver.set_termination_callback(move |_| stopped.load(Relaxed));
    solver.solve();
    let solution = &solver.solution;
    match solution.status {
        SolverStatus::CallbackTerminated => return Err(SolveError::Stopped),
        SolverStatus::PrimalInfeasible | SolverStatus::AlmostPrimalInfeasible => {
            return Err(SolveError::Infeasible);
        }
        SolverStatus::Unsolved | SolverStatus::MaxTime => {
            return Err(SolveError::Failed(solution.status.to_string()));
        }
        _ => {}
    }
    // The limits of columns come first.
    let own = solution.z.len().saturating_sub(constraints.len());
    let prices = solution.z[own..].iter().zip(constraints).map(|(price, constraint)| match constraint.side {
        Side::AtLeast => *price,
        Side::AtMost | Side::Equal => -price,
    });
    Ok(Told { values: solution.x.clone(), prices: prices.collect() })
}
