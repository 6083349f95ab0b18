//! A plan in a few sentences, and an honest word on how good it is.

use super::begin;
use super::look::Look;
use super::odds::in_all;
use super::words::{beyond, counted, crop_name, day, idle_in_full, percent, site_name};
use crate::domain::idle::Idle;
use crate::domain::ids::CropId;
use crate::domain::odds::Odds;
use crate::domain::plan::{Facts, NOTICEABLE, Plan, Serving};
use crate::domain::term::Term;
use crate::domain::variety::lacking;
use chrono::NaiveDate;
use std::collections::BTreeMap;

/// The sentences, one paragraph each. Sites without anything to do are among them.
pub fn lines(term: &Term, plan: &Plan, idle: &[Idle], odds: Option<&Odds>, look: &Look) -> String {
    let target: f64 = plan.servings.iter().map(|serving| serving.target).sum();
    let mut text = look.wrap(&amounts(term, plan, target, look));
    for sentence in lacks(term, plan, look) {
        text.push_str(&look.wrap(&sentence));
    }
    text.push_str(&look.wrap(&begin::in_all(&plan.batches, "")));
    for sentence in idle_sites(term, plan, idle) {
        text.push_str(&look.wrap(&sentence));
    }
    let mut sentences = sureness(&plan.facts, target, odds, look);
    if let Some(first) = sentences.first_mut().filter(|_| odds.is_some_and(|odds| !odds.days.is_empty())) {
        first.push_str(" Day by day: sowtide odds");
    }
    for sentence in sentences {
        text.push_str(&look.wrap(&sentence));
    }
    text
}

/// How sure a plan is, how close to its target any plan can come if it falls short, and whether the search was ended early.
pub(super) fn sureness(facts: &Facts, target: f64, odds: Option<&Odds>, look: &Look) -> Vec<String> {
    let is_short = facts.short_grams >= NOTICEABLE;
    let short = is_short.then(|| closeness(facts, target, look));
    let stopped = facts
        .stopped
        .then(|| "The search was ended early; with more time it may find a better plan.".to_owned());
    [odds.and_then(|odds| in_all(odds, is_short, look)), short, stopped].into_iter().flatten().collect()
}

fn amounts(term: &Term, plan: &Plan, target: f64, look: &Look) -> String {
    let planned: f64 = plan.servings.iter().map(|serving| serving.planned).sum();
    let tolerance = term.rules.tolerance;
    let missing = plan.servings.iter().filter(|serving| serving.short() >= NOTICEABLE);
    let (short, within): (Vec<&Serving>, Vec<&Serving>) =
        missing.partition(|serving| serving.is_short(tolerance));
    let grams = |servings: &[&Serving]| look.grams(servings.iter().map(|serving| serving.short()).sum());
    let mut shortfall = if short.is_empty() {
        "no day is short".to_owned()
    } else {
        format!("{} short on {}", grams(&short), counted(short.len() as u32, "serving day"))
    };
    if !within.is_empty() {
        let (less, days) = (grams(&within), counted(within.len() as u32, "day"));
        let tolerated = (1000.0 * tolerance).round() / 10.0;
        shortfall =
            format!("{shortfall}; {less} less than wanted on {days} within the {tolerated} % tolerated");
    }
    format!(
        "Target {} on {}, planned {} ({}): {shortfall}; {} {}.",
        look.grams(target),
        counted(plan.servings.len() as u32, "serving day"),
        look.grams(planned),
        percent(if target > 0.0 { planned / target } else { 1.0 }),
        beyond(term),
        look.grams(plan.facts.surplus_grams),
    )
}

/// Kinds and shares that the term asks for and does not get.
pub fn lacks(term: &Term, plan: &Plan, look: &Look) -> Vec<String> {
    let days = lacking(term, plan);
    let few: Vec<_> = days.iter().filter(|(_, day)| day.kinds_missing > 0).map(|(date, _)| *date).collect();
    let served =
        |day: &&NaiveDate| plan.servings.iter().any(|serving| serving.date == **day && serving.planned > 0.0);
    let kinds = few.iter().find(served).or(few.first()).map(|first| {
        format!(
            "{} without the {} of greens that the rules ask for; what is missing: sowtide explain --day {first}",
            counted(few.len() as u32, "serving day"),
            counted(term.rules.kinds, "kind"),
        )
    });
    let mut shares: BTreeMap<&CropId, (u32, f64)> = BTreeMap::new();
    for (crop, grams) in days.values().flat_map(|day| &day.below_share) {
        let (count, missing) = shares.entry(crop).or_default();
        (*count, *missing) = (*count + 1, *missing + grams);
    }
    let below = shares.into_iter().map(|(crop, (count, missing))| {
        format!(
            "{} with less {} than its least share: {} missing in all.",
            counted(count, "serving day"),
            crop_name(term, crop),
            look.grams(missing)
        )
    });
    kinds.into_iter().chain(below).collect()
}

/// Sites without anything to do, and why.
pub fn idle_sites(term: &Term, plan: &Plan, idle: &[Idle]) -> Vec<String> {
    let of_one = |idle: &Idle| {
        let site = site_name(term, &idle.site);
        let when = idle.stretch.map_or_else(
            || "in the whole term".to_owned(),
            |days| format!("from {} to {}", day(days.first), day(days.last)),
        );
        format!("Nothing to do at {site} {when}: {}", idle_in_full(idle, term, &plan.facts))
    };
    idle.iter().map(of_one).collect()
}

/// What is proven of the best possible plan, in sentences.
pub fn proof(plan: &Plan, look: &Look) -> String {
    let target = plan.servings.iter().map(|serving| serving.target).sum();
    let facts = &plan.facts;
    let mut text = look.wrap(&closeness(facts, target, look));
    if let Some(bound) = facts.cost_bound {
        text.push_str(&look.wrap(&cost_gap(facts.cost, bound)));
    }
    text
}

/// How close the plan comes to the target against the best possible one.
fn closeness(facts: &Facts, target: f64, look: &Look) -> String {
    match facts.short_bound_grams {
        None => "How close this is to the best possible plan was not worked out.".to_owned(),
        Some(bound) => shortfall_gap(facts.short_grams, bound, target, look),
    }
}

fn shortfall_gap(short: f64, bound: f64, target: f64, look: &Look) -> String {
    let gap = (short - bound).max(0.0);
    if gap < NOTICEABLE {
        return "No plan for this term comes closer to the target: that is proven.".to_owned();
    }
    format!(
        "No plan for this term can be less than {} short; this one is {} short. So at most {} ({} of the \
         term's target) is left to gain.",
        look.grams(bound.max(0.0)),
        look.grams(short),
        look.grams(gap),
        percent(if target > 0.0 { gap / target } else { 0.0 })
    )
}

fn cost_gap(cost: f64, bound: f64) -> String {
    let gap = if cost > 0.0 { ((cost - bound) / cost).max(0.0) } else { 0.0 };
    format!(
        "Shortfall, surplus, work and seeds together cost {cost:.1} points; no plan costs less than \
         {bound:.1} (gap {}). That bound counts on fractions of plants and batches, so a real plan may not reach it.",
        percent(gap)
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::units::Units;

    const LOOK: Look = Look { units: Units::Metric, width: 80, colour: false };

    fn facts(short: f64, bound: Option<f64>) -> Facts {
        Facts {
            solver: "test".into(),
            cost: 200.0,
            cost_bound: bound.map(|_| 150.0),
            short_grams: short,
            short_bound_grams: bound,
            surplus_grams: 0.0,
            effort: 1,
            seed: 1,
            seconds: 1.0,
            stopped: true,
        }
    }

    #[test]
    fn a_gap_is_told_in_grams_and_as_a_share_of_the_target() {
        let sentences = sureness(&facts(300.0, Some(100.0)), 10_000.0, None, &LOOK);
        assert!(sentences[0].contains("at most 200 g (2% of the term's target)"), "{sentences:?}");
        assert!(sentences[1].contains("ended early"), "{sentences:?}");
        assert!(cost_gap(200.0, 150.0).contains("(gap 25%)"));
    }

    #[test]
    fn nothing_is_claimed_without_a_bound() {
        let sentences = sureness(&facts(300.0, None), 10_000.0, None, &LOOK);
        assert!(sentences[0].contains("not worked out"), "{sentences:?}");
        assert!(closeness(&facts(0.2, Some(0.0)), 10_000.0, &LOOK).contains("proven"));
        assert_eq!(
            sureness(&facts(0.2, Some(0.0)), 10_000.0, None, &LOOK).len(),
            1,
            "only that it was ended early"
        );
    }
}
