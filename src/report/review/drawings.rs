//! Drawings for the class wall, in mm, black on white.

use crate::domain::crop::Limits;
use crate::domain::plan::NOTICEABLE;
use crate::domain::review::{Band, Guess, Masses, Quantity, Tally};
use crate::domain::units::{CM_PER_INCH, GRAMS_PER_OUNCE, Units};
use crate::report::look::Look;
use crate::report::page::charts::step;
use crate::report::sheets::strokes::{line, slants, word};
use maud::{Markup, html};

/// Size of letters.
const LETTERS: f64 = 4.2;
/// Height of a bar.
const BAR: f64 = 6.0;
/// Width of a drawing of estimates, and of one over the whole sheet.
const DOTS: f64 = 84.0;
const WIDE: f64 = 178.0;

/// A drawing so large, told in words as well.
fn drawing(label: &str, (width, height): (f64, f64), shapes: &Markup) -> Markup {
    html! {
        svg role="img" aria-label=(label) width=(format!("{width:.1}mm")) height=(format!("{height:.1}mm"))
            viewBox=(format!("0 0 {width:.1} {height:.1}")) font-family="Helvetica, Arial, sans-serif"
            font-size=(format!("{LETTERS:.1}")) { (shapes) }
    }
}

/// Sign of the unit in which a quantity is shown, empty where there is none, and how much of what was measured it is.
pub(super) fn unit(quantity: Quantity, units: Units) -> (&'static str, f64) {
    match (quantity, units) {
        (Quantity::Leaves, _) => ("", 1.0),
        (Quantity::Mass, Units::Metric) => ("g", 1.0),
        (Quantity::Mass, Units::Us) => ("oz", GRAMS_PER_OUNCE),
        (_, Units::Metric) => ("cm", 1.0),
        (_, Units::Us) => ("in", CM_PER_INCH),
    }
}

/// Each estimate as a dot: to the right what was measured, upwards what was thought. On the slanting line an estimate was just
/// right. Slips of the pen are triangles, those far beyond all others at the upper edge.
pub(super) fn dots(quantity: Quantity, guesses: &[&Guess], look: &Look) -> Markup {
    const LEFT: f64 = 15.0;
    const RIGHT: f64 = DOTS - 4.5;
    const TOP: f64 = 7.0;
    const BOTTOM: f64 = 50.0;
    let (sign, unit) = unit(quantity, look.units);
    let meant = guesses.iter().filter(|guess| !guess.is_slip()).map(|guess| guess.estimate);
    let highest = guesses.iter().map(|guess| guess.found).chain(meant).fold(0.0, f64::max) / unit;
    let step = step(highest.max(1e-3), quantity == Quantity::Leaves);
    let most = step * (highest * 1.02 / step).ceil();
    let x = |value: f64| LEFT + (RIGHT - LEFT) * value / most;
    let y = |value: f64| BOTTOM - (BOTTOM - TOP) * value / most;
    let marks: Vec<f64> = (0..=(most / step).round() as usize).map(|mark| step * mark as f64).collect();
    // Along the lower edge there is room for half a dozen numbers.
    let every = marks.len().div_ceil(7);
    let decimals = usize::from(step < 1.0);
    let measured = if sign.is_empty() { "counted".to_owned() } else { format!("measured, {sign}") };
    let shapes = html! {
        @for mark in &marks {
            path d=(format!("M{LEFT} {0:.2}H{RIGHT}M{1:.2} {TOP}V{BOTTOM}", y(*mark), x(*mark))) stroke="#999"
                stroke-width="0.15" fill="none" {}
            text x=(format!("{:.2}", LEFT - 1.5)) y=(format!("{:.2}", y(*mark) + 1.4)) text-anchor="end" {
                (format!("{mark:.decimals$}"))
            }
        }
        @for mark in marks.iter().step_by(every) {
            text x=(format!("{:.2}", x(*mark))) y=(format!("{:.2}", BOTTOM + 5.0)) text-anchor="middle" {
                (format!("{mark:.decimals$}"))
            }
        }
        (line(x(0.0), y(0.0), x(most), y(most), 0.6))
        (plate("guessed too high", LEFT + 2.0, TOP + 5.5, "start"))
        (plate("guessed too low", RIGHT - 2.0, BOTTOM - 2.5, "end"))
        (word("guessed", 0.0, 4.2, "bold"))
        text x=(format!("{RIGHT:.2}")) y=(format!("{:.2}", BOTTOM + 10.5)) text-anchor="end" font-weight="bold" { (measured) }
        @for guess in guesses {
            @let (found, estimate) = (guess.found / unit, guess.estimate / unit);
            @if guess.is_slip() {
                path d=(format!("M{:.2} {:.2}l-1.4 2.8h2.8z", x(found), y(estimate.min(most)) - 1.0)) fill="#000" {}
            } @else {
                circle cx=(format!("{:.2}", x(found))) cy=(format!("{:.2}", y(estimate))) r="1.25" fill="#fff" fill-opacity="0.6"
                    stroke="#000" stroke-width="0.55" {}
            }
        }
    };
    drawing("Estimates against measurements", (DOTS, BOTTOM + 12.0), &shapes)
}

/// Words on white, so that no line runs through them.
fn plate(text: &str, x: f64, y: f64, anchor: &str) -> Markup {
    html! {
        text x=(format!("{x:.2}")) y=(format!("{y:.2}")) text-anchor=(anchor) stroke="#fff" stroke-width="1.2"
            paint-order="stroke" { (text) }
    }
}

/// For each crop a drawing of what was planned, white, and what was weighed, black; hatched, of the plan, what nobody wrote down.
pub(super) fn bars(crops: &[(&str, Masses)], look: &Look) -> Vec<Markup> {
    let longest = crops.iter().map(|(_, mass)| mass.planned.max(mass.weighed)).fold(NOTICEABLE, f64::max);
    crops.iter().map(|(name, mass)| crop_bars(name, mass, longest, look)).collect()
}

fn crop_bars(name: &str, mass: &Masses, longest: f64, look: &Look) -> Markup {
    // Behind the longest bar there is room for its words.
    let length = |grams: f64| (WIDE - 46.0) * grams / longest;
    let (planned, weighed) = (length(mass.planned), length(mass.weighed));
    let known = length((mass.planned - mass.unrecorded).max(0.0));
    let shapes = html! {
        (word(name, 0.0, 5.0, "bold"))
        (bar(planned, 7.0, "#fff"))
        path d=(slants(known, planned, 7.0, BAR)) stroke="#000" stroke-width="0.3" fill="none" {}
        (word(&format!("planned {}", look.grams(mass.planned)), planned + 2.0, 11.6, "normal"))
        (bar(weighed, 7.0 + BAR, "#000"))
        (word(&format!("weighed {}", look.grams(mass.weighed)), weighed + 2.0, 11.6 + BAR, "normal"))
    };
    drawing(&format!("Planned and weighed: {name}"), (WIDE, 23.0), &shapes)
}

fn bar(width: f64, top: f64, fill: &str) -> Markup {
    html! {
        rect x="0.25" y=(format!("{top:.2}")) width=(format!("{:.2}", width.max(0.3))) height=(BAR) fill=(fill) stroke="#000"
            stroke-width="0.5" {}
    }
}

/// For each stage of plants their share as a dot with its limits, on the hatched band of the crop library.
pub(super) fn shares(stages: &[(&str, Tally)]) -> Markup {
    const ROW: f64 = 19.0;
    const BOTTOM: f64 = 9.0;
    let height = ROW * stages.len() as f64 + BOTTOM;
    let x = |share: f64| 6.0 + (WIDE - 14.0) * share;
    let shapes = html! {
        @for tenth in 0..=10_u32 {
            @let at = x(f64::from(tenth) / 10.0);
            path d=(format!("M{at:.2} 8V{:.2}", height - BOTTOM)) stroke="#999" stroke-width="0.15" fill="none" {}
            text x=(format!("{at:.2}")) y=(format!("{:.2}", height - 3.0)) text-anchor="middle" { (tenth * 10) "%" }
        }
        @for (row, (name, tally)) in stages.iter().enumerate() {
            @let top = ROW * row as f64;
            @let Band { low, high, .. } = tally.band();
            (plate(&format!("{name}: {} of {}", tally.count, tally.of), 0.0, top + 5.5, "start"))
            rect x=(format!("{:.2}", x(low))) y=(format!("{:.2}", top + 8.0)) width=(format!("{:.2}", x(high) - x(low))) height="8"
                fill="#fff" stroke="#000" stroke-width="0.3" {}
            path d=(slants(x(low), x(high), top + 8.0, 8.0)) stroke="#000" stroke-width="0.2" fill="none" {}
            @if let Some(Limits { low, high }) = tally.limits() { (whisker(x(low), x(high), top + 12.0)) }
            circle cx=(format!("{:.2}", x(tally.share()))) cy=(format!("{:.2}", top + 12.0)) r="2.2" fill="#000" stroke="#fff"
                stroke-width="0.5" {}
        }
    };
    drawing("Shares that came up and lived", (WIDE, height), &shapes)
}

/// A line with a stroke at each end, on white so that it shows on hatching.
fn whisker(from: f64, to: f64, y: f64) -> Markup {
    let path = format!("M{from:.2} {y:.2}H{to:.2}M{from:.2} {:.2}v5M{to:.2} {:.2}v5", y - 2.5, y - 2.5);
    html! {
        path d=(path) stroke="#fff" stroke-width="2" fill="none" {}
        path d=(path) stroke="#000" stroke-width="0.8" fill="none" {}
    }
}

/// What the signs of [`shares`] mean.
pub(super) fn legend() -> Markup {
    let key = |shapes: Markup| html! { svg width="10mm" height="6mm" viewBox="0 0 10 6" aria-hidden="true" { (shapes) } };
    html! {
        p.legend {
            span { (key(html! { circle cx="5" cy="3" r="2.2" {} })) "what we counted" }
            span { (key(whisker(1.0, 9.0, 3.0))) "where it would lie, 19 times in 20, if we counted many more" }
            span {
                (key(html! {
                    rect x="0.5" y="0.5" width="9" height="5" fill="#fff" stroke="#000" stroke-width="0.3" {}
                    path d=(slants(0.5, 9.5, 0.5, 5.0)) stroke="#000" stroke-width="0.2" fill="none" {}
                }))
                "what the crop library says"
            }
        }
    }
}
