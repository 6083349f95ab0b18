//! What stands at the start of the term is in the plan as it stands, all of it and nothing else.

use super::subject::{Known, Subject};
use super::violation::{Findings, Rule, Violation, count, say, verb};
use crate::domain::plan::Batch;
use crate::domain::term::{Stage, Standing};

pub(super) fn check(subject: &Subject<'_>, found: &mut Findings) {
    for entry in &subject.term.standing {
        if !subject.plan.batches.iter().any(|batch| batch.is_standing() && batch.id == entry.batch) {
            found.push(
                Violation::new(
                    Rule::Standing,
                    format!(
                        "{} of {} {} {} at the start, but the plan leaves {} out",
                        count(entry.plants, "plant"),
                        entry.crop,
                        verb(entry.plants, "stands", "stand"),
                        place(entry),
                        verb(entry.plants, "it", "them"),
                    ),
                )
                .on(entry.sown)
                .at(&entry.site)
                .of(&entry.batch),
            );
        }
    }
    for known in &subject.batches {
        if known.batch.is_standing() {
            same_plants(known, found);
        } else {
            nothing_before(known, found);
        }
    }
}

fn complain(batch: &Batch, message: String) -> Violation {
    Violation::new(Rule::Standing, message).on(batch.sown).at(&batch.site).of(&batch.id)
}

fn place(entry: &Standing) -> String {
    match &entry.stage {
        Stage::Nursery => "in the nursery".to_owned(),
        Stage::Tank { tank, transplanted, .. } => format!("in tank {tank} since {}", say(*transplanted)),
    }
}

fn same_plants(known: &Known<'_>, found: &mut Findings) {
    let batch = known.batch;
    if known.entries.is_empty() {
        found.push(complain(
            batch,
            "the plan says this batch stands at the start, but the term does not".to_owned(),
        ));
        return;
    }
    for entry in &known.entries {
        let facts = [
            ("crop", batch.crop.to_string(), entry.crop.to_string()),
            ("site", batch.site.to_string(), entry.site.to_string()),
            ("sowing day", say(batch.sown), say(entry.sown)),
        ];
        for (what, planned, stands) in facts {
            if planned != stands {
                found.push(complain(
                    batch,
                    format!("the {what} of these standing plants is {planned} in the plan, but {stands} in the term"),
                ));
            }
        }
        whole_entry(known, entry, found);
    }
    for part in known.parts.iter().filter(|part| part.origin.is_none()) {
        found.push(complain(
            batch,
            format!(
                "{} in tank {} since {} with {} before the term {} not among what stands at the start",
                count(part.part.plants, "plant"),
                part.part.tank,
                say(part.part.transplant),
                count(part.part.cuts_before, "cut"),
                verb(part.part.plants, "is", "are"),
            ),
        ));
    }
}

/// Every plant of an entry is in the plan. A part in other holes than the term's is not made of it.
fn whole_entry(known: &Known<'_>, entry: &Standing, found: &mut Findings) {
    let parts: Vec<_> = known
        .parts
        .iter()
        .filter(|part| part.origin.is_some_and(|origin| std::ptr::eq(origin, entry)))
        .collect();
    let planned: u64 = parts.iter().map(|part| u64::from(part.part.plants)).sum();
    if planned != u64::from(entry.plants) {
        found.push(complain(
            known.batch,
            format!(
                "{} {} {} at the start, but the plan goes on with {planned} of {}",
                count(entry.plants, "plant"),
                verb(entry.plants, "stands", "stand"),
                place(entry),
                verb(entry.plants, "it", "them"),
            ),
        ));
    }
}

fn nothing_before(known: &Known<'_>, found: &mut Findings) {
    for part in &known.parts {
        if part.part.cuts_before > 0 {
            found.push(complain(
                known.batch,
                format!(
                    "a batch sown in the term cannot have had {} before it",
                    count(part.part.cuts_before, "cut")
                ),
            ));
        }
    }
}
