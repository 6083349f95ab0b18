//! The dates of a term file, moved on to the next term or taken out with the one that is over.

use super::edits::Edits;
use crate::domain::calendar::{DateSpan, Week, days_between, plus_days};
use crate::files::problem::Problem;
use crate::files::reading::Reading;
use crate::files::tree::{Content, Key, Node};
use chrono::NaiveDate;
use std::ops::Range;

const PAST: &str = "Past with the term before:";

/// The term that is over and the one that comes.
#[derive(Debug, Clone, Copy)]
pub(super) struct Terms {
    pub(super) old: DateSpan,
    pub(super) new: DateSpan,
}

/// What became of the dates in a file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Dates {
    /// Breaks and closures taken out.
    pub days_off: u32,
    /// Extra class days taken out.
    pub class_days: u32,
    /// Targets of single days taken out.
    pub targets: u32,
    /// Offers of seedlings taken out.
    pub arrivals: u32,
    /// Days moved on by whole weeks: from when and until when something is served, and serving days where only single days
    /// are named.
    pub moved: u32,
}

/// The value of a key, with the key.
pub(super) fn entry<'n>(map: &'n Node, key: &str) -> Option<(&'n Key, &'n Node)> {
    let Content::Map(entries) = &map.content else { return None };
    entries.iter().find(|(known, _)| known.text == key).map(|(key, node)| (key, node))
}

/// Values of a list under a key; a single value counts as a list of one.
pub(super) fn items<'n>(map: &'n Node, key: &str) -> &'n [Node] {
    entry(map, key).map_or(&[], |(_, node)| Reading::items(node))
}

/// Changes every date of the file.
pub(super) fn carry_on(edits: &mut Edits<'_>, root: &Node, terms: Terms) -> Result<Dates, Problem> {
    let mut dates = Dates::default();
    for (key, day) in [("start", terms.new.first), ("end", terms.new.last)] {
        edits.set(root, key, &day.to_string())?;
    }
    if let Some((key, _)) = entry(root, "next-term-starts") {
        edits.supersede(key, "", PAST)?;
    }
    let over = |node: &Node| span_of(node).is_some_and(|span| !touch(span, terms.new));
    for map in std::iter::once(root).chain(items(root, "sites")) {
        for key in ["breaks", "closures"] {
            dates.days_off += take_out(edits, map, key, over)?;
        }
        dates.class_days += take_out(edits, map, "extra-class-days", |node| !is_in(node, terms.new))?;
    }
    let offered = |node: &Node| entry(node, "date").is_none_or(|(_, day)| !is_in(day, terms.new));
    dates.arrivals += take_out(edits, root, "arrivals", offered)?;
    for target in items(root, "target") {
        target_of(edits, target, terms, &mut dates)?;
    }
    Ok(dates)
}

/// Takes what is past out of a list, and tells how many.
fn take_out(
    edits: &mut Edits<'_>,
    map: &Node,
    key: &str,
    is_past: impl Fn(&Node) -> bool,
) -> Result<u32, Problem> {
    let Some((key, node)) = entry(map, key) else { return Ok(0) };
    let items = Reading::items(node);
    let past: Vec<usize> = (0..items.len()).filter(|item| is_past(&items[*item])).collect();
    let count = past.len() as u32;
    match &node.content {
        // A single one, without a dash.
        Content::Map(entries) if count > 0 => {
            let all: Vec<usize> = (0..entries.len()).collect();
            edits.take_out((key, node), &all, ("[]", PAST))?;
        }
        _ => edits.take_out((key, node), &past, ("[]", PAST))?,
    }
    Ok(count)
}

/// What is wanted from and until when moves on by whole weeks; targets of single days are past, unless there are no others:
/// then they move on, too.
fn target_of(edits: &mut Edits<'_>, target: &Node, terms: Terms, dates: &mut Dates) -> Result<(), Problem> {
    for key in ["from", "until"] {
        if let Some((_, node)) = entry(target, key)
            && let Some(old) = day_of(node)
        {
            let new = terms.moved(old).clamp(terms.new.first, terms.new.last);
            move_on(edits, &node.span, (old, new))?;
            dates.moved += 1;
        }
    }
    let Some((key, node)) = entry(target, "exceptions") else { return Ok(()) };
    let Content::Map(entries) = &node.content else { return Ok(()) };
    let weekly = !items(target, "every").is_empty();
    let moves = |day: &Key| {
        let day = day.text.parse().ok().filter(|_| !weekly)?;
        Some((day, terms.moved(day))).filter(|(_, moved)| terms.new.contains(*moved))
    };
    let past: Vec<usize> = (0..entries.len()).filter(|entry| moves(&entries[*entry].0).is_none()).collect();
    for (day, _) in entries {
        if let Some(days) = moves(day) {
            move_on(edits, &day.span, days)?;
            dates.moved += 1;
        }
    }
    dates.targets += past.len() as u32;
    edits.take_out((key, node), &past, ("{}", PAST))
}

/// Writes another day and says which it was.
fn move_on(
    edits: &mut Edits<'_>,
    span: &Range<usize>,
    (old, new): (NaiveDate, NaiveDate),
) -> Result<(), Problem> {
    edits.remark_before(span.start, &[format!("Moved on from {old} with the first week of the term:")]);
    edits.set_value(span, &new.to_string())
}

impl Terms {
    /// The same weekday in the same week of the new term.
    fn moved(self, day: NaiveDate) -> NaiveDate {
        let weeks = days_between(Week::of(self.old.first).monday(), Week::of(self.new.first).monday());
        plus_days(day, u32::try_from(weeks).unwrap_or(0))
    }
}

fn day_of(node: &Node) -> Option<NaiveDate> {
    match &node.content {
        Content::Text(text) => text.trim().parse().ok(),
        _ => None,
    }
}

fn is_in(node: &Node, term: DateSpan) -> bool {
    day_of(node).is_some_and(|day| term.contains(day))
}

/// `day:`, or `first:` and `last:`.
fn span_of(node: &Node) -> Option<DateSpan> {
    let day = |key| entry(node, key).and_then(|(_, day)| day_of(day));
    let (first, last) = (day("day").or_else(|| day("first"))?, day("day").or_else(|| day("last"))?);
    Some(DateSpan { first, last })
}

fn touch(one: DateSpan, other: DateSpan) -> bool {
    one.first <= other.last && other.first <= one.last
}
