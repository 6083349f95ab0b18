//! Seedlings are transplanted, plants harvested and cuts repeated at an age that suits the crop here.

use super::figures::{Days, or_younger};
use super::subject::{Known, KnownPart, Subject};
use super::violation::{Findings, Rule, Violation, say};
use crate::domain::calendar::days_between;
use crate::domain::growth::Way;
use chrono::NaiveDate;

pub(super) fn check(subject: &Subject<'_>, found: &mut Findings) {
    for (known, part) in subject.parts() {
        order(known, part, found);
        if part.is_transplanted() {
            nursery_age(known, part, found);
        }
        // Only plans made anew have plants that are late; those of others are told of by the term file.
        let late = subject.plan.replanned.is_some() && subject.grew_before(known);
        first_harvest(known, part, late, found);
        regrowth(known, part, late, found);
    }
}

fn complain(rule: Rule, known: &Known<'_>, day: NaiveDate, message: String) -> Violation {
    Violation::new(rule, message).on(day).at(&known.site.id).of(&known.batch.id)
}

/// What can never be, not even in a past that went otherwise than planned.
fn order(known: &Known<'_>, part: &KnownPart<'_>, found: &mut Findings) {
    let (sown, moved) = (known.batch.sown, part.part.transplant);
    if !part.part.lost_in_nursery() && moved < sown {
        let message = format!("plants are moved into a tank before the batch begins on {}", say(sown));
        found.push(complain(Rule::Order, known, moved, message));
    }
    if let Some(first) = part.part.harvests.first().filter(|first| first.date < moved) {
        let message = format!("plants are harvested before they come into their tank on {}", say(moved));
        found.push(complain(Rule::Order, known, first.date, message));
    }
}

fn nursery_age(known: &Known<'_>, part: &KnownPart<'_>, found: &mut Findings) {
    let day = part.part.transplant;
    let age = days_between(known.batch.born(), day);
    let fit = known.figures().nursery();
    if !fit.allow(age) {
        found.push(complain(
            Rule::NurseryAge,
            known,
            day,
            format!(
                "seedlings of {} are transplanted {age} days after sowing; they are fit after {fit}",
                known.wanted.crop.name
            ),
        ));
    }
}

fn first_harvest(known: &Known<'_>, part: &KnownPart<'_>, late: bool, found: &mut Findings) {
    let Some(first) = part.part.harvests.first() else {
        return;
    };
    if first.date == part.part.transplant {
        let message = "plants are harvested on the day on which they come into their tank".to_owned();
        found.push(complain(Rule::FirstHarvest, known, first.date, message));
    }
    let name = &known.wanted.crop.name;
    let stood = days_between(part.part.transplant, first.date);
    let least = known.figures().tank_days();
    let least = if late { or_younger(least) } else { least };
    if part.is_transplanted() && stood > 0 && stood < least {
        found.push(complain(
            Rule::FirstHarvest,
            known,
            first.date,
            format!("{name} has been in its tank for {stood} days; it needs {least} before a first harvest"),
        ));
    }
    if part.part.cuts_before > 0 {
        return;
    }
    let age = days_between(known.batch.born(), first.date);
    let doing = match first.way {
        Way::Cut => "cut",
        Way::WholeHead => "pulled",
    };
    let message = match known.figures().first_harvest(first.way).map(|fit| fit_for(fit, late)) {
        Some(fit) if fit.allow(age) => return,
        Some(fit) => {
            format!("{name} is first {doing} {age} days after sowing; here it can be {doing} after {fit}")
        }
        None => format!("{name} is cut, but it does not regrow after a cut; pull it whole"),
    };
    found.push(complain(Rule::FirstHarvest, known, first.date, message));
}

/// Days that will do for plants that grew before the plan was made anew, or for others.
fn fit_for(fit: Days, late: bool) -> Days {
    if late { fit.or_younger() } else { fit }
}

fn regrowth(known: &Known<'_>, part: &KnownPart<'_>, late: bool, found: &mut Findings) {
    let Some(fit) = known.figures().regrowth().map(|fit| fit_for(fit, late)) else {
        // Further harvests of a crop that gives one are reported with the number of harvests.
        return;
    };
    let mut before = part.cuts_before().last().copied();
    for harvest in &part.part.harvests {
        if let Some(cut) = before {
            let interval = days_between(cut, harvest.date);
            if !fit.allow(interval) {
                found.push(complain(
                    Rule::Regrowth,
                    known,
                    harvest.date,
                    format!(
                        "{} is harvested again {interval} days after the cut on {}; it needs {fit}",
                        known.wanted.crop.name,
                        say(cut)
                    ),
                ));
            }
        }
        let age = days_between(known.batch.born(), harvest.date);
        if let (Some(oldest), Some(_)) = (known.figures().oldest().filter(|oldest| age > *oldest), before) {
            let name = &known.wanted.crop.name;
            found.push(complain(
                Rule::Regrowth,
                known,
                harvest.date,
                format!(
                    "{name} is harvested again {age} days after sowing; it is past its best after {oldest}"
                ),
            ));
        }
        before = Some(harvest.date);
    }
}
