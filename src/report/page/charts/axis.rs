//! Axes: round numbers upwards, Mondays along.

use super::{BREAK, fill, px, shortened};
use crate::domain::calendar::DaysOff;
use crate::domain::calendar::{DateSpan, Week, days_between, plus_days};
use crate::domain::units::{GRAMS_PER_OUNCE, Units};
use chrono::{Datelike, NaiveDate};
use maud::{Markup, html};

/// The unit of a chart of masses.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::report::page) struct MassUnit {
    /// Its sign, such as `kg`.
    pub(in crate::report::page) sign: &'static str,
    /// How many grams it has.
    pub(in crate::report::page) grams: f64,
}

impl MassUnit {
    /// The unit in which masses up to `most` grams are easy to read.
    pub(in crate::report::page) fn of(most: f64, units: Units) -> Self {
        let pound = 16.0 * GRAMS_PER_OUNCE;
        match units {
            Units::Metric if most < 1000.0 => Self { sign: "g", grams: 1.0 },
            Units::Metric => Self { sign: "kg", grams: 1000.0 },
            Units::Us if most < pound => Self { sign: "oz", grams: GRAMS_PER_OUNCE },
            Units::Us => Self { sign: "lb", grams: pound },
        }
    }
}

/// Where the drawing of the values lies, and what it measures.
#[derive(Debug, Clone, Copy)]
pub(super) struct Plot {
    pub(super) left: f64,
    pub(super) right: f64,
    pub(super) top: f64,
    pub(super) bottom: f64,
    /// Value at the top; that at the bottom is 0.
    pub(super) most: f64,
    /// First day, at the left.
    pub(super) first: NaiveDate,
    /// Days from left to right.
    pub(super) days: f64,
    /// Size of letters.
    pub(super) letters: f64,
}

impl Plot {
    pub(super) fn y(&self, value: f64) -> f64 {
        self.bottom - (self.bottom - self.top) * value / self.most
    }

    /// Where a day begins.
    pub(super) fn x(&self, day: NaiveDate) -> f64 {
        let share = days_between(self.first, day) as f64 / self.days;
        self.left + (self.right - self.left) * share.clamp(0.0, 1.0)
    }

    /// Lines and numbers at round values, `unit` above them.
    pub(super) fn values(&self, unit: &str, whole: bool) -> Markup {
        let step = step(self.most, whole);
        let count = (self.most / step + 1e-9).floor() as usize;
        let decimals = usize::from(step < 1.0) * (-step.log10().floor()).max(0.0) as usize;
        html! {
            @for index in 0..=count {
                @let value = step * index as f64;
                @let y = px(self.y(value));
                path.grid d={ "M" (px(self.left)) " " (y) "H" (px(self.right)) } {}
                text.end x=(px(self.left - 5.0)) y=(px(self.y(value) + 0.35 * self.letters)) {
                    (format!("{value:.decimals$}"))
                }
            }
            text.unit x="2" y=(px(self.letters)) { (unit) }
        }
    }

    /// The days of Mondays, as many as there is room for, the month below where it changes; `title` below them.
    pub(super) fn mondays(&self, title: &str) -> Markup {
        let ticks = self.ticks();
        let line = self.letters * 1.2;
        html! {
            @for (index, monday) in ticks.iter().enumerate() {
                @let x = px(self.x(*monday).max(self.left));
                path.tick d={ "M" (x) " " (px(self.bottom)) "v4" } {}
                text.along x=(x) y=(px(self.bottom + 4.0 + line)) { (monday.day()) }
                @if index == 0 || ticks[index - 1].month() != monday.month() {
                    text.along x=(x) y=(px(self.bottom + 4.0 + 2.0 * line)) { (monday.format("%b")) }
                }
            }
            text.middle x=(px(f64::midpoint(self.left, self.right))) y=(px(self.bottom + 5.0 + 3.2 * line)) {
                (title)
            }
        }
    }

    fn ticks(&self) -> Vec<NaiveDate> {
        let weeks = (self.days / 7.0).ceil().max(1.0);
        let room = (self.right - self.left) / weeks;
        let every = (2.0 * self.letters / room).ceil().max(1.0) as usize;
        let first = Week::of(self.first);
        std::iter::successors(Some(first), |week| Some(week.next()))
            .map(Week::monday)
            .take_while(|monday| (days_between(self.first, *monday) as f64) < self.days)
            .filter(|monday| *monday >= self.first)
            .step_by(every)
            .collect()
    }

    /// Days off as shaded bands: behind the values with their names where there is room, or as a veil over them.
    pub(super) fn breaks(&self, breaks: &[&DaysOff], veil: bool) -> Markup {
        html! {
            @for off in breaks {
                @let (from, to) = self.band(off.span);
                @if to > from {
                    rect x=(px(from)) y=(px(self.top)) width=(px(to - from)) height=(px(self.bottom - self.top))
                        fill=(fill(BREAK)) class=[veil.then_some("veil")] {
                        title { (off.name) }
                    }
                    @if !veil && to - from >= 1.2 * self.letters {
                        @let (x, y) = (px(f64::midpoint(from, to) + 0.35 * self.letters), px(self.top + 4.0));
                        text.off x=(x) y=(y) transform={ "rotate(-90 " (x) " " (y) ")" } {
                            (shortened(&off.name, 28))
                        }
                    }
                }
            }
        }
    }

    fn band(&self, span: DateSpan) -> (f64, f64) {
        (self.x(span.first), self.x(plus_days(span.last, 1)))
    }
}

/// A step of 1, 2 or 5 times a power of ten that divides `most` into 3 to 7 parts.
pub(in crate::report) fn step(most: f64, whole: bool) -> f64 {
    let rough = most / 6.0;
    let power = 10_f64.powf(rough.log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .map(|times| times * power)
        .find(|step| *step >= rough * (1.0 - 1e-9))
        .unwrap_or(10.0 * power);
    if whole { step.max(1.0) } else { step }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_are_round() {
        for (most, round) in [(9.5, 2.0), (0.6, 0.1), (1300.0, 500.0), (72.0, 20.0), (6.0, 1.0)] {
            assert!((step(most, false) - round).abs() < 1e-9, "{most}: {}", step(most, false));
        }
        assert!((step(3.0, true) - 1.0).abs() < 1e-9);
    }

    #[test]
    fn units_suit_the_amount() {
        assert_eq!(MassUnit::of(999.0, Units::Metric).sign, "g");
        assert_eq!(MassUnit::of(1000.0, Units::Metric).sign, "kg");
        assert_eq!(MassUnit::of(400.0, Units::Us).sign, "oz");
        assert_eq!(MassUnit::of(4000.0, Units::Us).sign, "lb");
    }
}
