//! Batch ids are plain and unique; crops, sites and tanks are those of the term.

use super::subject::Subject;
use super::violation::{Findings, Rule, Violation, list};
use crate::domain::ids::is_plain;
use std::collections::HashSet;

pub(super) fn check(subject: &Subject<'_>, found: &mut Findings) {
    ids(subject, found);
    crops_and_sites(subject, found);
    tanks(subject, found);
}

fn ids(subject: &Subject<'_>, found: &mut Findings) {
    let mut seen = HashSet::new();
    for batch in &subject.plan.batches {
        let complain = |message: &str| {
            Violation::new(Rule::BatchIds, message).on(batch.sown).at(&batch.site).of(&batch.id)
        };
        if !is_plain(batch.id.as_str()) {
            found.push(complain(
                "the batch id may hold only 1 to 40 small letters, digits and hyphens, \
                 and must not begin with a hyphen",
            ));
        }
        if !seen.insert(&batch.id) {
            found.push(complain("another batch has the same id; every batch needs one of its own"));
        }
    }
}

fn crops_and_sites(subject: &Subject<'_>, found: &mut Findings) {
    let term = subject.term;
    for batch in &subject.plan.batches {
        let complain = |message: String| {
            Violation::new(Rule::Names, message).on(batch.sown).at(&batch.site).of(&batch.id)
        };
        if term.crop(&batch.crop).is_none() {
            let known = list(term.crops.iter().map(|wanted| &wanted.crop.id));
            found.push(complain(format!(
                "the crop \"{}\" is not among those the term uses: {known}",
                batch.crop
            )));
        }
        if term.site(&batch.site).is_none() {
            let known = list(term.sites.iter().map(|site| &site.id));
            found.push(complain(format!("the term has no site \"{}\", only {known}", batch.site)));
        }
    }
}

fn tanks(subject: &Subject<'_>, found: &mut Findings) {
    for (known, part) in subject.parts() {
        if part.tank.is_none() {
            let tanks = list(known.site.tanks.iter().map(|tank| &tank.id));
            let message = format!("there is no tank \"{}\" here, only {tanks}", part.part.tank);
            found.push(
                Violation::new(Rule::Names, message)
                    .on(part.part.transplant)
                    .at(&known.site.id)
                    .of(&known.batch.id),
            );
        }
    }
}
