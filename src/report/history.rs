//! The plans of a term, oldest first: why each was made and how good it was.

use super::grid::Grid;
use super::look::{Look, Mood};
use crate::domain::plan::{NOTICEABLE, Plan, Serving};
use chrono::NaiveDate;

/// A plan in a few figures.
#[derive(Debug, Clone, PartialEq)]
pub struct Past {
    /// Its number.
    pub number: u32,
    /// The day it was made.
    pub day: NaiveDate,
    /// Why it was made.
    pub reason: String,
    /// What it costs, in points of the term's weights of its time.
    pub points: f64,
    /// Grams short in all.
    pub short_grams: f64,
    /// Whether it is the plan that counts.
    pub newest: bool,
}

impl Past {
    /// The figures of a plan. `day` is the day of `plan.made` where the reader lives.
    pub fn new(plan: &Plan, day: NaiveDate, newest: bool) -> Self {
        Self {
            number: plan.revision,
            day,
            reason: plan.reason.clone(),
            points: plan.facts.cost,
            short_grams: plan.servings.iter().map(Serving::short).sum(),
            newest,
        }
    }
}

/// The table, one row a plan.
pub fn table(plans: &[Past], look: &Look) -> String {
    let mut grid = Grid::new(look, &["Plan", "Made", "Why", "Points", "Short"]).right(&[0, 3, 4]);
    for plan in plans {
        let short = if plan.short_grams < NOTICEABLE { "-".to_owned() } else { look.grams(plan.short_grams) };
        let mark = if plan.newest { look.paint(Mood::Good, "(newest)") } else { String::new() };
        grid.row([
            plan.number.to_string(),
            plan.day.to_string(),
            format!("{} {mark}", plan.reason).trim().to_owned(),
            format!("{:.1}", plan.points),
            short,
        ]);
    }
    grid.draw(look)
}
