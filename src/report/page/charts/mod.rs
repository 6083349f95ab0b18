//! Charts as inline SVG, drawn for paper and screen alike.
//!
//! A drawing is laid out for a fixed width and scaled to the page; wide ones scroll in a box of their own where a
//! screen is narrower than they can be read, small ones fit a phone. Everything a colour says is
//! also said by tone, pattern, shape or words.

mod axis;
mod bars;
mod columns;
mod ink;
mod steps;

pub(super) use axis::MassUnit;
pub(in crate::report) use axis::step;
pub(super) use bars::{Bar, bars};
pub(super) use columns::{Column, Columns, Segment};
pub(super) use ink::{BREAK, CELLS, HARVEST, KEPT_EMPTY, PLANTED, SOW, SURPLUS, TRANSPLANT, crop_ink, inks};
pub(super) use steps::Steps;

use maud::{Markup, html};

/// Units a drawing over the full width of the page is wide.
const WIDE: f64 = 640.0;
/// Units a drawing is wide of which two or more stand beside each other.
const SMALL: f64 = 320.0;

/// A drawing without its frame.
pub(super) struct Drawing {
    width: f64,
    height: f64,
    shapes: Markup,
}

/// What stands around a drawing.
pub(super) struct Figure<'a> {
    /// Unique in the page; ids of parts begin with it.
    pub(super) id: &'a str,
    /// Heading above the chart.
    pub(super) heading: &'a str,
    /// What the chart is, for those who cannot see where it stands.
    pub(super) title: &'a str,
    /// What the chart shows, in a sentence or two, for those who cannot see it.
    pub(super) description: &'a str,
    /// Legend and remarks that belong to the chart.
    pub(super) below: Markup,
    /// The chart's figures.
    pub(super) table: Table,
}

/// Figures to read instead of a chart.
pub(super) struct Table {
    /// Headings of the columns; the first column names the row.
    pub(super) head: Vec<String>,
    /// Number of columns at the end that hold words instead of figures.
    pub(super) words: usize,
    /// The rows.
    pub(super) rows: Vec<Vec<String>>,
}

/// The chart with its heading, legend and figures.
pub(super) fn figure(figure: &Figure, drawing: &Drawing) -> Markup {
    let (title_id, text_id) = (format!("{}-title", figure.id), format!("{}-text", figure.id));
    let view = format!("0 0 {} {}", px(drawing.width), px(drawing.height));
    let wide = drawing.width > SMALL;
    html! {
        div.chart id=(figure.id) {
            figure {
                figcaption { h3 { (figure.heading) } }
                div.box tabindex=[wide.then_some("0")] role="group" aria-label=(figure.title) {
                    svg class=(if wide { "wide" } else { "small" }) viewBox=(view) role="img" aria-labelledby={ (title_id) " " (text_id) } {
                        title id=(title_id) { (figure.title) }
                        desc id=(text_id) { (figure.description) }
                        (drawing.shapes)
                    }
                }
                @if wide { p.hint { "Move the chart sideways to see all of it." } }
                (figure.below)
            }
            details {
                summary { "Figures of this chart" }
                (table(&figure.table, figure.title))
            }
        }
    }
}

fn table(table: &Table, title: &str) -> Markup {
    let words_from = table.head.len() - table.words;
    let class = |column: usize| match column {
        0 => None,
        _ if column < words_from => Some("n"),
        _ => Some("words"),
    };
    html! {
        div.box tabindex="0" role="group" aria-label={ "Figures of: " (title) } {
            table {
                thead { tr {
                    @for (column, heading) in table.head.iter().enumerate() {
                        th scope="col" class=[class(column)] { (heading) }
                    }
                } }
                tbody {
                    @for row in &table.rows {
                        tr {
                            @for (column, cell) in row.iter().enumerate() {
                                @if column == 0 { th scope="row" { (cell) } }
                                @else { td class=[class(column)] { (cell) } }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// One entry of a legend: a sample of an ink, and what it means.
pub(super) fn key(ink: &str, words: &str) -> Markup {
    html! {
        li {
            svg.key viewBox="0 0 26 16" aria-hidden="true" {
                rect.edge x="1" y="1" width="24" height="14" fill=(fill(ink)) {}
            }
            (words)
        }
    }
}

/// One entry of a legend for something that is no area: a drawing 26 units wide and 16 high.
pub(super) fn key_shape(shape: &Markup, words: &str) -> Markup {
    html! { li { svg.key viewBox="0 0 26 16" aria-hidden="true" { (shape) } (words) } }
}

fn fill(ink: &str) -> String {
    format!("url(#{ink})")
}

/// A coordinate with one decimal at most, so that pages stay small and the same everywhere.
fn px(value: f64) -> String {
    let text = format!("{value:.1}");
    let text = text.strip_suffix(".0").unwrap_or(&text);
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

/// Text short enough for its place.
fn shortened(text: &str, most: usize) -> String {
    if text.chars().count() <= most {
        return text.to_owned();
    }
    let kept: String = text.chars().take(most.saturating_sub(1)).collect();
    format!("{}\u{2026}", kept.trim_end())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn coordinates_are_short() {
        for (value, text) in [(0.0, "0"), (-0.01, "0"), (3.04, "3"), (3.06, "3.1"), (-7.25, "-7.2")] {
            assert_eq!(px(value), text);
        }
    }

    #[test]
    fn long_names_are_cut_between_letters() {
        assert_eq!(shortened("Übergroß", 8), "Übergroß");
        assert_eq!(shortened("Übergroße Blätter", 11), "Übergroße\u{2026}");
    }
}
