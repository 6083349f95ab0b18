//! Bars along, one below the other, each under its own words.

use super::{Drawing, WIDE, fill, px, shortened};
use maud::html;

/// One bar.
pub(in crate::report::page) struct Bar {
    /// Written above it.
    pub(in crate::report::page) words: String,
    /// What it is filled with.
    pub(in crate::report::page) ink: String,
    /// Its plain piece.
    pub(in crate::report::page) plain: f64,
    /// Its piece with a dark stripe.
    pub(in crate::report::page) striped: f64,
}

/// Draws bars whose longest takes the full width.
pub(in crate::report::page) fn bars(bars: &[Bar]) -> Drawing {
    const ROW: f64 = 38.0;
    let longest = bars.iter().map(|bar| bar.plain + bar.striped).fold(0.0, f64::max);
    let length = |value: f64| if longest > 0.0 { (WIDE - 4.0) * value / longest } else { 0.0 };
    let shapes = html! {
        @for (row, bar) in bars.iter().enumerate() {
            @let y = ROW * row as f64;
            @let (plain, striped) = (length(bar.plain), length(bar.striped));
            text x="2" y=(px(y + 14.0)) { (shortened(&bar.words, 90)) }
            @if plain > 0.0 {
                rect.edge x="2" y=(px(y + 19.0)) width=(px(plain)) height="14" fill=(fill(&bar.ink)) {}
            }
            @if striped > 0.0 {
                rect.edge x=(px(2.0 + plain)) y=(px(y + 19.0)) width=(px(striped)) height="14"
                    fill=(fill(&bar.ink)) {}
                rect.stripe x=(px(2.0 + plain)) y=(px(y + 29.0)) width=(px(striped)) height="4" {}
            }
        }
    };
    Drawing { width: WIDE, height: ROW * bars.len().max(1) as f64 + 2.0, shapes }
}
