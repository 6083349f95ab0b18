//! Columns by week, stacked, with a target where there is one.

use super::axis::Plot;
use super::{Drawing, SURPLUS, WIDE, fill, px};
use crate::domain::calendar::{DaysOff, Week};
use maud::{Markup, html};

/// A piece of a column.
pub(in crate::report::page) struct Segment {
    /// Its height, in the unit of the axis.
    pub(in crate::report::page) value: f64,
    /// What it is filled with.
    pub(in crate::report::page) ink: String,
    /// Whether it carries a dark stripe.
    pub(in crate::report::page) striped: bool,
    /// Drawn on it where there is room.
    pub(in crate::report::page) label: String,
    /// Shown under the pointer.
    pub(in crate::report::page) hover: String,
}

/// One week.
pub(in crate::report::page) struct Column {
    /// The week.
    pub(in crate::report::page) week: Week,
    /// Its pieces, from below.
    pub(in crate::report::page) stack: Vec<Segment>,
    /// What it should reach; 0 if there is nothing to reach.
    pub(in crate::report::page) target: f64,
    /// What comes in addition and is of no use.
    pub(in crate::report::page) surplus: f64,
    /// From where to where most of what may really come lies, if somebody asked.
    pub(in crate::report::page) band: Option<(f64, f64)>,
    /// Written above it; empty for nothing.
    pub(in crate::report::page) mark: String,
}

/// A chart of columns.
pub(in crate::report::page) struct Columns<'a> {
    /// What the values mean, with their unit.
    pub(in crate::report::page) unit: &'a str,
    /// Every week, without gaps; at least one.
    pub(in crate::report::page) weeks: Vec<Column>,
    /// Breaks to shade.
    pub(in crate::report::page) breaks: Vec<&'a DaysOff>,
}

/// Below this height a piece is too small for its label.
const LABEL_HEIGHT: f64 = 12.0;
/// Width a label needs.
const LABEL_WIDTH: f64 = 15.0;

impl Column {
    fn height(&self) -> f64 {
        let sum: f64 = self.stack.iter().map(|segment| segment.value).sum();
        sum.max(self.target) + self.surplus
    }
}

impl Columns<'_> {
    /// Draws it.
    pub(in crate::report::page) fn draw(&self) -> Drawing {
        const HEIGHT: f64 = 300.0;
        let letters = 12.0;
        let highest = self.weeks.iter().map(Column::height).fold(0.0, f64::max);
        let plot = Plot {
            left: 44.0,
            right: WIDE - 6.0,
            top: 42.0,
            bottom: HEIGHT - 58.0,
            most: if highest > 0.0 { highest } else { 1.0 },
            first: self.weeks.first().map_or(chrono::NaiveDate::MIN, |column| column.week.monday()),
            days: 7.0 * self.weeks.len().max(1) as f64,
            letters,
        };
        let shapes = html! {
            (plot.values(self.unit, false))
            (plot.breaks(&self.breaks, false))
            @for column in &self.weeks { (draw_column(&plot, column)) }
            path.axis d={ "M" (px(plot.left)) " " (px(plot.bottom)) "H" (px(plot.right)) } {}
            (plot.mondays("week beginning on Monday"))
        };
        Drawing { width: WIDE, height: HEIGHT, shapes }
    }
}

fn draw_column(plot: &Plot, column: &Column) -> Markup {
    let (left, right) = (plot.x(column.week.monday()), plot.x(column.week.next().monday()));
    let gap = (0.12 * (right - left)).max(0.5);
    let (from, width) = (left + gap, right - left - 2.0 * gap);
    let mut below = 0.0;
    let sum: f64 = column.stack.iter().map(|segment| segment.value).sum();
    let head = sum.max(column.target);
    html! {
        @for segment in column.stack.iter().filter(|segment| segment.value > 0.0) {
            @let (low, high) = (plot.y(below), plot.y(below + segment.value));
            ({ below += segment.value; draw_segment(segment, (from, width), (low, high)) })
        }
        @if column.target - sum > 0.004 * plot.most {
            rect.missing x=(px(from)) y=(px(plot.y(column.target))) width=(px(width))
                height=(px(plot.y(sum) - plot.y(column.target))) {}
        }
        @if column.surplus > 0.0 {
            rect.edge x=(px(from)) y=(px(plot.y(head + column.surplus))) width=(px(width))
                height=(px(plot.y(head) - plot.y(head + column.surplus))) fill=(fill(SURPLUS)) {}
        }
        @if column.target > 0.0 {
            path.target d={ "M" (px(left)) " " (px(plot.y(column.target))) "H" (px(right)) } {}
        }
        @if let Some(band) = column.band { (draw_band(plot, (from, width), band)) }
        @if !column.mark.is_empty() {
            text.mark x=(px(f64::midpoint(left, right))) y=(px(plot.y(head + column.surplus) - 6.0)) {
                (column.mark)
            }
        }
    }
}

/// A line with a stroke at each end, in white on black so that it shows on any filling.
fn draw_band(plot: &Plot, (from, width): (f64, f64), (low, high): (f64, f64)) -> Markup {
    let (middle, half) = (from + 0.93 * width, (0.05 * width).min(2.0));
    let (low, high) = (plot.y(low), plot.y(high));
    let stroke = |y: f64| format!("M{} {}H{}", px(middle - half), px(y), px(middle + half));
    let line = format!("{}{}M{} {}V{}", stroke(low), stroke(high), px(middle), px(low), px(high));
    html! {
        path.halo d=(line) {}
        path.band d=(line) {}
    }
}

fn draw_segment(segment: &Segment, (from, width): (f64, f64), (low, high): (f64, f64)) -> Markup {
    html! {
        rect.edge x=(px(from)) y=(px(high)) width=(px(width)) height=(px(low - high)) fill=(fill(&segment.ink)) {
            title { (segment.hover) }
        }
        @if segment.striped {
            rect.stripe x=(px(from)) y=(px(high)) width=(px((0.2 * width).min(4.0))) height=(px(low - high)) {}
        }
        @if !segment.label.is_empty() && low - high >= LABEL_HEIGHT && width >= LABEL_WIDTH {
            text.label x=(px(from + 0.5 * width + 1.0)) y=(px(f64::midpoint(low, high) + 3.8)) {
                (segment.label)
            }
        }
    }
}
