//! Batches begin as the term allows: bought seedlings are offered, and crops sown straight into cups stand that.

use super::subject::{Known, Subject};
use super::violation::{Findings, Rule, Violation, count, say, verb};
use crate::domain::calendar::plus_days;
use crate::domain::plan::Origin;
use crate::domain::term::SowWish;
use std::collections::BTreeMap;

pub(super) fn check(subject: &Subject<'_>, found: &mut Findings) {
    offers(subject, found);
    for known in &subject.batches {
        match known.batch.origin {
            Origin::InCups => in_cups(known, found),
            Origin::Bought { .. } => kept_apart(known, found),
            Origin::Sown if known.wanted.sow == SowWish::InCups => {
                let name = &known.wanted.crop.name;
                found.push(complain(
                    Rule::InCups,
                    known,
                    format!("{name} is to be sown straight into cups only"),
                ));
            }
            _ => {}
        }
    }
}

fn complain(rule: Rule, known: &Known<'_>, message: String) -> Violation {
    Violation::new(rule, message).on(known.batch.sown).at(&known.site.id).of(&known.batch.id)
}

/// No more seedlings come than are offered, all batches together.
fn offers(subject: &Subject<'_>, found: &mut Findings) {
    let mut bought = BTreeMap::new();
    for known in &subject.batches {
        let Origin::Bought { days } = known.batch.origin else { continue };
        let offer = (&known.batch.crop, &known.site.id, known.batch.sown, days);
        let all: &mut u64 = bought.entry(offer).or_default();
        *all += u64::from(known.batch.plugs);
        let offered = subject
            .term
            .arrivals
            .iter()
            .find(|arrival| (&arrival.crop, &arrival.site, arrival.date, arrival.days) == offer);
        let most = offered.map_or(0, |arrival| u64::from(arrival.plants));
        if *all > most {
            let message = format!(
                "{} of {}, {} old, {} to come on {}; the term offers {most}",
                count(*all, "seedling"),
                known.wanted.crop.name,
                count(days, "day"),
                verb(*all, "is", "are"),
                say(known.batch.sown),
            );
            found.push(complain(Rule::Arrivals, known, message));
        }
    }
}

/// Nobody can tell on the first day whether they brought anything with them.
fn kept_apart(known: &Known<'_>, found: &mut Findings) {
    let moved = known.parts.iter().filter(|part| !part.part.lost_in_nursery());
    if moved.into_iter().any(|part| part.part.transplant <= known.batch.sown) {
        let message =
            "bought seedlings are kept apart on the day they come, and moved on a later one".to_owned();
        found.push(complain(Rule::Arrivals, known, message));
    }
}

fn in_cups(known: &Known<'_>, found: &mut Findings) {
    let name = &known.wanted.crop.name;
    if known.wanted.crop.in_cups.is_none() || known.wanted.sow == SowWish::Nursery {
        found.push(complain(Rule::InCups, known, format!("{name} is not to be sown straight into cups")));
    }
    let late = known.parts.iter().find(|part| part.part.transplant != known.batch.sown);
    if let Some(part) = late {
        let day = say(part.part.transplant);
        let message =
            format!("sown straight into cups, plants have their holes from that day on, not from {day}");
        found.push(complain(Rule::InCups, known, message));
    }
    let tender = plus_days(known.batch.sown, known.figures().seedling_days());
    let alone = known.site.absences().into_iter().find(|absence| {
        (known.batch.sown..tender).contains(&absence.leave)
            && absence.alone > known.site.nursery.unattended_days
    });
    if let Some(absence) = alone {
        let message = format!(
            "seedlings in cups are left alone from {} to {}, {} of it without anybody there; they last {}",
            say(absence.leave),
            say(absence.back),
            count(absence.alone, "day"),
            count(known.site.nursery.unattended_days, "day"),
        );
        found.push(complain(Rule::LeftAlone, known, message));
    }
}
