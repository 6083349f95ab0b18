//! What is in use day by day, against what there is.

use super::axis::Plot;
use super::{Drawing, SMALL, WIDE, fill, px};
use crate::domain::calendar::{DaysOff, plus_days};
use chrono::NaiveDate;
use maud::html;

/// A chart of what is in use.
pub(in crate::report::page) struct Steps<'a> {
    /// What is counted, such as `holes in use`.
    pub(in crate::report::page) unit: &'a str,
    /// First day.
    pub(in crate::report::page) first: NaiveDate,
    /// How many there are.
    pub(in crate::report::page) capacity: u32,
    /// Areas from the back, each with its ink and a number a day; later ones cover earlier ones.
    pub(in crate::report::page) areas: Vec<(&'a str, Vec<u32>)>,
    /// Breaks to shade.
    pub(in crate::report::page) breaks: Vec<&'a DaysOff>,
    /// Whether it takes the full width of the page.
    pub(in crate::report::page) wide: bool,
}

impl Steps<'_> {
    /// Draws it.
    pub(in crate::report::page) fn draw(&self) -> Drawing {
        let (width, height, letters) = if self.wide { (WIDE, 210.0, 12.0) } else { (SMALL, 160.0, 11.0) };
        let days = self.areas.iter().map(|(_, numbers)| numbers.len()).max().unwrap_or(0).max(1);
        let highest = self.areas.iter().flat_map(|(_, numbers)| numbers).max().copied().unwrap_or(0);
        let plot = Plot {
            left: 36.0,
            right: width - 8.0,
            top: 20.0,
            bottom: height - 4.6 * letters,
            most: f64::from(highest.max(self.capacity).max(1)),
            first: self.first,
            days: days as f64,
            letters,
        };
        let full = plot.y(f64::from(self.capacity));
        let shapes = html! {
            (plot.values(self.unit, true))
            @for (ink, numbers) in &self.areas {
                path.edge d=(outline(&plot, numbers)) fill=(fill(ink)) {}
            }
            (plot.breaks(&self.breaks, true))
            path.axis d={ "M" (px(plot.left)) " " (px(plot.bottom)) "H" (px(plot.right)) } {}
            path.capacity d={ "M" (px(plot.left)) " " (px(full)) "H" (px(plot.right)) } {}
            text.end x=(px(plot.right)) y=(px(full - 5.0)) { "all " (self.capacity) }
            (plot.mondays("Mondays"))
        };
        Drawing { width, height, shapes }
    }
}

/// The outline of an area that keeps each day's number until the next day begins.
fn outline(plot: &Plot, numbers: &[u32]) -> String {
    let mut before = None;
    let mut corners: Vec<String> = Vec::new();
    for (index, &number) in numbers.iter().enumerate() {
        if before != Some(number) {
            let x = plot.x(plus_days(plot.first, index as u32));
            corners.push(format!("H{}V{}", px(x), px(plot.y(f64::from(number)))));
            before = Some(number);
        }
    }
    let (left, right, bottom) = (px(plot.left), px(plot.right), px(plot.bottom));
    format!("M{left} {bottom}{}H{right}V{bottom}Z", corners.concat())
}
