//! A mixed-integer linear program as plain numbers: columns with bounds and costs, rows with limits.
//!
//! Kept apart from any solver so that it can be counted, exported and solved by whichever backend runs.

use std::fmt::Write;

/// A column's number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(crate) struct Col(pub(crate) usize);

/// A quantity to be decided.
#[derive(Debug, Clone)]
pub(crate) struct Column {
    pub(crate) name: String,
    pub(crate) low: f64,
    pub(crate) high: f64,
    pub(crate) integer: bool,
    /// Points for each unit.
    pub(crate) cost: f64,
    /// Grams of shortfall in each unit.
    pub(crate) short: f64,
}

/// A weighted sum that must keep within limits.
#[derive(Debug, Clone)]
pub(crate) struct Row {
    pub(crate) name: String,
    pub(crate) terms: Vec<(Col, f64)>,
    pub(crate) low: f64,
    pub(crate) high: f64,
}

impl Row {
    /// Whether the sum must have one exact value.
    pub(crate) fn is_equation(&self) -> bool {
        self.high - self.low <= 0.0
    }
}

/// Minimise the columns' cost.
#[derive(Debug, Clone, Default)]
pub(crate) struct Program {
    pub(crate) columns: Vec<Column>,
    pub(crate) rows: Vec<Row>,
}

impl Program {
    /// Adds a column that is never negative.
    pub(crate) fn column(&mut self, name: String, high: f64, integer: bool, cost: f64) -> Col {
        self.columns.push(Column { name, low: 0.0, high, integer, cost, short: 0.0 });
        Col(self.columns.len() - 1)
    }

    /// Adds a row. Terms of one column are added up.
    pub(crate) fn row(&mut self, name: String, mut terms: Vec<(Col, f64)>, low: f64, high: f64) {
        terms.sort_by_key(|(col, _)| *col);
        terms.dedup_by(|later, first| {
            let same = later.0 == first.0;
            if same {
                first.1 += later.1;
            }
            same
        });
        terms.retain(|(_, factor)| *factor != 0.0);
        self.rows.push(Row { name, terms, low, high });
    }

    /// Numbers other than nought in the rows.
    pub(crate) fn nonzeros(&self) -> usize {
        self.rows.iter().map(|row| row.terms.len()).sum()
    }

    /// The program as free MPS, an open text format most solvers read. Costs are in row `points`.
    pub(crate) fn to_mps(&self) -> String {
        let mut by_column: Vec<Vec<(usize, f64)>> = vec![Vec::new(); self.columns.len()];
        for (index, row) in self.rows.iter().enumerate() {
            for (col, factor) in &row.terms {
                by_column[col.0].push((index, *factor));
            }
        }
        let mut text = String::from("NAME sowtide\nROWS\n N points\n");
        for row in &self.rows {
            let kind = if row.is_equation() {
                'E'
            } else if row.high.is_finite() {
                'L'
            } else {
                'G'
            };
            let _ = writeln!(text, " {kind} {}", row.name);
        }
        text.push_str("COLUMNS\n");
        let mut in_integers = false;
        let mut marker = 0;
        for (column, entries) in self.columns.iter().zip(&by_column) {
            if column.integer != in_integers {
                marker += 1;
                let kind = if column.integer { "INTORG" } else { "INTEND" };
                let _ = writeln!(text, " M{marker} 'MARKER' '{kind}'");
                in_integers = column.integer;
            }
            // A column must be named even where it costs nothing and stands in no row.
            let _ = writeln!(text, " {} points {}", column.name, column.cost);
            for (row, factor) in entries {
                let _ = writeln!(text, " {} {} {factor}", column.name, self.rows[*row].name);
            }
        }
        if in_integers {
            let _ = writeln!(text, " M{} 'MARKER' 'INTEND'", marker + 1);
        }
        self.write_limits(&mut text);
        text.push_str("ENDATA\n");
        text
    }

    fn write_limits(&self, text: &mut String) {
        text.push_str("RHS\n");
        for row in &self.rows {
            let limit = if row.high.is_finite() { row.high } else { row.low };
            if limit != 0.0 {
                let _ = writeln!(text, " rhs {} {limit}", row.name);
            }
        }
        text.push_str("RANGES\n");
        for row in &self.rows {
            if !row.is_equation() && row.low.is_finite() && row.high.is_finite() {
                let _ = writeln!(text, " rng {} {}", row.name, row.high - row.low);
            }
        }
        text.push_str("BOUNDS\n");
        for column in &self.columns {
            if column.high.is_finite() {
                let _ = writeln!(text, " UP bnd {} {}", column.name, column.high);
            } else if column.integer {
                // Without a bound, readers disagree on whether an integer column stops at 1.
                let _ = writeln!(text, " PL bnd {}", column.name);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn mps_names_every_part() {
        let mut program = Program::default();
        let plants = program.column("plants".into(), f64::INFINITY, true, 0.5);
        let short = program.column("short".into(), 9.0, false, 2.0);
        program.row(
            "supply".into(),
            vec![(plants, 100.0), (short, 1.0), (plants, 10.0)],
            300.0,
            f64::INFINITY,
        );
        program.row("holes".into(), vec![(plants, 1.0)], 1.0, 4.0);
        let expected = "NAME sowtide\nROWS\n N points\n G supply\n L holes\nCOLUMNS\n M1 'MARKER' 'INTORG'\n \
             plants points 0.5\n plants supply 110\n plants holes 1\n M2 'MARKER' 'INTEND'\n short points 2\n \
             short supply 1\nRHS\n rhs supply 300\n rhs holes 4\nRANGES\n rng holes 3\nBOUNDS\n PL bnd plants\n \
             UP bnd short 9\nENDATA\n";
        assert_eq!(program.to_mps(), expected);
        assert_eq!(program.nonzeros(), 3);
    }
}
