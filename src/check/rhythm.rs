//! Sowings of a crop at a site keep a rhythm where the user wants one.

use super::possible::{Here, Start};
use super::subject::{Known, Subject};
use super::violation::{Findings, Rule, Violation, count, say};
use crate::domain::calendar::{DateSpan, days_between, minus_days, plus_days};
use crate::domain::term::{LEAST_IN_RHYTHM, Rhythm};
use chrono::{Datelike, NaiveDate};
use std::collections::{BTreeMap, BTreeSet};

pub(super) fn check(subject: &Subject<'_>, found: &mut Findings) {
    let Rhythm::Steady { every } = subject.term.rules.rhythm else { return };
    for sowings in series(subject) {
        let first = sowings[0];
        for (before, known) in sowings.iter().zip(&sowings[1..]) {
            twice(before, known, found);
            alike(first, known, every, found);
        }
        missing(subject, &sowings, every, found);
        if subject.plan.replanned.is_none() {
            few(subject, &sowings, every, found);
        }
    }
}

/// Series of sowings that the plan begins: crops at sites where they were not last sown before it in the same weeks, on the
/// same weekday and in the same way.
pub(super) fn begun(subject: &Subject<'_>) -> usize {
    let Rhythm::Steady { every } = subject.term.rules.rhythm else { return 0 };
    let beat = |known: &&Known<'_>| {
        let day = i64::from(known.batch.sown.num_days_from_ce());
        (known.batch.origin, day.rem_euclid(7 * i64::from(every)))
    };
    let anew = |sowings: Vec<&Known<'_>>| {
        let (before, new): (Vec<_>, Vec<_>) =
            sowings.into_iter().partition(|known| subject.grew_before(known));
        let going = before.last().map(beat);
        let beats: BTreeSet<_> = new.iter().map(beat).filter(|beat| Some(*beat) != going).collect();
        beats.len()
    };
    by_place(subject, |_| true).into_iter().map(anew).sum()
}

/// The sowings of each crop at each site that have to keep a rhythm, by day; none of the lists is empty.
fn series<'s, 'a>(subject: &'s Subject<'a>) -> Vec<Vec<&'s Known<'a>>> {
    by_place(subject, |known| !subject.grew_before(known))
}

/// The sowings of each crop at each site of some kind, by day; none of the lists is empty.
fn by_place<'s, 'a>(
    subject: &'s Subject<'a>,
    wanted: impl Fn(&Known<'_>) -> bool,
) -> Vec<Vec<&'s Known<'a>>> {
    let mut places: BTreeMap<_, Vec<&Known<'_>>> = BTreeMap::new();
    for known in subject.batches.iter().filter(|known| known.batch.origin.is_sown() && wanted(known)) {
        places.entry((&known.site.id, &known.batch.crop)).or_default().push(known);
    }
    let mut places: Vec<_> = places.into_values().collect();
    for sowings in &mut places {
        sowings.sort_by_key(|known| (known.batch.sown, known.batch.origin));
    }
    places
}

fn complain(known: &Known<'_>, day: NaiveDate, message: String) -> Violation {
    Violation::new(Rule::Rhythm, message).on(day).at(&known.site.id).of(&known.batch.id)
}

fn rhythm(every: u32) -> String {
    if every == 1 { "every week".to_owned() } else { format!("every {every} weeks") }
}

/// Whether a crop is sown twice on a day.
fn twice(before: &Known<'_>, known: &Known<'_>, found: &mut Findings) {
    if before.batch.sown == known.batch.sown {
        let crop = &known.wanted.crop.name;
        let message = format!("{crop} is sown twice here on this day; a steady rhythm has one sowing of it");
        found.push(complain(known, known.batch.sown, message));
    }
}

/// Whether a sowing falls into the rhythm of the first one, with as many plugs, laid in the same way.
fn alike(first: &Known<'_>, known: &Known<'_>, every: u32, found: &mut Findings) {
    let (crop, begun, day) = (&known.wanted.crop.name, first.batch.sown, known.batch.sown);
    let mut blame = |message| found.push(complain(known, day, message));
    let since = days_between(begun, day);
    if since % (7 * i64::from(every)) != 0 {
        blame(format!(
            "{crop} is sown here {} from {} on, so not {since} days later; move the sowing, or make rhythm under \
             \"rules:\" free",
            rhythm(every),
            say(begun),
        ));
    }
    if known.batch.plugs != first.batch.plugs {
        blame(format!(
            "{} of {crop} are sown, but {} on {}; a steady rhythm sows as many each time",
            count(known.batch.plugs, "plug"),
            first.batch.plugs,
            say(begun),
        ));
    }
    if known.batch.origin != first.batch.origin {
        blame(format!(
            "{crop} is sown otherwise than on {}; a steady rhythm lays all seed in the nursery, or all straight into cups",
            say(begun),
        ));
    }
}

/// Days between the first and the last sowing on which there should be another one.
fn missing(subject: &Subject<'_>, sowings: &[&Known<'_>], every: u32, found: &mut Findings) {
    let (first, last) = (sowings[0], sowings[sowings.len() - 1].batch.sown);
    for day in unsown(subject, first, after(subject, first, every)).take_while(|day| *day < last) {
        let message = format!(
            "{} is sown here {} from {} to {}, but not on this day; sow it then, too, or make rhythm under \"rules:\" \
             free",
            first.wanted.crop.name,
            rhythm(every),
            say(first.batch.sown),
            say(last),
        );
        found.push(complain(first, day, message));
    }
}

/// Whether there are fewer sowings than make a rhythm, though there could be more; no more are asked for than smallest batches
/// stand side by side.
fn few(subject: &Subject<'_>, sowings: &[&Known<'_>], every: u32, found: &mut Findings) {
    let (first, sown) = (sowings[0], sowings.len());
    let term = subject.term;
    let places = first.wanted.places_at(first.site, DateSpan { first: term.start, last: term.end });
    let side_by_side = places / term.rules.smallest_batch.max(1) as usize;
    let wanted = LEAST_IN_RHYTHM.min(side_by_side);
    if sown >= wanted {
        return;
    }
    let days = after(subject, first, every).chain(before(subject, first, every));
    let further = unsown(subject, first, days).take(wanted - sown).count();
    if further > 0 {
        let message = format!(
            "{} is sown here {}, which is no rhythm; sow it {} {}, or not at all, or make rhythm under \"rules:\" free",
            first.wanted.crop.name,
            if sown == 1 { "only once".to_owned() } else { format!("only {sown} times") },
            count((sown + further) as u32, "time"),
            rhythm(every),
        );
        found.push(complain(first, first.batch.sown, message));
    }
}

/// Days of a rhythm after its first sowing, up to the end of the term.
fn after(subject: &Subject<'_>, first: &Known<'_>, every: u32) -> impl Iterator<Item = NaiveDate> {
    let (sown, end) = (first.batch.sown, subject.term.end);
    (1..)
        .map(move |step: u32| plus_days(sown, step.saturating_mul(7 * every)))
        .take_while(move |day| *day <= end)
}

/// Days of a rhythm before its first sowing, back to the beginning of the term.
fn before(subject: &Subject<'_>, first: &Known<'_>, every: u32) -> impl Iterator<Item = NaiveDate> {
    let (sown, start) = (first.batch.sown, subject.term.start);
    (1..)
        .map(move |step: u32| minus_days(sown, step.saturating_mul(7 * every)))
        .take_while(move |day| *day >= start)
}

/// Those of some days on which what is sown first of a rhythm could be sown as well, and is not.
fn unsown<'s>(
    subject: &'s Subject<'_>,
    first: &'s Known<'_>,
    days: impl Iterator<Item = NaiveDate> + 's,
) -> impl Iterator<Item = NaiveDate> + 's {
    let here = Here::new(subject, first.site, first.wanted);
    // What is sown besides, as it grew before, fills its day, too.
    let is_sown = |day: NaiveDate| {
        let batches =
            subject.batches.iter().filter(|known| known.site.id == first.site.id).map(|known| known.batch);
        let (crop, origin) = (&first.batch.crop, first.batch.origin);
        batches.filter(|batch| batch.crop == *crop && batch.origin == origin).any(|batch| batch.sown == day)
    };
    days.filter(move |day| {
        let start = Start::sown(*day, first.batch.origin);
        first.site.meets_on(*day) && !is_sown(*day) && here.can_be_served(start)
    })
}
