//! Linear programs to numbers: the only file that knows which solver runs.
//!
//! The default backend is Clarabel, an interior-point solver in pure Rust; the cargo feature `highs` takes
//! HiGHS instead. Both solve the linear relaxation, in which plants need not be whole; whole plants are
//! the search's business.

#[cfg(not(feature = "highs"))]
#[path = "solve/clarabel.rs"]
mod backend;
#[cfg(feature = "highs")]
#[path = "solve/highs.rs"]
mod backend;

use super::certify;
use super::model::Program;
use super::watch::Watch;
pub(super) use backend::BACKEND;
use good_lp::constraint::ConstraintReference;
use good_lp::{Expression, ProblemVariables, SolverModel, Variable, variable};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering::Relaxed};
use std::time::Duration;

/// What is to be made small.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Goal {
    /// The columns' cost in points.
    Points,
    /// The grams short.
    Shortfall,
}

/// The best values found for the columns, whole or not.
pub(super) struct Optimum {
    pub(super) values: Vec<f64>,
    /// What was made small cannot be smaller than this.
    pub(super) bound: f64,
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

/// On which side of its right-hand side a constraint keeps its sum.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "highs", allow(dead_code, reason = "HiGHS turns the sign of prices by itself"))]
enum Side {
    Equal,
    AtMost,
    AtLeast,
}

/// A constraint of the backend, and the row that it comes from.
#[cfg_attr(
    not(feature = "highs"),
    allow(dead_code, reason = "Clarabel tells prices in the order of constraints")
)]
struct Constraint {
    row: usize,
    side: Side,
    reference: ConstraintReference,
}

/// What a backend says.
struct Told {
    /// By column.
    values: Vec<f64>,
    /// What a constraint's right-hand side is worth, by constraint.
    prices: Vec<f64>,
}

/// Time between two looks at whether to stop.
const GLANCE: Duration = Duration::from_millis(20);

/// Solves the program with its whole numbers let go, and gives up soon after it should stop: a solver at work looks up after
/// each of its rounds. It has a thread of its own, if there may be two.
pub(super) fn solve_unless(program: &Program, goal: Goal, watch: &Watch) -> Result<Optimum, SolveError> {
    if (watch.stop)() {
        return Err(SolveError::Stopped);
    }
    let stopped = Arc::new(AtomicBool::new(false));
    if watch.threads < 2 {
        return relax(program, goal, &stopped);
    }
    std::thread::scope(|scope| {
        let solver = scope.spawn(|| relax(program, goal, &stopped));
        while !solver.is_finished() {
            stopped.fetch_or((watch.stop)(), Relaxed);
            std::thread::sleep(GLANCE);
        }
        solver.join().map_err(|_| SolveError::Failed("it broke down".to_owned()))?
    })
}

/// Solves the program with its whole numbers let go. The solver counts columns in shares of what they can be at most: its
/// prices are then good enough without refining.
fn relax(program: &Program, goal: Goal, stopped: &Arc<AtomicBool>) -> Result<Optimum, SolveError> {
    let most = certify::limits(program);
    let unit: Vec<f64> =
        most.iter().map(|most| if most.is_finite() && *most > 0.0 { *most } else { 1.0 }).collect();
    let mut variables = ProblemVariables::new();
    let columns: Vec<Variable> = program
        .columns
        .iter()
        .zip(&unit)
        .map(|(column, unit)| {
            let definition = variable().min(column.low / unit);
            variables.add(if column.high.is_finite() {
                definition.max(column.high / unit)
            } else {
                definition
            })
        })
        .collect();
    let price = |index: usize| match goal {
        Goal::Points => program.columns[index].cost,
        Goal::Shortfall => program.columns[index].short,
    };
    let mut objective = Expression::with_capacity(columns.len());
    for (index, column) in columns.iter().enumerate() {
        if price(index) != 0.0 {
            objective.add_mul(price(index) * unit[index], *column);
        }
    }
    let mut model = variables.minimise(objective).using(backend::solver);
    let mut constraints = Vec::with_capacity(program.rows.len());
    for (number, row) in program.rows.iter().enumerate() {
        let mut sum = Expression::with_capacity(row.terms.len());
        for (col, factor) in &row.terms {
            sum.add_mul(*factor * unit[col.0], columns[col.0]);
        }
        let mut add = |constraint, side| {
            constraints.push(Constraint { row: number, side, reference: model.add_constraint(constraint) });
        };
        if row.is_equation() {
            add(sum.eq(row.low), Side::Equal);
            continue;
        }
        if row.high.is_finite() {
            add(sum.clone().leq(row.high), Side::AtMost);
        }
        if row.low.is_finite() {
            add(sum.geq(row.low), Side::AtLeast);
        }
    }
    let told = backend::solve(model, &columns, &constraints, stopped)?;
    let mut prices = vec![0.0; program.rows.len()];
    for (constraint, price) in constraints.iter().zip(&told.prices) {
        prices[constraint.row] += price;
    }
    let values = told.values.iter().zip(&unit).map(|(share, unit)| share * unit).collect();
    Ok(Optimum { bound: certify::bound(program, &most, price, &prices), values })
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
        let best = relax(&program, Goal::Points, &Arc::default()).unwrap();
        // An interior-point solver stops within a relative 1e-8 of the optimum.
        let gain = 3_977_800.0 / 51.0;
        assert!(best.bound <= -gain && (best.bound / -gain - 1.0).abs() < 1e-6, "{}", best.bound);
        for (value, printed) in best.values.iter().zip([0.0, 1400.0 / 51.0, 100.0, 3700.0 / 51.0]) {
            assert!((value - printed).abs() < 1e-3, "{value} against {printed}");
        }
    }
}
