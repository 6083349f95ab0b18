//! Crops stand only where the user wants them.

use super::subject::{Known, KnownPart, Subject};
use super::violation::{Findings, Rule, Violation, list};
use crate::domain::term::Location;

pub(super) fn check(subject: &Subject<'_>, found: &mut Findings) {
    for (known, part) in subject.parts() {
        if part.stood_in_tank || part.part.lost_in_nursery() || may_stand(subject, known, part) {
            continue;
        }
        let message = format!(
            "{} may stand only in {}, not in tank {} here",
            known.wanted.crop.name,
            list(known.wanted.only_in.iter().map(words)),
            part.part.tank
        );
        found.push(
            Violation::new(Rule::OnlyIn, message)
                .on(part.part.transplant)
                .at(&known.site.id)
                .of(&known.batch.id),
        );
    }
}

fn may_stand(subject: &Subject<'_>, known: &Known<'_>, part: &KnownPart<'_>) -> bool {
    let places = &known.wanted.only_in;
    let here: Vec<&Location> = places.iter().filter(|place| place.site == known.site.id).collect();
    if places.is_empty() {
        return true;
    }
    // Seedlings that are at a wrong site already can only be moved there.
    if here.is_empty() {
        return subject.grew_before(known);
    }
    here.iter().any(|place| place.tank.as_ref().is_none_or(|tank| *tank == part.part.tank))
}

fn words(place: &Location) -> String {
    match &place.tank {
        Some(tank) => format!("tank {tank} of {}", place.site),
        None => place.site.to_string(),
    }
}
