//! Single values: names, dates, numbers, shares, masses and lengths.

use super::{Entries, Noted, Reading, shorten};
use crate::domain::ids::is_plain;
use crate::domain::text;
use crate::domain::units::{Length, Mass, QuantityError, Volume};
use crate::files::problem::suggest;
use crate::files::tree::Node;
use chrono::{Datelike, NaiveDate, Weekday};
use std::fmt;
use std::ops::{Range, RangeInclusive};
use std::str::FromStr;

impl Reading {
    /// A value that may be left out.
    pub(in crate::files) fn optional<T>(
        &mut self,
        entries: &Entries<'_>,
        key: &str,
        read: impl Fn(&mut Self, &Node) -> Option<T>,
    ) -> Result<Option<T>, Noted> {
        entries.get(key).map(|node| read(self, node).ok_or(Noted)).transpose()
    }

    /// A name for people: one line of at most 80 characters, nothing hidden in it.
    pub(in crate::files) fn name(&mut self, node: &Node) -> Option<String> {
        let text = self.fit(node)?;
        if text.chars().count() > 80 {
            self.note(&node.span, "this name does not fit on a sheet", "use at most 80 letters on one line");
            return None;
        }
        Some(text.to_owned())
    }

    /// A text for people, on one line and with nothing hidden in it.
    pub(in crate::files) fn fit<'n>(&mut self, node: &'n Node) -> Option<&'n str> {
        let text = self.text(node)?;
        if let Err(unfit) = text::check(text) {
            self.note(&node.span, unfit.to_string(), unfit.help());
            return None;
        }
        Some(text)
    }

    /// A short name for files.
    pub(in crate::files) fn id<'n>(&mut self, node: &'n Node) -> Option<&'n str> {
        let text = self.text(node)?;
        if is_plain(text) {
            return Some(text);
        }
        let help = "use 1 to 40 lower-case letters a to z, digits and hyphens, such as room-12";
        self.note(&node.span, format!("\"{}\" cannot be a short name", shorten(text)), help);
        None
    }

    /// A date as year, month and day, from 2000 to 2199.
    pub(in crate::files) fn date(&mut self, node: &Node) -> Option<NaiveDate> {
        let text = self.text(node)?;
        self.date_in(&node.span, text)
    }

    /// A date in a text that stands at `span`.
    pub(in crate::files) fn date_in(&mut self, span: &Range<usize>, text: &str) -> Option<NaiveDate> {
        match date_of(text) {
            Ok(date) => Some(date),
            Err(help) => {
                let title = format!("\"{}\" is not a date", shorten(text));
                self.note(span, title, help);
                None
            }
        }
    }

    /// Days of the week, one or a list of several, none of them twice.
    pub(in crate::files) fn weekdays(&mut self, node: &Node) -> Option<Vec<Weekday>> {
        let items = Self::items(node);
        let mut days = Vec::new();
        for item in items {
            let Some(day) = self.weekday(item) else { continue };
            if days.contains(&day) {
                self.note(&item.span, "this weekday is listed twice", "name each once");
            } else {
                days.push(day);
            }
        }
        // Every mistake is told, and not just the first.
        (days.len() == items.len()).then_some(days)
    }

    /// A day of the week, in full or by its first three or more letters.
    fn weekday(&mut self, node: &Node) -> Option<Weekday> {
        const DAYS: [(&str, Weekday); 7] = [
            ("Monday", Weekday::Mon),
            ("Tuesday", Weekday::Tue),
            ("Wednesday", Weekday::Wed),
            ("Thursday", Weekday::Thu),
            ("Friday", Weekday::Fri),
            ("Saturday", Weekday::Sat),
            ("Sunday", Weekday::Sun),
        ];
        let text = self.text(node)?;
        let short = text.to_lowercase();
        let found = DAYS.iter().find(|(name, _)| short.len() >= 3 && name.to_lowercase().starts_with(&short));
        if found.is_none() {
            let title = format!("\"{}\" is not a weekday", shorten(text));
            let help = if text.contains(',') {
                format!("write several days in brackets: [{text}]")
            } else {
                suggest(text, DAYS.iter().map(|(name, _)| *name))
            };
            self.note(&node.span, title, help);
        }
        found.map(|(_, day)| *day)
    }

    /// A number with a decimal point within limits.
    pub(in crate::files) fn number(&mut self, node: &Node, limits: RangeInclusive<f64>) -> Option<f64> {
        let text = self.text(node)?;
        let help = format!("write a number from {} to {}", limits.start(), limits.end());
        let Some(value) = plain_number(text) else {
            self.note(&node.span, format!("\"{}\" is not a number", shorten(text)), help);
            return None;
        };
        self.within(node, value, &limits, help)
    }

    /// A whole number within limits.
    pub(in crate::files) fn whole(&mut self, node: &Node, limits: RangeInclusive<u32>) -> Option<u32> {
        let text = self.text(node)?;
        let help = format!("write a whole number from {} to {}", limits.start(), limits.end());
        match plain_number(text) {
            Some(value) if value.fract() == 0.0 => {
                let wide = f64::from(*limits.start())..=f64::from(*limits.end());
                self.within(node, value, &wide, help).map(|value| value as u32)
            }
            _ => {
                self.note(&node.span, format!("\"{}\" is not a whole number", shorten(text)), help);
                None
            }
        }
    }

    /// A share such as `40 %`, returned as 0.4, within limits in per cent.
    pub(in crate::files) fn percent(&mut self, node: &Node, limits: RangeInclusive<f64>) -> Option<f64> {
        let text = self.text(node)?;
        let (least, most) = (limits.start(), limits.end());
        // Who wrote 80 or 0.8 is told to write 80 %.
        let hundredth = |number: f64| if number < 1.0 { (number * 10_000.0).round() / 100.0 } else { number };
        let meant = plain_number(text).map(hundredth).filter(|meant| limits.contains(meant) && *meant > 0.0);
        let such = meant.unwrap_or(40_f64.clamp(*least, *most));
        let help = format!("write a share from {least} % to {most} %, such as {such} %");
        let Some(value) = text.strip_suffix('%').and_then(|number| plain_number(number.trim())) else {
            self.note(&node.span, format!("\"{}\" is not a share in per cent", shorten(text)), help);
            return None;
        };
        self.within(node, value, &limits, help).map(|percent| percent / 100.0)
    }

    /// A mass with its unit, above 0 g.
    pub(in crate::files) fn mass(&mut self, node: &Node) -> Option<Mass> {
        let text = self.text(node)?;
        self.mass_in(&node.span, text)
    }

    /// A mass above 0 g in a text that stands at `span`.
    pub(in crate::files) fn mass_in(&mut self, span: &Range<usize>, text: &str) -> Option<Mass> {
        let mass: Mass = self.quantity(span, text, "a mass")?;
        if mass.grams() >= 0.1 {
            return Some(mass);
        }
        self.note(span, "this is nothing to eat", "write a mass above 0 g");
        None
    }

    /// A length with its unit, within limits in cm.
    pub(in crate::files) fn length(&mut self, node: &Node, limits: RangeInclusive<f64>) -> Option<f64> {
        let text = self.text(node)?;
        let length: Length = self.quantity(&node.span, text, "a length")?;
        let help = format!("write a length from {} cm to {} cm", limits.start(), limits.end());
        self.within(node, length.cm(), &limits, help)
    }

    /// A volume with its unit, in litres, within limits in litres.
    pub(in crate::files) fn volume(&mut self, node: &Node, limits: RangeInclusive<f64>) -> Option<f64> {
        let text = self.text(node)?;
        let volume: Volume = self.quantity(&node.span, text, "a volume")?;
        let help = format!("write a volume from {} to {} litres", limits.start(), limits.end());
        self.within(node, volume.litres(), &limits, help)
    }

    /// One of a few words.
    pub(in crate::files) fn choice<T: Copy>(&mut self, node: &Node, choices: &[(&str, T)]) -> Option<T> {
        self.word(node, choices, |text| suggest(text, choices.iter().map(|(word, _)| *word)))
    }

    /// `yes` or `no`, in any of the ways people write it in YAML.
    pub(in crate::files) fn yes_no(&mut self, node: &Node) -> Option<bool> {
        let words =
            [("yes", true), ("no", false), ("true", true), ("false", false), ("on", true), ("off", false)];
        self.word(node, &words, |_| "write yes or no".to_owned())
    }

    /// One of some words; `mend` says what to write instead of another one.
    fn word<T: Copy>(
        &mut self,
        node: &Node,
        words: &[(&str, T)],
        mend: impl FnOnce(&str) -> String,
    ) -> Option<T> {
        let text = self.text(node)?;
        let wanted = text.to_lowercase().replace('-', " ");
        if let Some((_, value)) = words.iter().find(|(word, _)| *word == wanted) {
            return Some(*value);
        }
        self.note(&node.span, format!("\"{}\" is not known here", shorten(text)), mend(text));
        None
    }

    fn quantity<T: FromStr<Err = QuantityError>>(
        &mut self,
        span: &Range<usize>,
        text: &str,
        what: &str,
    ) -> Option<T> {
        match text.parse() {
            Ok(quantity) => Some(quantity),
            Err(error) => {
                let title = format!("\"{}\" is not {what}", shorten(text));
                self.note(span, title, error.to_string());
                None
            }
        }
    }

    fn within(
        &mut self,
        node: &Node,
        value: f64,
        limits: &RangeInclusive<f64>,
        help: impl fmt::Display,
    ) -> Option<f64> {
        if limits.contains(&value) {
            return Some(value);
        }
        let side = if value < *limits.start() { "small" } else { "large" };
        self.note(&node.span, format!("this is too {side}"), help.to_string());
        None
    }
}

/// Digits, perhaps with a sign and a decimal point; nothing else counts as a number.
fn plain_number(text: &str) -> Option<f64> {
    let digits = text.strip_prefix(['-', '+']).unwrap_or(text);
    let plain = digits.starts_with(|c: char| c.is_ascii_digit())
        && digits.bytes().all(|byte| byte.is_ascii_digit() || byte == b'.');
    if plain { text.parse().ok() } else { None }
}

fn date_of(text: &str) -> Result<NaiveDate, String> {
    let parts: Vec<&str> = text.split('-').collect();
    let [year, month, day] = parts[..] else {
        return Err("write year-month-day, such as 2026-09-01".to_owned());
    };
    let digits = |part: &str, count: usize| part.len() == count && part.bytes().all(|b| b.is_ascii_digit());
    if !(digits(year, 4) && digits(month, 2) && digits(day, 2)) {
        return Err("write year-month-day with 4, 2 and 2 digits, such as 2026-09-01".to_owned());
    }
    let numbers = (year.parse().ok(), month.parse().ok(), day.parse().ok());
    let (Some(year), Some(month), Some(day)) = numbers else {
        return Err("write year-month-day, such as 2026-09-01".to_owned());
    };
    if !(2000..=2199).contains(&year) {
        return Err("use a year from 2000 to 2199".to_owned());
    }
    NaiveDate::from_ymd_opt(year, month, day).ok_or_else(|| no_such_day(year, month))
}

fn no_such_day(year: i32, month: u32) -> String {
    let last = (28..=31).rev().find_map(|day| NaiveDate::from_ymd_opt(year, month, day));
    match last {
        Some(last) => format!("this month ends on day {}", last.day()),
        None => "months run from 01 to 12; the order is year-month-day".to_owned(),
    }
}
