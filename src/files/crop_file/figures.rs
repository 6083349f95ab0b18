//! The figures of a crop file, each with its source.

use super::values::{curve, litres, sentence, strengths, temperature};
use crate::domain::crop::{DaySpan, Figure, GrowthCurve, Limits, Regrowth, Source, Variation};
use crate::domain::units::{Length, Temperature};
use crate::files::problem::nearest;
use crate::files::reading::{Entries, Reading, shorten};
use crate::files::tree::{Content, Node};
use std::ops::RangeInclusive;

const COMMON_PRACTICE: &str = "common practice";
const FROM_MEMORY: &str = "from memory";
pub(in crate::files) const OWN_RECORDS: &str = "own records";

/// Days after a cut before a plant grows on, where a crop file does not tell.
const USUAL_LAG: f64 = 3.0;

/// How far plants and batches differ, where a crop file does not tell: a rack of a school.
const USUAL_VARIATION: Variation = Variation { between_plants: 0.2, between_batches: 0.1, days: 2.0 };

/// A figure that a crop file may leave out.
pub(super) fn remembered<T>(value: T) -> Figure<T> {
    Figure::plain(value, Source::FromMemory)
}

/// Takes figures out of a crop's entries, noting mistakes.
pub(super) struct Figures<'r, 'n> {
    reading: &'r mut Reading,
    crop: Entries<'n>,
    /// Short name and full text of every work listed under `sources`.
    works: Vec<(&'n str, String)>,
}

impl<'r, 'n> Figures<'r, 'n> {
    /// Reads the list of sources first, because every figure refers to it.
    pub(super) fn new(reading: &'r mut Reading, crop: Entries<'n>) -> Self {
        let mut works = Vec::new();
        let listed = crop.get("sources");
        if let Some(listed) = listed.and_then(|node| reading.free_map(node, "short names of sources")) {
            for (key, node) in listed.iter() {
                if let Some(text) = sentence(reading, node) {
                    works.push((key.text.as_str(), text));
                }
            }
        }
        Self { reading, crop, works }
    }

    /// Whether a key is written.
    pub(super) fn has(&self, key: &str) -> bool {
        self.crop.get(key).is_some()
    }

    /// Notes a mistake at a key.
    pub(super) fn note_at(&mut self, key: &str, title: impl Into<String>, help: &str) {
        self.reading.note(&self.crop.key_span(key), title, help);
    }

    /// A line of plain words about the crop itself, which needs no source.
    pub(super) fn words(&mut self, key: &str, example: &str) -> Option<String> {
        let node = self.reading.need(&self.crop, key, example)?;
        self.reading.name(node)
    }

    /// Names, if any are given.
    pub(super) fn names(&mut self, key: &str) -> Option<Vec<String>> {
        let node = self.crop.get(key);
        let names = node.map_or(&[][..], Reading::items).iter();
        let names: Vec<Option<String>> = names.map(|name| self.reading.name(name)).collect();
        names.into_iter().collect()
    }

    /// A share such as `80 %`.
    pub(super) fn share(&mut self, key: &str, percent: RangeInclusive<f64>) -> Option<Figure<f64>> {
        self.spread(key, "90 %", |reading, node| reading.percent(node, percent.clone()))
    }

    /// A whole number.
    pub(super) fn whole(&mut self, key: &str, limits: RangeInclusive<u32>) -> Option<Figure<u32>> {
        self.spread(key, "4", |reading, node| reading.whole(node, limits.clone()))
    }

    /// A number.
    pub(super) fn number(&mut self, key: &str, limits: RangeInclusive<f64>) -> Option<Figure<f64>> {
        self.spread(key, "500", |reading, node| reading.number(node, limits.clone()))
    }

    /// A number, if it is given.
    pub(super) fn number_if_given(&mut self, key: &str, limits: RangeInclusive<f64>) -> Option<Figure<f64>> {
        if self.has(key) { self.number(key, limits) } else { None }
    }

    /// Litres, as `0.2 L` or `200 ml`.
    pub(super) fn litres(&mut self, key: &str) -> Option<Figure<f64>> {
        self.spread(key, "0.2 L", litres)
    }

    /// A temperature at which greens can be stored.
    pub(super) fn temperature(&mut self, key: &str) -> Option<Figure<Temperature>> {
        self.value(key, "5 C", |reading, node| temperature(reading, node, 0.0..=25.0))
    }

    /// Distance between plants.
    pub(super) fn spacing(&mut self) -> Option<Figure<Length>> {
        self.spread("spacing", "20 cm", |reading, node| {
            reading.length(node, 1.0..=100.0).map(Length::from_cm)
        })
    }

    /// Least, usual and most days.
    pub(super) fn days(&mut self, key: &str, limits: RangeInclusive<u32>) -> Option<Figure<DaySpan>> {
        let line = format!("\"{key}: {{ least: 7, usual: 10, most: 14, source: from memory }}\"");
        let node = self.reading.need(&self.crop, key, &line)?;
        let entries = self.open(node, &["least", "usual", "most", "source"], &line)?;
        let source = self.source(&entries);
        let [min, usual, max] = ["least", "usual", "most"].map(|key| {
            let node = self.reading.need(&entries, key, &format!("\"{key}: 14\""))?;
            self.reading.whole(node, limits.clone())
        });
        let span = DaySpan { min: min?, usual: usual?, max: max? };
        for (key, before, days) in [("usual", span.min, span.usual), ("most", span.usual, span.max)] {
            if let (true, Some(node)) = (before > days, entries.get(key)) {
                let title = format!("{days} days are fewer than the {before} before");
                self.reading.note(&node.span, title, "least, usual and most must not fall");
            }
        }
        Some(Figure::plain(span, source?))
    }

    /// Least, usual and most days, where the crop has them at all.
    pub(super) fn days_if_given(
        &mut self,
        key: &str,
        limits: RangeInclusive<u32>,
    ) -> Option<Figure<DaySpan>> {
        if self.has(key) { self.days(key, limits) } else { None }
    }

    /// The range of a nutrient solution's pH or EC; `example` are its usual ends.
    pub(super) fn range(
        &mut self,
        key: &str,
        example: [&str; 2],
        limits: RangeInclusive<f64>,
    ) -> Option<Figure<Limits<f64>>> {
        self.low_and_high(key, example, |reading, node| reading.number(node, limits.clone()))
    }

    /// A range of air temperatures.
    pub(super) fn temperatures(&mut self, key: &str) -> Option<Figure<Limits<Temperature>>> {
        self.low_and_high(key, ["15 C", "24 C"], |reading, node| temperature(reading, node, 0.0..=50.0))
    }

    /// Sentences people should know, where the crop has them.
    pub(super) fn remark(&mut self, key: &str) -> Option<Figure<String>> {
        let node = self.crop.get(key)?;
        let line = format!("\"{key}:\" with a note and a source on lines of their own below it");
        let entries = self.open(node, &["note", "source"], &line)?;
        let source = self.source(&entries);
        let node = self.reading.need(&entries, "note", "\"note: keep it cool\"")?;
        let value = sentence(self.reading, node)?;
        Some(Figure::plain(value, source?))
    }

    /// Masses by age.
    pub(super) fn growth(&mut self) -> Option<Figure<GrowthCurve>> {
        let example = "\"growth:\" with \"mass: { 20: 30 g, 35: 140 g }\" and a source below it";
        let node = self.reading.need(&self.crop, "growth", example)?;
        let entries = self.reading.map(node, &["mass", "source"])?;
        let source = self.source(&entries);
        let node = self.reading.need(&entries, "mass", "\"mass: { 20: 30 g, 35: 140 g }\"")?;
        let value = curve(self.reading, node)?;
        Some(Figure::plain(value, source?))
    }

    /// How far plants and batches differ, remembered where the file does not tell.
    pub(super) fn variation(&mut self) -> Option<Figure<Variation>> {
        if !self.has("variation") {
            return Some(remembered(USUAL_VARIATION));
        }
        let line =
            "\"variation: { between_plants: 20 %, between_batches: 10 %, days: 2, source: from memory }\"";
        let node = self.reading.need(&self.crop, "variation", line)?;
        let entries = self.open(node, &["between_plants", "between_batches", "days", "source"], line)?;
        let source = self.source(&entries);
        let [plants, batches] = ["between_plants", "between_batches"].map(|key| {
            let node = self.reading.need(&entries, key, &format!("\"{key}: 20 %\""))?;
            self.reading.percent(node, 0.0..=100.0)
        });
        let days = self.reading.need(&entries, "days", "\"days: 2\"");
        let days = days.and_then(|node| self.reading.number(node, 0.0..=30.0));
        let value = Variation { between_plants: plants?, between_batches: batches?, days: days? };
        Some(Figure::plain(value, source?))
    }

    /// How the crop grows again, if it does.
    pub(super) fn regrowth(&mut self) -> Option<Regrowth> {
        let node = self.crop.get("regrowth")?;
        let keys = ["interval", "harvests", "until", "taken", "lag", "vigour", "strength"];
        let entries = self.reading.map(node, &keys)?;
        let mut inner = Figures { reading: self.reading, crop: entries, works: self.works.clone() };
        let interval = inner.days("interval", 1..=200);
        let harvests = inner.whole("harvests", 2..=20);
        let until = if inner.has("until") { inner.whole("until", 5..=400).map(Some) } else { Some(None) };
        let taken = inner.share("taken", 10.0..=95.0);
        let lag =
            if inner.has("lag") { inner.number("lag", 0.0..=14.0) } else { Some(remembered(USUAL_LAG)) };
        let vigour =
            if inner.has("vigour") { inner.share("vigour", 20.0..=100.0) } else { Some(remembered(1.0)) };
        let strength = inner.value("strength", "[80 %, 60 %]", strengths);
        let (harvests, strength) = (harvests?, strength?);
        if strength.value.len() + 1 != harvests.value as usize {
            let (all, given) = (harvests.value, strength.value.len());
            let title = format!("{all} harvests go with {} strengths, not {given}", all - 1);
            let help = "give one for the second growth, one for the third, and so on up to the last harvest";
            inner.note_at("strength", title, help);
        }
        Some(Regrowth {
            interval: interval?,
            harvests,
            until: until?,
            taken: taken?,
            lag: lag?,
            vigour: vigour?,
            strength,
        })
    }

    /// Refuses files of a later layout.
    pub(super) fn check_format(&mut self) {
        let Some(node) = self.reading.need(&self.crop, "format", "\"format: 1\"") else {
            return;
        };
        if self.reading.text(node).is_some_and(|format| format != "1") {
            let help = "write format: 1, or use a newer Sowtide";
            self.reading.note(&node.span, "this format is not known here", help);
        }
    }

    /// The parts of a figure. A bare value is what people forget the source of.
    fn open<'a>(&mut self, node: &'a Node, known: &[&str], line: &str) -> Option<Entries<'a>> {
        let title = match node.content {
            Content::Text(_) => "this figure does not say where it comes from",
            Content::Nothing => "the figure is missing",
            Content::List(_) | Content::Map(_) => return self.reading.map(node, known),
        };
        self.reading.note(&node.span, title, format!("write {line}"));
        None
    }

    fn value<T>(
        &mut self,
        key: &str,
        example: &str,
        read: impl FnOnce(&mut Reading, &Node) -> Option<T>,
    ) -> Option<Figure<T>> {
        let line = format!("\"{key}: {{ value: {example}, source: from memory }}\"");
        let node = self.reading.need(&self.crop, key, &line)?;
        let entries = self.open(node, &["value", "source"], &line)?;
        let source = self.source(&entries);
        let node = self.reading.need(&entries, "value", &format!("\"value: {example}\""))?;
        let value = read(self.reading, node)?;
        Some(Figure::plain(value, source?))
    }

    /// A single value that may tell its spread, as `low` and `high` around it.
    fn spread<T: PartialOrd>(
        &mut self,
        key: &str,
        example: &str,
        read: impl Fn(&mut Reading, &Node) -> Option<T>,
    ) -> Option<Figure<T>> {
        let line = format!("\"{key}: {{ value: {example}, source: from memory }}\"");
        let node = self.reading.need(&self.crop, key, &line)?;
        let entries = self.open(node, &["value", "low", "high", "source"], &line)?;
        let source = self.source(&entries);
        let node = self.reading.need(&entries, "value", &format!("\"value: {example}\""))?;
        let value = read(self.reading, node);
        let ends = ["low", "high"].map(|end| entries.get(end));
        let spread = match ends {
            [None, None] => None,
            [Some(low), Some(high)] => {
                let (low, high) = (read(self.reading, low), read(self.reading, high));
                Some(Limits { low: low?, high: high? })
            }
            [Some(alone), None] | [None, Some(alone)] => {
                let help = "write low and high, or neither";
                self.reading.note(&alone.span, "only one end of the spread is given", help);
                return None;
            }
        };
        let value = value?;
        let outside = |spread: &Limits<T>| [value < spread.low, value > spread.high];
        for (end, outside) in ends.into_iter().zip(spread.as_ref().map_or([false; 2], outside)) {
            if let (true, Some(end)) = (outside, end) {
                let help = "low must not be above the value, nor high below it";
                self.reading.note(&end.span, "the value lies outside its own spread", help);
            }
        }
        Some(Figure { value, spread, source: source? })
    }

    fn low_and_high<T: PartialOrd>(
        &mut self,
        key: &str,
        [low, high]: [&str; 2],
        read: impl Fn(&mut Reading, &Node) -> Option<T>,
    ) -> Option<Figure<Limits<T>>> {
        let line = format!("\"{key}: {{ low: {low}, high: {high}, source: from memory }}\"");
        let node = self.reading.need(&self.crop, key, &line)?;
        let entries = self.open(node, &["low", "high", "source"], &line)?;
        let source = self.source(&entries);
        let [low, high] = [("low", low), ("high", high)].map(|(end, example)| {
            let node = self.reading.need(&entries, end, &format!("\"{end}: {example}\""))?;
            read(self.reading, node)
        });
        let value = Limits { low: low?, high: high? };
        if let (true, Some(node)) = (value.low > value.high, entries.get("high")) {
            let help = "write the smaller value as low and the larger one as high";
            self.reading.note(&node.span, "this is below the low end", help);
        }
        Some(Figure::plain(value, source?))
    }

    /// Where a figure comes from. Without that nobody can tell whether to trust it.
    fn source(&mut self, entries: &Entries<'_>) -> Option<Source> {
        let node = self.reading.need(entries, "source", "\"source: from memory\"")?;
        let written = self.reading.text(node)?;
        match written {
            COMMON_PRACTICE => return Some(Source::CommonPractice),
            FROM_MEMORY => return Some(Source::FromMemory),
            OWN_RECORDS => return Some(Source::OwnRecords),
            _ => {}
        }
        if let Some((_, work)) = self.works.iter().find(|(short, _)| *short == written) {
            return Some(Source::Published(work.clone()));
        }
        let known = self.works.iter().map(|(short, _)| *short);
        let help = match nearest(written, known.chain([COMMON_PRACTICE, FROM_MEMORY, OWN_RECORDS])) {
            Some(name) => format!("did you mean \"{name}\"?"),
            None => "write from memory or common practice, or list the work under \"sources\" at the end of the file"
                .to_owned(),
        };
        let title = format!("\"{}\" is not listed under \"sources\"", shorten(written));
        self.reading.note(&node.span, title, help);
        None
    }
}
