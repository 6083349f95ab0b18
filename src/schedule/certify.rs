//! A bound that holds by arithmetic, whatever the solver says of its own success.
//!
//! For any prices of the rows, what the rows are worth and what is left of each column's cost at its better end make a
//! lower bound (weak duality; V. Chvátal, "Linear Programming", 1983, chapter 5). Good prices come from the solver; bad ones only
//! make the bound low. Every sum is taken down by more than its rounding can be (N. J. Higham, "Accuracy and Stability of
//! Numerical Algorithms", 2002, section 4.2).

use super::model::{Col, Program, Row};

/// Passes over the rows for limits of columns.
const PASSES: usize = 6;

/// What nothing that keeps the rows can cost less than, at a cost for each column and with a price for each row, where no
/// column can be more than in `highs`. Minus infinity where the prices say nothing.
pub(super) fn bound(program: &Program, highs: &[f64], cost: impl Fn(usize) -> f64, prices: &[f64]) -> f64 {
    let mut left: Vec<Sum> = (0..program.columns.len()).map(|column| Sum::of(cost(column))).collect();
    let mut total = Sum::default();
    for (row, price) in program.rows.iter().zip(prices) {
        let Some((price, side)) = worth(row, *price) else { continue };
        total.add(price * side);
        for (Col(column), factor) in &row.terms {
            left[*column].add(-price * factor);
        }
    }
    for ((column, left), high) in program.columns.iter().zip(&left).zip(highs) {
        let low = left.low();
        if low < 0.0 {
            total.add(low * high);
        } else if column.low > 0.0 {
            total.add(low * column.low);
        }
    }
    total.low()
}

/// The price of a row and the side it pays for; a price on a side without a limit is none.
fn worth(row: &Row, price: f64) -> Option<(f64, f64)> {
    let side = if price > 0.0 { row.low } else { row.high };
    (price.is_finite() && price != 0.0 && side.is_finite()).then_some((price, side))
}

/// The most each column can be if all rows are kept, as far as single rows tell.
pub(super) fn limits(program: &Program) -> Vec<f64> {
    let mut highs: Vec<f64> = program.columns.iter().map(|column| column.high).collect();
    for _ in 0..PASSES {
        let before = highs.clone();
        for row in &program.rows {
            tighten(program, row, 1.0, row.high, &mut highs);
            tighten(program, row, -1.0, -row.low, &mut highs);
        }
        if highs == before {
            break;
        }
    }
    highs
}

/// Limits from `sign` times the row being at most `most`. Only columns without a limit get one: that is what is needed.
fn tighten(program: &Program, row: &Row, sign: f64, most: f64, highs: &mut [f64]) {
    if !most.is_finite() {
        return;
    }
    // The least the row can be: columns with a positive factor at their lower end, the others at their upper one.
    let mut least = Sum::default();
    for &(Col(column), factor) in &row.terms {
        let factor = sign * factor;
        least.add(factor * if factor > 0.0 { program.columns[column].low } else { highs[column] });
    }
    let room = most - least.low();
    if !room.is_finite() {
        return;
    }
    for &(Col(column), factor) in &row.terms {
        let factor = sign * factor;
        if factor > 0.0 && highs[column].is_infinite() {
            let high = program.columns[column].low + room.max(0.0) / factor;
            highs[column] = high * (1.0 + 1e-12) + 1e-12;
        }
    }
}

/// A sum that knows how far rounding may have led it astray.
#[derive(Debug, Clone, Copy, Default)]
struct Sum {
    value: f64,
    size: f64,
    terms: f64,
}

impl Sum {
    fn of(value: f64) -> Self {
        Self { value, size: value.abs(), terms: 1.0 }
    }

    fn add(&mut self, value: f64) {
        self.value += value;
        self.size += value.abs();
        self.terms += 1.0;
    }

    /// Surely no more than the exact sum; each term may be a rounded product.
    fn low(&self) -> f64 {
        self.value - (self.terms + 2.0) * f64::EPSILON * self.size
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The vegetable farm of `solve::tests`: 3977800/51 dollars; the dual values follow from the printed optimum by hand.
    #[test]
    fn right_prices_prove_the_optimum_and_wrong_ones_less() {
        let mut program = Program::default();
        let crops = [("carrot", 253.0), ("celery", 443.0), ("cucumber", 284.0), ("pepper", 516.0)]
            .map(|(name, gain)| program.column(name.into(), f64::INFINITY, false, -gain));
        let mut row = |name: &str, factors: [f64; 4], high: f64| {
            program.row(name.into(), crops.iter().copied().zip(factors).collect(), f64::NEG_INFINITY, high);
        };
        row("land", [1.0; 4], 200.0);
        row("labour", [25.0, 36.0, 27.0, 87.0], 10_000.0);
        row("rotation", [-1.0, 1.0, -1.0, 1.0], 0.0);
        // Celery, cucumber and pepper are grown, so their gains are used up: three equations in three prices.
        let labour = 73.0 / 51.0;
        let (sum, difference) = (443.0 - 36.0 * labour, 284.0 - 27.0 * labour);
        let prices = [-(sum + difference) / 2.0, -labour, -(sum - difference) / 2.0];
        let cost = |column: usize| program.columns[column].cost;
        let highs = limits(&program);
        let proven = bound(&program, &highs, cost, &prices);
        let optimum = -3_977_800.0 / 51.0;
        assert!(proven <= optimum && proven > optimum - 1e-6, "{proven} against {optimum}");
        for wrong in
            [[0.0; 3], [f64::NAN, -1.0, 5.0], prices.map(|price| -price), prices.map(|price| price * 0.9)]
        {
            let bound = bound(&program, &highs, cost, &wrong);
            assert!(bound <= optimum, "{bound} from {wrong:?}");
        }
    }
}
