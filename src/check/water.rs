//! Crops stand in a solution that suits them, and tanks do not run dry while nobody is there.

use super::subject::Subject;
use super::violation::{Findings, Rule, Violation, count, say};
use super::{GRAMS, exceeds};
use crate::domain::calendar::Absence;
use crate::domain::site::{Site, Tank};
use crate::domain::water;

pub(super) fn check(subject: &Subject<'_>, found: &mut Findings) {
    solution(subject, found);
    for site in &subject.term.sites {
        for absence in site.absences() {
            for tank in &site.tanks {
                reserve(subject, site, tank, absence, found);
            }
        }
    }
}

fn solution(subject: &Subject<'_>, found: &mut Findings) {
    for (known, part) in subject.parts() {
        let Some(tank) = part.tank else { continue };
        let crop = &known.wanted.crop;
        let kept = [("a pH", tank.ph, crop.ph.value, ""), ("an EC", tank.ec, crop.ec.value, " mS/cm")];
        for (what, value, fit, unit) in kept {
            if !(fit.low <= value && value <= fit.high) {
                let message = format!(
                    "tank {} is kept at {what} of {value}{unit}; {} needs {} to {}{unit}",
                    tank.id, crop.name, fit.low, fit.high
                );
                found.push(
                    Violation::new(Rule::Solution, message)
                        .on(part.part.transplant)
                        .at(&known.site.id)
                        .of(&known.batch.id),
                );
            }
        }
    }
}

fn reserve(subject: &Subject<'_>, site: &Site, tank: &Tank, absence: Absence, found: &mut Findings) {
    let needed = water::reserve(subject.term, subject.plan, site, tank, absence).needed;
    // A hundredth of a litre is far below what anybody can measure in a tank.
    if exceeds(needed, tank.usable_litres, GRAMS) {
        let message = format!(
            "plants in tank {} draw {needed:.1} litres in {} without anybody until {}, but only {:.1} are usable",
            tank.id,
            count(absence.alone, "day"),
            say(absence.back),
            tank.usable_litres,
        );
        found.push(Violation::new(Rule::Water, message).on(absence.leave).at(&site.id));
    }
}
