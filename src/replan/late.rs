//! What is to be expected of plants that were sown, moved or cut on other days than planned.

use crate::domain::calendar::days_between;
use crate::domain::growth::{Growing, Way};
use crate::domain::plan::{Batch, Harvest, Part, Plan};
use crate::domain::term::Term;
use chrono::NaiveDate;

/// Share of a mass by which rounding may change it.
const ROUNDED: f64 = 1e-9;

/// Gives harvests from `today` on whose plants have another history than `known` tells the mass that they will have: plants keep
/// their day as far as they can, and weigh less for every day they are late.
pub(super) fn weigh_anew(plan: &mut Plan, known: &Plan, term: &Term, today: NaiveDate) {
    for batch in &mut plan.batches {
        let before = known.batches.iter().find(|other| other.id == batch.id);
        let (Some(before), Some(wanted), Some(site)) =
            (before, term.crop(&batch.crop), term.site(&batch.site))
        else {
            continue;
        };
        let growing = Growing::new(&wanted.crop, site);
        let born = batch.born();
        for part in &mut batch.parts {
            // What grew before the term after cuts is told by the term file, and never late.
            if part.cuts_before == 0 && !is_as_known(part, born, before) {
                weigh_part(part, born, &growing, today);
            }
        }
    }
}

/// Whether plants of such a past were planned.
fn is_as_known(part: &Part, born: NaiveDate, before: &Batch) -> bool {
    let days = |part: &Part| part.harvests.iter().map(|harvest| harvest.date).collect::<Vec<_>>();
    let own = days(part);
    let same = |other: &Part| other.transplant == part.transplant && days(other).starts_with(&own);
    born == before.born() && before.parts.iter().any(same)
}

fn weigh_part(part: &mut Part, born: NaiveDate, growing: &Growing<'_>, today: NaiveDate) {
    let days = |from: NaiveDate, to: NaiveDate| days_between(from, to).max(0) as u32;
    let (mut since, mut from) = (part.transplant, born);
    let mut stand = growing.planted(days(born, part.transplant));
    for harvest in &mut part.harvests {
        stand = growing.later(stand, days(since, harvest.date));
        if harvest.date >= today {
            weigh(harvest, growing.grams(stand), days(from, harvest.date));
        }
        if harvest.way == Way::Cut {
            stand = growing.cut(stand);
        }
        (since, from) = (harvest.date, harvest.date);
    }
}

fn weigh(harvest: &mut Harvest, standing_grams: f64, days: u32) {
    let planned = harvest.arithmetic.standing_grams;
    let share = standing_grams / planned;
    if planned > 0.0 && (share - 1.0).abs() > ROUNDED {
        harvest.grams *= share;
        harvest.serves.iter_mut().for_each(|served| served.grams *= share);
        harvest.arithmetic.standing_grams = standing_grams;
    }
    harvest.arithmetic.days = days;
}
