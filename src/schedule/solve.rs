//! Linear programs to numbers: the only file that knows which solver runs.
//!
//! The default backend is Clarabel, an interior-point solver in pure Rust; the cargo feature `highs` takes
//! HiGHS instead. Both solve the linear relaxation, in which plants need not be whole; whole plants are
//! the search's business.

use super::Watch;
use super::program::Program;
use good_lp::{Expression, ProblemVariables, ResolutionError, Solution, SolverModel, Variable, variable};
use std::sync::Arc;
use std::sync::mpsc::{self, RecvTimeoutError};
use std::time::Duration;

#[cfg(not(feature = "highs"))]
use good_lp::solvers::clarabel::clarabel as backend;
#[cfg(feature = "highs")]
use good_lp::solvers::highs::highs as backend;

/// The backend's name, for the plan's facts.
#[cfg(feature = "highs")]
pub(super) const BACKEND: &str = "HiGHS";
/// The backend's name, for the plan's facts.
#[cfg(not(feature = "highs"))]
pub(super) const BACKEND: &str = "Clarabel";

/// What is to be made small.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Goal {
    /// The columns' cost in points.
    Points,
    /// The grams short.
    Shortfall,
}

/// The best values found for the columns, whole or not.
pub(super) struct Relaxed {
    pub(super) values: Vec<f64>,
    /// What was made small.
    pub(super) value: f64,
}

/// Why there are no numbers.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub(super) enum SolveError {
    /// The rows contradict each other.
    #[error("the planning model has no solution")]
    Infeasible,
    /// Somebody asked to stop.
    #[error("stopped")]
    Stopped,
    /// Anything else the backend says.
    #[error("the solver failed: {0}")]
    Failed(String),
}

/// Time between two looks at whether to stop.
const GLANCE: Duration = Duration::from_millis(20);

/// Like [`relax`], but gives up as soon as it should stop. A solver at work cannot be interrupted; it has a thread of its
/// own, if there may be two, which is then left to itself.
pub(super) fn relax_unless(program: &Arc<Program>, goal: Goal, watch: &Watch) -> Result<Relaxed, SolveError> {
    if watch.threads < 2 {
        return if (watch.stop)() { Err(SolveError::Stopped) } else { relax(program, goal) };
    }
    let (sender, receiver) = mpsc::channel();
    let program = Arc::clone(program);
    // Nobody listens any more once planning was stopped.
    std::thread::spawn(move || sender.send(relax(&program, goal)).unwrap_or_default());
    loop {
        match receiver.recv_timeout(GLANCE) {
            Ok(relaxed) => return relaxed,
            Err(RecvTimeoutError::Timeout) if (watch.stop)() => return Err(SolveError::Stopped),
            Err(RecvTimeoutError::Timeout) => {}
            Err(RecvTimeoutError::Disconnected) => {
                return Err(SolveError::Failed("it broke down".to_owned()));
            }
        }
    }
}

/// Solves the program with its whole numbers let go.
fn relax(program: &Program, goal: Goal) -> Result<Relaxed, SolveError> {
    let mut variables = ProblemVariables::new();
    let columns: Vec<Variable> = program
        .columns
        .iter()
        .map(|column| {
            let definition = variable().min(column.low);
            variables.add(if column.high.is_finite() { definition.max(column.high) } else { definition })
        })
        .collect();
    let price = |index: usize| match goal {
        Goal::Points => program.columns[index].cost,
        Goal::Shortfall => program.columns[index].short,
    };
    let mut objective = Expression::with_capacity(columns.len());
    for (index, column) in columns.iter().enumerate() {
        if price(index) != 0.0 {
            objective.add_mul(price(index), *column);
        }
    }
    let mut model = variables.minimise(objective).using(backend);
    for row in &program.rows {
        let mut sum = Expression::with_capacity(row.terms.len());
        for (col, factor) in &row.terms {
            sum.add_mul(*factor, columns[col.0]);
        }
        if row.is_equation() {
            model.add_constraint(sum.eq(row.low));
            continue;
        }
        if row.high.is_finite() {
            model.add_constraint(sum.clone().leq(row.high));
        }
        if row.low.is_finite() {
            model.add_constraint(sum.geq(row.low));
        }
    }
    let solution = model.solve().map_err(|error| match error {
        ResolutionError::Infeasible => SolveError::Infeasible,
        other => SolveError::Failed(other.to_string()),
    })?;
    let values: Vec<f64> = columns.iter().map(|column| solution.value(*column)).collect();
    let value = values.iter().enumerate().map(|(index, value)| price(index) * value).sum();
    Ok(Relaxed { values, value })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// P. B. R. Hazell's vegetable farm (American Journal of Agricultural Economics 53, 1971, pp. 53-62), as
    /// printed in the documentation of the R package agridat: acres of carrot, celery, cucumber and
    /// pepper under limits of land, labour and rotation. Printed optimum 0, 27.45098, 100, 72.54902; exactly
    /// 3977800/51 dollars.
    #[test]
    fn hazells_vegetable_farm() {
        let mut program = Program::default();
        let crops = [("carrot", 253.0), ("celery", 443.0), ("cucumber", 284.0), ("pepper", 516.0)]
            .map(|(name, gain)| program.column(name.into(), f64::INFINITY, false, -gain));
        let mut row = |name: &str, factors: [f64; 4], high: f64| {
            let terms = crops.iter().copied().zip(factors).collect();
            program.row(name.into(), terms, f64::NEG_INFINITY, high);
        };
        row("land", [1.0; 4], 200.0);
        row("labour", [25.0, 36.0, 27.0, 87.0], 10_000.0);
        row("rotation", [-1.0, 1.0, -1.0, 1.0], 0.0);
        let best = relax(&program, Goal::Points).unwrap();
        // An interior-point solver stops within a relative 1e-8 of the optimum.
        let gain = 3_977_800.0 / 51.0;
        assert!((best.value / -gain - 1.0).abs() < 1e-6);
        for (value, printed) in best.values.iter().zip([0.0, 1400.0 / 51.0, 100.0, 3700.0 / 51.0]) {
            assert!((value - printed).abs() < 1e-3, "{value} against {printed}");
        }
    }
}
