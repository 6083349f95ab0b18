//! What weighed harvests say, in sentences.

use super::look::Look;
use super::words::{and, counted, crop_name, percent, short_day, site_name};
use crate::domain::plan::{Batch, Plan};
use crate::domain::term::Term;
use crate::domain::weighed::{Behind, FACTORS, NOTICEABLE_SHARE, Outlook, Slip, Stays, Weighed};

/// Paragraphs on what was weighed: each crop at a site that is to be counted with noticeably more or less than its figures
/// say, all others, what that says of those not weighed yet, and what cannot be. Empty if there is nothing to tell.
pub fn told(term: &Term, plan: &Plan, outlook: &Outlook, look: &Look) -> String {
    let (differ, alike): (Vec<&Weighed>, Vec<&Weighed>) =
        outlook.weighed().partition(|weighed| differs(weighed.factor) || differs(weighed.share()));
    let mut paragraphs: Vec<String> = differ.iter().map(|weighed| sentence(term, plan, weighed)).collect();
    if !alike.is_empty() {
        let verb = if alike.len() == 1 { "weighs" } else { "weigh" };
        let places: Vec<String> = alike.iter().map(|weighed| place(term, weighed)).collect();
        paragraphs.push(format!("{} {verb} about what the figures say.", and(&places)));
    }
    let not_weighed = outlook.crops.iter().filter(|crop| crop.plants == 0 && crop.to_come);
    let others: Vec<String> = not_weighed
        .filter(|crop| differs(crop.factor))
        .map(|crop| format!("{} with {}", place(term, crop), percent(crop.factor)))
        .collect();
    if !others.is_empty() {
        paragraphs.push(format!("By that, others are to be counted on, too: {}.", and(&others)));
    }
    let of_plan = |own: &Behind| {
        let batch = plan.batches.iter().find(|batch| batch.id == own.batch);
        batch.map(|batch| behind(term, outlook, batch, own))
    };
    let of_stays = |own: &Stays| {
        let batch = plan.batches.iter().find(|batch| batch.id == own.batch);
        batch.map(|batch| stays(term, outlook, batch, own))
    };
    let measured = outlook.stays.iter().filter_map(of_stays);
    let seen: Vec<String> = outlook.behind.iter().filter_map(of_plan).chain(measured).collect();
    paragraphs.splice(0..0, seen);
    paragraphs.extend(outlook.slips.iter().map(slip));
    if outlook.crops.is_empty() && !plan.mass_factors.is_empty() {
        paragraphs.push(
            "The plan counts with masses of which nothing that was weighed tells any more; the rest of the term should be planned \
             again."
                .to_owned(),
        );
    }
    paragraphs.iter().map(|paragraph| look.wrap(paragraph)).collect()
}

/// What holds for the crop of a batch at its site, and for what `stands` of the batch, if that differs noticeably from their
/// figures, or cannot be.
pub(super) fn of_batch(
    (term, plan): (&Term, &Plan),
    outlook: &Outlook,
    batch: &Batch,
    stands: bool,
) -> Vec<String> {
    let mut told: Vec<String> = outlook.slips.iter().filter(|own| own.batch == batch.id).map(slip).collect();
    if let Some(own) = outlook.behind.iter().find(|own| own.batch == batch.id) {
        told.push(behind(term, outlook, batch, own));
        return told;
    }
    if let Some(own) = outlook.stays.iter().find(|own| own.batch == batch.id) {
        told.push(stays(term, outlook, batch, own));
        return told;
    }
    let Some(own) = outlook.of(batch).filter(|own| own.plants > 0) else { return told };
    if differs(own.factor) || differs(own.share()) {
        told.push(sentence(term, plan, own));
    }
    let factor = outlook.factor(batch);
    if stands && differs(factor) {
        told.push(format!("The rest of {} is to be counted on with {}.", batch.id, percent(factor)));
    }
    told
}

/// What is seen of a batch, and what that makes of it.
fn behind(term: &Term, outlook: &Outlook, batch: &Batch, own: &Behind) -> String {
    format!(
        "{} ({} in {}) was {} behind on {}: it is to be counted on with {}.",
        batch.id,
        crop_name(term, &batch.crop),
        site_name(term, &batch.site),
        counted(own.days, "day"),
        short_day(own.day),
        percent(outlook.factor(batch))
    )
}

/// What plants that stay weigh, and what that makes of their batch.
fn stays(term: &Term, outlook: &Outlook, batch: &Batch, own: &Stays) -> String {
    let weigh = if own.plants == 1 { "weighs" } else { "weigh" };
    let told = format!(
        "{} of {} ({} in {}), measured on {}, {weigh} {} of what the figures say for that day",
        counted(own.plants, "plant"),
        batch.id,
        crop_name(term, &batch.crop),
        site_name(term, &batch.site),
        short_day(own.day),
        percent(own.share),
    );
    if !FACTORS.contains(&own.share) {
        return format!(
            "{told}. That can hardly be, so nothing is counted with it: look at plants, mass and unit, and correct the entry with \
             --replaces."
        );
    }
    format!("{told}: the batch is to be counted on with {}.", percent(outlook.factor(batch)))
}

fn differs(factor: f64) -> bool {
    (factor - 1.0).abs() >= NOTICEABLE_SHARE
}

fn place(term: &Term, weighed: &Weighed) -> String {
    format!("{} in {}", crop_name(term, &weighed.crop), site_name(term, &weighed.site))
}

fn slip(slip: &Slip) -> String {
    format!(
        "The harvest of {} on {} weighs {} of what its figures say. That can hardly be, so nothing is counted with it: look at \
         plants, mass and unit, and correct the entry with --replaces.",
        slip.batch,
        short_day(slip.day),
        percent(slip.share)
    )
}

fn sentence(term: &Term, plan: &Plan, weighed: &Weighed) -> String {
    let weighs = format!(
        "{} weighs {} of what its figures say ({} weighed).",
        place(term, weighed),
        percent(weighed.share()),
        counted(weighed.plants, "plant"),
    );
    if !weighed.to_come {
        return weighs;
    }
    let of_crop = plan
        .mass_factors
        .iter()
        .find(|own| own.batch.is_none() && (&own.site, &own.crop) == (&weighed.site, &weighed.crop));
    let planned = of_crop.map_or(1.0, |own| own.factor);
    let by_plan = if differs(weighed.factor / planned) {
        format!("; the plan counts on {}", percent(planned))
    } else {
        String::new()
    };
    // What lies beyond its own share, or on the other side, comes from others.
    let (own, all) = (weighed.share().ln(), weighed.factor.ln());
    let because = if all * own < 0.0 || all.abs() > own.abs() {
        " because of what other crops and rooms weigh"
    } else {
        ""
    };
    format!(
        "{weighs} What is still to come can be counted on with {}{because}{by_plan}.",
        percent(weighed.factor)
    )
}
