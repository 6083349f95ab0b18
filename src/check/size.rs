//! Batches are worth sowing, and their plugs and seeds suit the plants.

use super::subject::{Known, Subject};
use super::violation::{Findings, Rule, Violation, count, verb};
use crate::domain::plan::Origin;

pub(super) fn check(subject: &Subject<'_>, found: &mut Findings) {
    for known in &subject.batches {
        plants(known, subject.term.rules.smallest_batch, found);
        let is_past = subject.plan.replanned.is_some_and(|today| known.batch.sown < today);
        plugs(known, (subject.term.sure(), is_past), found);
        seeds(known, found);
    }
}

fn complain(rule: Rule, known: &Known<'_>, message: String) -> Violation {
    Violation::new(rule, message).on(known.batch.sown).at(&known.site.id).of(&known.batch.id)
}

/// Plants of a batch. Added up here because an edited plan may hold numbers beyond any reason.
fn plants_of(known: &Known<'_>) -> u64 {
    known.parts.iter().map(|part| u64::from(part.part.plants)).sum()
}

fn plants(known: &Known<'_>, smallest: u32, found: &mut Findings) {
    if known.batch.parts.iter().any(|part| part.plants == 0) {
        found.push(complain(
            Rule::BatchSize,
            known,
            "a part of this batch has no plants; leave it out".to_owned(),
        ));
    }
    let plants = plants_of(known);
    if !known.batch.is_standing() && plants < u64::from(smallest) {
        found.push(complain(
            Rule::BatchSize,
            known,
            format!("the batch has {}; the smallest batch is {smallest}", count(plants, "plant")),
        ));
    }
}

fn plugs(known: &Known<'_>, (sure, is_past): (f64, bool), found: &mut Findings) {
    let plants = plants_of(known);
    let listed = u64::from(known.batch.plugs);
    let (right, why) = match known.batch.origin {
        Origin::Standing => (plants, "as many as stand at the start"),
        Origin::InCups => (plants, "one cup a plant"),
        Origin::Bought { .. } => (plants, "as many as come"),
        Origin::Sown => {
            (known.figures().plugs(plants), "because not every seed comes up and not every seedling thrives")
        }
    };
    // Who sows by hand lays a few more; only more than a tenth must be a slip.
    let by_hand = known.batch.origin == Origin::Sown;
    let for_sure = if by_hand { known.figures().plugs_for_sure(plants, sure) } else { right };
    let spare = if by_hand { (for_sure / 10).max(1) } else { 0 };
    // What was sown when something else was promised has fewer or more.
    let limits = if by_hand && is_past { right..=u64::MAX } else { for_sure..=for_sure + spare };
    if !limits.contains(&listed) {
        found.push(complain(
            Rule::Plugs,
            known,
            format!(
                "{} {} listed for {}; it should be {for_sure}, {why}",
                count(known.batch.plugs, "plug"),
                verb(known.batch.plugs, "is", "are"),
                count(plants, "plant"),
            ),
        ));
    }
}

fn seeds(known: &Known<'_>, found: &mut Findings) {
    let right = known.wanted.crop.seeds_per_plug.value;
    if known.batch.seeds_per_plug != right {
        found.push(complain(
            Rule::Plugs,
            known,
            format!(
                "{} {} into a plug; for {} it should be {right}",
                count(known.batch.seeds_per_plug, "seed"),
                verb(known.batch.seeds_per_plug, "goes", "go"),
                known.wanted.crop.name,
            ),
        ));
    }
}
