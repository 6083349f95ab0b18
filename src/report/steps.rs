//! The arithmetic behind a batch's expected mass, step by step in words.

use super::begin;
use super::look::{Look, Mood};
use super::words::{counted, crop_name, day, meant_for, percent, site_name};
use crate::domain::calendar::days_between;
use crate::domain::growth::Growing;
use crate::domain::plan::{Batch, Harvest, Origin, Part};
use crate::domain::tasks::TaskPart;
use crate::domain::term::Term;
use std::collections::BTreeSet;

/// A batch from seed to plate.
pub fn batch(term: &Term, batch: &Batch, look: &Look) -> String {
    let title = format!("{}, {} at {}", batch.id, crop_name(term, &batch.crop), site_name(term, &batch.site));
    let mut text = format!("{}\n", look.paint(Mood::Heading, &title));
    text.push_str(&look.wrap(&sowing(term, batch)));
    for part in &batch.parts {
        if part.lost_in_nursery() {
            text.push_str(&look.wrap(&lost(batch, part)));
            continue;
        }
        text.push_str(&look.wrap(&format!(
            "{} in tank {} from {}{}, {}:",
            counted(part.plants, "plant"),
            part.tank,
            day(part.transplant),
            held(term, batch, part),
            super::words::holes(&part.holes)
        )));
        for harvest in &part.harvests {
            text.push_str(&look.wrap_after("  ", &harvest_steps(part, harvest, look)));
        }
        if part.lost.is_some() {
            text.push_str(&look.wrap_after("  ", &lost(batch, part)));
        }
    }
    text.push_str(&look.wrap(&format!("In all {} ready to eat.", look.grams(batch.grams()))));
    text
}

/// What is lost by seedlings whose plugs were full before they were moved.
fn held(term: &Term, batch: &Batch, part: &Part) -> String {
    let crop = term.crop(&batch.crop).map(|wanted| &wanted.crop);
    let Some((crop, site)) = crop.zip(term.site(&batch.site)) else { return String::new() };
    let days = u32::try_from(days_between(batch.born(), part.transplant)).unwrap_or(0);
    match Growing::new(crop, site).held_days(days) {
        0 => String::new(),
        held => format!(" ({} later than their plugs were full)", counted(held, "day")),
    }
}

fn lost(batch: &Batch, part: &Part) -> String {
    if part.lost_in_nursery() && batch.origin == Origin::InCups {
        return format!("{} not sown after all.", counted(part.plants, "cup"));
    }
    let place = if part.lost_in_nursery() { " in the nursery" } else { "" };
    part.lost.map_or_else(String::new, |date| {
        format!("{} lost{place} by {}.", counted(part.plants, "plant"), day(date))
    })
}

fn sowing(term: &Term, batch: &Batch) -> String {
    if batch.is_standing() {
        return format!(
            "Sown {}; stood with {} when the term began.",
            day(batch.sown),
            counted(batch.plugs, "plant")
        );
    }
    let amount = begin::amount(batch, batch.plugs);
    if !batch.origin.is_sown() {
        return format!("Bought, to come on {}: {amount}.", day(batch.sown));
    }
    let plugs = format!("Sow {}: {amount} = {}.", day(batch.sown), counted(batch.seeds(), "seed"));
    let Some(wanted) = term.crop(&batch.crop) else {
        return plugs;
    };
    if batch.origin == Origin::InCups {
        let share = percent(wanted.crop.plants_per_plug());
        return format!(
            "{plugs} Straight into the cups of a tank; {share} of them give a plant, which counts as surviving."
        );
    }
    let crop = &wanted.crop;
    format!(
        "{plugs} {} of seeds come up and {} of seedlings are fit to move, so {} of plugs give a plant: \
         {} x {} = {:.1}, enough for {}.",
        percent(crop.germination.value),
        percent(crop.nursery_survival.value),
        percent(crop.plants_per_plug()),
        batch.plugs,
        percent(crop.plants_per_plug()),
        f64::from(batch.plugs) * crop.plants_per_plug(),
        counted(batch.plants(), "plant")
    )
}

/// `Thu 10 Sep, cut 1 of 3, 34 days after sowing: 12 plants x 142 g x 67% taken x ... = 1.02 kg`.
pub fn harvest_steps(part: &Part, harvest: &Harvest, look: &Look) -> String {
    let way = TaskPart { part, harvest: Some(harvest) }.way();
    let steps = &harvest.arithmetic;
    let since = if harvest.number == 1 { "after sowing" } else { "after the cut before" };
    let mut factors =
        vec![counted(part.plants, "plant"), format!("{} standing in each", look.grams(steps.standing_grams))];
    let shares = [
        (steps.taken, "taken"),
        (steps.survival, "survive"),
        (steps.yield_factor, "of the usual mass here"),
        (steps.ready_to_eat, "ready to eat"),
    ];
    // A factor of one would only lengthen the line.
    factors.extend(
        shares
            .into_iter()
            .filter(|(share, _)| (share - 1.0).abs() > 1e-9)
            .map(|(share, what)| format!("{} {what}", percent(share))),
    );
    format!(
        "{}, {way}, {} {since}: {} = {}; {}",
        day(harvest.date),
        counted(steps.days, "day"),
        factors.join(" x "),
        look.grams(harvest.grams),
        meant_for(harvest.serves.iter().map(|served| served.date).collect::<BTreeSet<_>>())
    )
}
