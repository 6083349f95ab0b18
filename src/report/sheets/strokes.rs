//! Words, lines and hatching of drawings in mm.

use maud::{Markup, html};
use std::fmt::Write;

/// Slanting lines within a box, as a path.
pub(in crate::report) fn slants(left: f64, right: f64, top: f64, height: f64) -> String {
    let mut path = String::new();
    let mut x = left;
    while x < right {
        let run = (right - x).min(height);
        // Writing to a string cannot fail.
        let _ = write!(path, "M{x:.1} {:.1}l{run:.1} {:.1}", top + height, -run);
        x += 2.4;
    }
    path
}

/// A word that begins there.
pub(in crate::report) fn word(text: &str, x: f64, y: f64, weight: &str) -> Markup {
    html! {
        text x=(format!("{x:.2}")) y=(format!("{y:.2}")) font-weight=(weight) { (text) }
    }
}

/// Text with its middle there, legible on lines.
pub(in crate::report) fn middle_word(text: &str, x: f64, y: f64) -> Markup {
    html! {
        text x=(format!("{x:.2}")) y=(format!("{y:.2}")) text-anchor="middle" stroke="#fff" stroke-width="0.8"
            paint-order="stroke" { (text) }
    }
}

/// A black line so wide.
pub(in crate::report) fn line(x1: f64, y1: f64, x2: f64, y2: f64, width: f64) -> Markup {
    html! {
        path d=(format!("M{x1:.2} {y1:.2}L{x2:.2} {y2:.2}")) stroke="#000" stroke-width=(width) fill="none" {}
    }
}
