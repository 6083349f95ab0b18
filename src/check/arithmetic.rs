//! Harvest estimates follow from the crop figures, step by step.

use super::agree;
use super::subject::{Known, KnownPart, Subject};
use super::violation::{Findings, Rule, Violation, count, unlike, verb};
use crate::domain::calendar::days_between;
use crate::domain::plan::Harvest;
use chrono::NaiveDate;

/// Share by which an estimate may differ, for rounding only.
const ROUNDING: f64 = 1e-6;

pub(super) fn check(subject: &Subject<'_>, found: &mut Findings) {
    for (known, part) in subject.parts() {
        let before = part.cuts_before();
        if before.len() != part.part.cuts_before as usize {
            // Nobody knows when these plants were cut; the rule for standing plants has told so.
            continue;
        }
        let days: Vec<NaiveDate> =
            before.iter().copied().chain(part.part.harvests.iter().map(|harvest| harvest.date)).collect();
        let standing = known.figures().standing_grams(known.batch.born(), part.part.transplant, &days);
        // A harvest too many has no figures; the rule for the number of harvests tells so.
        for ((harvest, number), standing) in
            part.part.harvests.iter().zip(before.len()..).zip(standing.iter().skip(before.len()))
        {
            let since = number.checked_sub(1).map_or(known.batch.born(), |before| days[before]);
            if let Some(message) = wrong(known, part, harvest, (since, *standing)) {
                found.push(
                    Violation::new(Rule::Estimate, message)
                        .on(harvest.date)
                        .at(&known.site.id)
                        .of(&known.batch.id),
                );
            }
        }
    }
}

/// What is wrong with the estimate of a harvest, whose plants have grown since the day they were sown or last cut, and now
/// weigh so much.
fn wrong(
    known: &Known<'_>,
    part: &KnownPart<'_>,
    harvest: &Harvest,
    (since, standing): (NaiveDate, f64),
) -> Option<String> {
    let figures = known.figures();
    let crop = &known.wanted.crop;
    let days = days_between(since, harvest.date);
    let steps = harvest.arithmetic;
    if i64::from(steps.days) != days {
        return Some(format!("the plants grow for {days} days, not {}", steps.days));
    }
    let factors = [
        ("grams standing in a plant", steps.standing_grams, standing),
        ("share taken", steps.taken, figures.taken(harvest.way)),
        ("share surviving in the tank", steps.survival, figures.survival(known.batch.origin)),
        ("yield factor", steps.yield_factor, figures.yield_factor() * known.site.batch_here(&known.batch.id)),
        ("share ready to eat", steps.ready_to_eat, crop.ready_to_eat.value),
    ];
    if let Some((what, found, right)) =
        factors.into_iter().find(|(_, found, right)| !agree(*found, *right, ROUNDING))
    {
        let right = (right * 1e6).round() / 1e6;
        return Some(format!("the {what} should be {right}, not {found}"));
    }
    let right: f64 = factors.iter().map(|(_, _, right)| right).product::<f64>() * f64::from(part.part.plants);
    (!agree(harvest.grams, right, ROUNDING)).then(|| {
        let [right, listed] = unlike(right, harvest.grams);
        let (plants, give) = (count(part.part.plants, "plant"), verb(part.part.plants, "gives", "give"));
        format!("{plants} {give} {right} g ready to eat, not {listed} g")
    })
}
