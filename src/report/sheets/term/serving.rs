//! The serving days above the tanks: what to expect of each, and how sure it is.

use super::{LETTERS, Scale, WEEK_HEAD};
use crate::domain::odds::DayOdds;
use crate::domain::units::{GRAMS_PER_OUNCE, Units};
use crate::report::odds::of_ten;
use crate::report::sheets::Setting;
use crate::report::sheets::strokes::{line, middle_word, word};
use maud::{Markup, html};

/// Height of its two lines, mm.
const HEIGHT: f64 = 9.0;
/// Room that a mass needs, and the terms out of ten, mm.
const MASS: f64 = 8.0;
const TERMS: f64 = 4.0;

/// Height of it on a page; nothing where nobody knows the odds, or the days stand too close to be told.
pub(super) fn height(setting: &Setting<'_>, scale: Scale) -> f64 {
    if days(setting, scale).is_empty() { 0.0 } else { HEIGHT }
}

/// Serving days of a page with their odds, where there is room for them.
fn days<'a>(setting: &Setting<'a>, scale: Scale) -> Vec<&'a DayOdds> {
    let all = setting.wish.odds.iter().flat_map(|odds| &odds.days);
    let days: Vec<&DayOdds> = all.filter(|day| scale.span.contains(day.date)).collect();
    if nearest(&days, scale) < TERMS { Vec::new() } else { days }
}

/// How far the two nearest days stand apart, mm.
fn nearest(days: &[&DayOdds], scale: Scale) -> f64 {
    days.windows(2).map(|two| scale.x(two[1].date) - scale.x(two[0].date)).fold(f64::INFINITY, f64::min)
}

/// The lines, right below the weeks.
pub(super) fn lines(setting: &Setting<'_>, scale: Scale) -> Markup {
    let days = days(setting, scale);
    let (unit, name) = match setting.wish.units {
        Units::Metric => (1000.0, "kg"),
        Units::Us => (16.0 * GRAMS_PER_OUNCE, "lb"),
    };
    let heaviest = days.iter().map(|day| day.mean / unit).fold(0.0, f64::max);
    let digits = if heaviest < 1.0 { 2 } else { 1 };
    let (first, second) = (WEEK_HEAD + 3.6, WEEK_HEAD + 7.6);
    html! {
        @if !days.is_empty() {
            (line(0.0, WEEK_HEAD, scale.width(), WEEK_HEAD, 0.3))
            (word(&format!("to serve, {name}"), 0.0, first, "bold"))
            (word("sure, of 10", 0.0, second, "bold"))
            @for day in &days {
                @let x = scale.middle(day.date);
                @if nearest(&days, scale) >= MASS {
                    (middle_word(&format!("{:.digits$}", day.mean / unit), x, first))
                }
                (middle_word(&terms(day), x, second))
            }
        }
    }
}

fn terms(day: &DayOdds) -> String {
    match of_ten(day.reached) {
        0 => "<1".to_owned(),
        10 => ">9".to_owned(),
        terms => terms.to_string(),
    }
}

/// What the lines mean; nothing where they are not.
pub(super) fn legend(setting: &Setting<'_>, scale: Scale) -> Markup {
    let shown = height(setting, scale) > 0.0;
    html! {
        @if shown {
            p.legend style=(format!("font-size:{LETTERS:.2}mm")) {
                "to serve: what to expect of a serving day; sure: terms of 10 in which its target is reached"
            }
        }
    }
}
