//! Sowings of a crop at a site keep a rhythm where the user wants one.

use super::possible::{Here, Start};
use super::subject::{Known, Subject};
use super::violation::{Findings, Rule, Violation, count, say};
use crate::domain::calendar::{days_between, plus_days};
use crate::domain::term::Rhythm;
use chrono::NaiveDate;
use std::collections::BTreeMap;

pub(super) fn check(subject: &Subject<'_>, found: &mut Findings) {
    let Rhythm::Steady { every } = subject.term.rules.rhythm else { return };
    let mut series: BTreeMap<_, Vec<&Known<'_>>> = BTreeMap::new();
    let sown =
        subject.batches.iter().filter(|known| known.batch.origin.is_sown() && !subject.grew_before(known));
    for known in sown {
        series.entry((&known.site.id, &known.batch.crop)).or_default().push(known);
    }
    for sowings in series.values_mut() {
        sowings.sort_by_key(|known| known.batch.sown);
        if let [first, others @ ..] = &sowings[..] {
            for known in others {
                alike(first, known, every, found);
            }
            missing(subject, first, sowings, every, found);
        }
    }
}

fn complain(known: &Known<'_>, day: NaiveDate, message: String) -> Violation {
    Violation::new(Rule::Rhythm, message).on(day).at(&known.site.id).of(&known.batch.id)
}

fn rhythm(every: u32) -> String {
    if every == 1 { "every week".to_owned() } else { format!("every {every} weeks") }
}

/// Whether a sowing falls into the rhythm of the first one, with as many plugs, laid in the same way.
fn alike(first: &Known<'_>, known: &Known<'_>, every: u32, found: &mut Findings) {
    let (crop, begun, day) = (&known.wanted.crop.name, first.batch.sown, known.batch.sown);
    let mut blame = |message| found.push(complain(known, day, message));
    let since = days_between(begun, day);
    if since == 0 {
        blame(format!("{crop} is sown twice here on this day; a steady rhythm has one sowing of it"));
    } else if since % (7 * i64::from(every)) != 0 {
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
fn missing(
    subject: &Subject<'_>,
    first: &Known<'_>,
    sowings: &[&Known<'_>],
    every: u32,
    found: &mut Findings,
) {
    let last = sowings.last().map_or(first.batch.sown, |known| known.batch.sown);
    let (site, wanted, origin) = (first.site, first.wanted, first.batch.origin);
    let here = Here::new(subject, site, wanted);
    // What is sown besides, as it grew before, fills its day, too.
    let is_sown = |day: NaiveDate| {
        let here = subject.batches.iter().filter(|known| known.site.id == site.id);
        here.filter(|known| known.batch.crop == first.batch.crop).any(|known| known.batch.sown == day)
    };
    let steps = (1..).map(|step: u32| plus_days(first.batch.sown, step.saturating_mul(7 * every)));
    for day in steps.take_while(|day| *day < last) {
        if site.meets_on(day) && !is_sown(day) && here.can_be_served(Start::sown(day, origin)) {
            let message = format!(
                "{} is sown here {} from {} to {}, but not on this day; sow it then, too, or make rhythm under \"rules:\" \
                 free",
                wanted.crop.name,
                rhythm(every),
                say(first.batch.sown),
                say(last),
            );
            found.push(complain(first, day, message));
        }
    }
}
