//! Serving days and the mass wanted on each.

use super::calendar::{self, Off, shown};
use crate::domain::calendar::{DateSpan, DaysOffKind, plus_days};
use crate::domain::site::Site;
use crate::domain::term::{PROMISED, ServingTarget};
use crate::domain::units::{Mass, Units};
use crate::files::reading::{Entries, Noted, Reading};
use crate::files::tree::{Content, Node};
use chrono::{Datelike, NaiveDate, Weekday};
use std::collections::BTreeMap;
use std::ops::Range;

/// When something can be served: the term and its days off.
struct Calendar<'a> {
    term: DateSpan,
    shared: &'a [Off],
    sites: &'a [Site],
}

/// A weekly target and its exceptions.
struct Weekly {
    every: Vec<Weekday>,
    span: DateSpan,
    grams: Option<f64>,
    serving_grams: Option<f64>,
    /// Chance promised, or nought.
    sure: f64,
    exceptions: Vec<Exception>,
}

struct Exception {
    date: NaiveDate,
    place: Range<usize>,
    /// Nothing is served if absent.
    grams: Option<f64>,
}

/// The target as it was read.
pub(super) struct Target {
    /// All serving days, sorted, one entry a day.
    pub(super) servings: Vec<ServingTarget>,
    /// Grams of one serving, where every part of the target that counts in servings has the same size.
    pub(super) serving_grams: Option<f64>,
}

/// All serving days, and the size of a serving.
pub(super) fn read(
    reading: &mut Reading,
    entries: &Entries<'_>,
    term: Option<DateSpan>,
    shared: &[Off],
    sites: Option<&[Site]>,
) -> Option<Target> {
    let node = reading.need(entries, "target", "target: with every, mass or servings below it")?;
    let blocks: Vec<Option<(Weekly, &Node)>> = Reading::items(node)
        .iter()
        .map(|node| weekly(reading, node, term).map(|weekly| (weekly, node)))
        .collect();
    let blocks: Vec<(Weekly, &Node)> = blocks.into_iter().collect::<Option<_>>()?;
    let calendar = Calendar { term: term?, shared, sites: sites? };
    let mut servings: BTreeMap<NaiveDate, (f64, f64)> = BTreeMap::new();
    for (weekly, node) in &blocks {
        for (date, grams) in calendar.servings(reading, weekly) {
            if servings.insert(date, (grams, weekly.sure)).is_some() {
                let title = format!("{} gets two targets", shown(date));
                reading.note(&node.span, title, "keep the day in only one of them");
            }
        }
    }
    if servings.is_empty() {
        let key = entries.key_span("target");
        reading.note(&key, "there is no serving day in the term", "check weekdays, dates and breaks");
        return None;
    }
    let mut one_serving: Vec<f64> = blocks.iter().filter_map(|(weekly, _)| weekly.serving_grams).collect();
    one_serving.dedup();
    Some(Target {
        servings: servings
            .into_iter()
            .map(|(date, (grams, sure))| ServingTarget { date, grams, sure })
            .collect(),
        serving_grams: if let [size] = one_serving[..] { Some(size) } else { None },
    })
}

fn weekly(reading: &mut Reading, node: &Node, term: Option<DateSpan>) -> Option<Weekly> {
    let keys = ["every", "from", "until", "mass", "servings", "serving", "sure", "exceptions"];
    let entries = reading.map(node, &keys)?;
    let exceptions_node = entries.get("exceptions");
    let every = match entries.get("every") {
        Some(node) => reading.weekdays(node),
        None if exceptions_node.is_some() => Some(Vec::new()),
        None => reading.need(&entries, "every", "every: Thursday").and(None),
    };
    let bound = |reading: &mut Reading, key: &str| match entries.get(key) {
        None => Some(None),
        Some(node) => {
            let day = reading.date(node)?;
            calendar::in_term(reading, &node.span, day, term).then_some(Some(day))
        }
    };
    let (from, until) = (bound(reading, "from"), bound(reading, "until"));
    let serving = entries.get("serving").and_then(|node| reading.mass(node));
    let grams = weekly_grams(reading, &entries, serving, every.as_ref().is_some_and(|days| !days.is_empty()));
    let sure = entries.get("sure").map_or(Some(0.0), |node| sure(reading, node));
    let exceptions = exceptions_node.map_or_else(Vec::new, |node| exceptions(reading, node, serving, term));
    let term = term?;
    let (from, until) = (from?.unwrap_or(term.first), until?.unwrap_or(term.last));
    if until < from {
        let place = entries.get("until").map_or_else(|| entries.span.clone(), |node| node.span.clone());
        reading.note(&place, "the target ends before it begins", format!("write a day from {from} on"));
        return None;
    }
    Some(Weekly {
        every: every?,
        span: DateSpan { first: from, last: until },
        grams: grams.ok()?,
        serving_grams: serving.map(Mass::grams),
        sure: sure?,
        exceptions,
    })
}

/// The chance with which a target is to be reached, or none: `no`.
fn sure(reading: &mut Reading, node: &Node) -> Option<f64> {
    match &node.content {
        Content::Text(text) if text == "no" => Some(0.0),
        _ => reading.percent(node, 100.0 * PROMISED.start()..=100.0 * PROMISED.end()),
    }
}

/// `mass:`, or `servings:` times `serving:`; not needed where only exceptions are served.
fn weekly_grams(
    reading: &mut Reading,
    entries: &Entries<'_>,
    serving: Option<Mass>,
    needed: bool,
) -> Result<Option<f64>, Noted> {
    match (entries.get("mass"), entries.get("servings")) {
        (Some(_), Some(_)) => {
            let place = entries.key_span("servings");
            reading.note(&place, "the target is given both as mass and as servings", "keep one of the two");
            Err(Noted)
        }
        (Some(node), None) => reading.mass(node).map(|mass| Some(mass.grams())).ok_or(Noted),
        (None, Some(node)) => {
            let count = reading.whole(node, 1..=100_000).ok_or(Noted);
            reading.need(entries, "serving", "serving: 40 g, the size of one serving");
            Ok(Some(f64::from(count?) * serving.ok_or(Noted)?.grams()))
        }
        (None, None) if needed => {
            reading.need(entries, "mass", "mass: 2.5 kg (or servings: 60 with serving: 40 g)");
            Err(Noted)
        }
        (None, None) => Ok(None),
    }
}

/// Dates with another target: a mass, a number of servings, or `none`. Those with a mistake are noted
/// and left out.
fn exceptions(
    reading: &mut Reading,
    node: &Node,
    serving: Option<Mass>,
    term: Option<DateSpan>,
) -> Vec<Exception> {
    let Some(entries) = reading.free_map(node, "dates") else {
        return Vec::new();
    };
    let read = entries.iter().filter_map(|(key, node)| {
        let date = reading.date_in(&key.span, &key.text);
        let grams = exception_grams(reading, node, serving);
        let date = date.filter(|date| calendar::in_term(reading, &key.span, *date, term))?;
        Some(Exception { date, place: key.span.clone(), grams: grams.ok()? })
    });
    read.collect()
}

fn exception_grams(reading: &mut Reading, node: &Node, serving: Option<Mass>) -> Result<Option<f64>, Noted> {
    let text = reading.text(node).ok_or(Noted)?.to_lowercase();
    if text == "none" {
        return Ok(None);
    }
    let Some(count) = text.strip_suffix("servings").or_else(|| text.strip_suffix("serving")) else {
        return reading.mass_in(&node.span, &text).map(|mass| Some(mass.grams())).ok_or(Noted);
    };
    let Some(count) = count.trim().parse::<u32>().ok().filter(|count| (1..=100_000).contains(count)) else {
        let help = "write a mass such as 3 kg, a number such as 150 servings, or none";
        reading.note(&node.span, "this is not a number of servings", help);
        return Err(Noted);
    };
    let Some(size) = serving else {
        let help = "add a line such as serving: 40 g to the target, or write a mass here";
        reading.note(&node.span, "it is not said how large a serving is", help);
        return Err(Noted);
    };
    Ok(Some(f64::from(count) * size.grams()))
}

impl Calendar<'_> {
    /// The days and grams of one weekly target.
    fn servings(&self, reading: &mut Reading, weekly: &Weekly) -> BTreeMap<NaiveDate, f64> {
        let mut servings = BTreeMap::new();
        for exception in &weekly.exceptions {
            if let Some(grams) = self.exception(reading, weekly, exception) {
                servings.insert(exception.date, grams);
            }
        }
        let excepted = |day: NaiveDate| weekly.exceptions.iter().any(|exception| exception.date == day);
        let Some(grams) = weekly.grams else {
            return servings;
        };
        let regular =
            weekly.span.days().filter(|day| weekly.every.contains(&day.weekday()) && !excepted(*day));
        for day in regular.filter(|day| self.shared_off(*day, DaysOffKind::Break).is_none()) {
            match self.closed(day) {
                Some(name) => reading.remark(self.falls_away(day, &name, grams)),
                None => {
                    servings.insert(day, grams);
                }
            }
        }
        servings
    }

    fn exception(&self, reading: &mut Reading, weekly: &Weekly, exception: &Exception) -> Option<f64> {
        let day = exception.date;
        let off = self.shared_off(day, DaysOffKind::Break).map(str::to_owned).or_else(|| self.closed(day));
        match (exception.grams, off) {
            (Some(_), Some(name)) => {
                let title = format!("nothing can be served on {}: it lies in \"{name}\"", shown(day));
                let help = match self.open_day_near(day) {
                    Some(open) => format!("choose another day, such as {open}, or write none"),
                    None => "choose a day outside breaks and closures, or write none".to_owned(),
                };
                reading.note(&exception.place, title, help);
                None
            }
            (None, None) if !(weekly.every.contains(&day.weekday()) && weekly.span.contains(day)) => {
                let title = format!("{} is no serving day anyway", shown(day));
                reading.note(&exception.place, title, "correct the date, or remove this line");
                None
            }
            (grams, _) => grams,
        }
    }

    fn shared_off(&self, day: NaiveDate, kind: DaysOffKind) -> Option<&str> {
        let off = self.shared.iter().find(|off| off.days.kind == kind && off.days.span.contains(day));
        off.map(|off| off.days.name.as_str())
    }

    /// What closes every site on `day`, if anything does.
    fn closed(&self, day: NaiveDate) -> Option<String> {
        let reason = |site: &Site| {
            let off = site.days_off.iter().find(|off| off.span.contains(day))?;
            (!site.meets_on(day)).then(|| off.name.clone())
        };
        let reasons: Option<Vec<String>> = self.sites.iter().map(reason).collect();
        reasons?.into_iter().next()
    }

    fn falls_away(&self, day: NaiveDate, name: &str, grams: f64) -> String {
        let lost = format!("Nothing is served on {}: \"{name}\" closes every site.", shown(day));
        match self.open_day_near(day) {
            Some(open) => format!(
                "{lost} To serve on another day, write \"{open}: {}\" under exceptions.",
                Mass::from_grams(grams).show(Units::Metric)
            ),
            None => lost,
        }
    }

    /// The nearest weekday on which greens could be served instead, the days before first.
    fn open_day_near(&self, day: NaiveDate) -> Option<NaiveDate> {
        let open = |candidate: &NaiveDate| {
            self.term.contains(*candidate)
                && candidate.weekday().number_from_monday() <= 5
                && self.shared_off(*candidate, DaysOffKind::Break).is_none()
                && self.closed(*candidate).is_none()
        };
        (1..=3).flat_map(|step| [day - chrono::Days::new(step), plus_days(day, step as u32)]).find(open)
    }
}
