//! Greens are served on serving days while they keep, serving days add up, and shares are kept.

use super::subject::{Known, Subject};
use super::violation::{Findings, Rule, Violation, count, figure, say, unlike};
use super::{GRAMS, agree, exceeds};
use crate::domain::calendar::plus_days;
use crate::domain::ids::{CropId, SiteId, TankId};
use crate::domain::plan::{Batch, NOTICEABLE, Part, Serving};
use crate::domain::term::ServingTarget;
use chrono::NaiveDate;
use std::collections::BTreeMap;

pub(super) fn check(subject: &Subject<'_>, found: &mut Findings) {
    serves(subject, found);
    same_days(subject, found);
    planned(subject, found);
    left_over(subject, found);
    for serving in &subject.term.servings {
        crop_shares(subject, serving, found);
        tank_shares(subject, serving, found);
    }
}

/// Grams of each crop on a serving day.
pub(super) fn grams_by_crop<'a>(subject: &Subject<'a>, day: NaiveDate) -> BTreeMap<&'a CropId, f64> {
    let mut grams = BTreeMap::new();
    for (batch, _, served) in served_on(subject, day) {
        *grams.entry(&batch.crop).or_default() += served;
    }
    grams
}

/// What serves a day. Batches with unknown names count, too: they are reported once, and sums should
/// not seem wrong because of them.
fn served_on<'a>(subject: &Subject<'a>, day: NaiveDate) -> impl Iterator<Item = (&'a Batch, &'a Part, f64)> {
    let plan = subject.plan;
    let parts = plan.batches.iter().flat_map(|batch| batch.parts.iter().map(move |part| (batch, part)));
    parts.flat_map(move |(batch, part)| {
        let serves = part.harvests.iter().flat_map(|harvest| &harvest.serves);
        serves.filter(move |served| served.date == day).map(move |served| (batch, part, served.grams))
    })
}

fn serves(subject: &Subject<'_>, found: &mut Findings) {
    for (known, part) in subject.parts() {
        for harvest in &part.part.harvests {
            let keeps = known.figures().keeps(harvest);
            let mut complain = |message: String| {
                found.push(
                    Violation::new(Rule::Serves, message)
                        .on(harvest.date)
                        .at(&known.site.id)
                        .of(&known.batch.id),
                );
            };
            for served in &harvest.serves {
                let day = served.date;
                if !subject.term.servings.iter().any(|serving| serving.date == day) {
                    complain(format!("{} is not a serving day of the term", say(day)));
                }
                if day < harvest.date || day > plus_days(harvest.date, keeps) {
                    complain(format!(
                        "this harvest cannot serve {}; {} keeps for {} after harvest",
                        say(day),
                        known.wanted.crop.name,
                        count(keeps, "day")
                    ));
                }
                if exceeds(0.0, served.grams, 0.0) || !served.grams.is_finite() {
                    complain(format!("{} g on {} cannot be", served.grams, say(day)));
                }
            }
            let sum: f64 = harvest.serves.iter().map(|served| served.grams).sum();
            if exceeds(sum, harvest.grams, GRAMS) {
                let [served, given] = unlike(sum, harvest.grams);
                complain(format!("{served} g of this harvest are served, but it gives {given} g"));
            }
        }
    }
}

/// The plan lists exactly the term's serving days, with the term's targets.
fn same_days(subject: &Subject<'_>, found: &mut Findings) {
    let wanted: BTreeMap<NaiveDate, f64> =
        subject.term.servings.iter().map(|serving| (serving.date, serving.grams)).collect();
    let mut listed: BTreeMap<NaiveDate, u32> = BTreeMap::new();
    for serving in &subject.plan.servings {
        *listed.entry(serving.date).or_default() += 1;
        let message = match wanted.get(&serving.date) {
            None => "the plan lists this day, but it is not a serving day of the term".to_owned(),
            Some(target) if !agree(serving.target, *target, 1e-6) => {
                let [listed, wanted] = unlike(serving.target, *target);
                format!("the target is {listed} g in the plan, but {wanted} g in the term")
            }
            Some(_) => continue,
        };
        found.push(Violation::new(Rule::Planned, message).on(serving.date));
    }
    for day in wanted.keys() {
        let message = match listed.get(day) {
            Some(1) => continue,
            Some(_) => "the plan lists this serving day more than once",
            None => "the plan leaves out this serving day",
        };
        found.push(Violation::new(Rule::Planned, message).on(*day));
    }
}

fn planned(subject: &Subject<'_>, found: &mut Findings) {
    for serving in &subject.plan.servings {
        let served: f64 = grams_by_crop(subject, serving.date).values().sum();
        let complain = |message| Violation::new(Rule::Planned, message).on(serving.date);
        if exceeds((serving.planned - served).abs(), 0.0, GRAMS) {
            let [planned, brought] = unlike(serving.planned, served);
            found.push(complain(format!("{planned} g are planned, but the harvests bring {brought} g")));
        }
        if exceeds(serving.planned, serving.target, GRAMS) {
            let [planned, target] = unlike(serving.planned, serving.target);
            found.push(complain(format!(
                "{planned} g are planned, more than the target of {target} g; what is left over is surplus"
            )));
        }
        if serving.shortfall.is_some() && !exceeds(serving.target, serving.planned, GRAMS) {
            let message = "a reason is given why this day is short, but it gets all that is wanted; take its \
                           \"shortfall:\" out";
            found.push(Violation::new(Rule::Reasons, message).on(serving.date));
        }
        if serving.shortfall.is_none() && exceeds(serving.short(), NOTICEABLE, GRAMS) {
            let message = format!(
                "{} g are missing on this day, but no reason is given; put its \"shortfall:\" back, which is search where nobody knows it",
                figure(serving.short())
            );
            found.push(Violation::new(Rule::Reasons, message).on(serving.date));
        }
    }
}

/// What is left over of a harvest could not have been served on a short day. Each serving day takes all it may of what is there.
fn left_over(subject: &Subject<'_>, found: &mut Findings) {
    for (known, part) in subject.parts() {
        for harvest in part.part.harvests.iter().filter(|harvest| harvest.surplus() >= NOTICEABLE) {
            let last = plus_days(harvest.date, known.figures().keeps(harvest));
            let days = subject.plan.servings.iter();
            let wanting = days.filter(|serving| (harvest.date..=last).contains(&serving.date));
            let could = wanting.map(|serving| {
                let room = serving.short().min(room(subject, known, part.part, serving));
                (serving, harvest.surplus().min(room))
            });
            let Some((serving, grams)) = could.into_iter().find(|(_, grams)| *grams >= NOTICEABLE) else {
                continue;
            };
            let message = format!(
                "{} g of this harvest serve no day, but {} g of them could be served on {}, which is short; plan again, or put \
                 them under its \"serves:\"",
                figure(harvest.surplus()),
                figure(grams),
                say(serving.date)
            );
            found.push(
                Violation::new(Rule::Serves, message).on(harvest.date).at(&known.site.id).of(&known.batch.id),
            );
        }
    }
}

/// Grams that a serving day may take from a part beside what it gets, as far as limits on crops and tanks go.
fn room(subject: &Subject<'_>, known: &Known<'_>, part: &Part, serving: &Serving) -> f64 {
    let of_crop = grams_by_crop(subject, serving.date).get(&known.batch.crop).copied().unwrap_or(0.0);
    let of_tank: f64 = served_on(subject, serving.date)
        .filter(|(batch, other, _)| batch.site == known.batch.site && other.tank == part.tank)
        .map(|(_, _, grams)| grams)
        .sum();
    let share = subject.term.rules.one_tank_at_most;
    let for_crop = known.wanted.at_most * serving.target - of_crop;
    if share < 1.0 { for_crop.min(share * serving.target - of_tank) } else { for_crop }
}

fn crop_shares(subject: &Subject<'_>, serving: &ServingTarget, found: &mut Findings) {
    let grams = grams_by_crop(subject, serving.date);
    // What covers more than the whole target is told with the sum of the day.
    for wanted in subject.term.crops.iter().filter(|wanted| wanted.at_most < 1.0) {
        let served = grams.get(&wanted.crop.id).copied().unwrap_or(0.0);
        let limit = wanted.at_most * serving.grams;
        if exceeds(served, limit, GRAMS) {
            let message = format!(
                "{} covers {served:.2} g; it may cover {limit:.2} g, {:.0} % of the target",
                wanted.crop.name,
                wanted.at_most * 100.0
            );
            found.push(Violation::new(Rule::CropShare, message).on(serving.date));
        }
    }
}

fn tank_shares(subject: &Subject<'_>, serving: &ServingTarget, found: &mut Findings) {
    let share = subject.term.rules.one_tank_at_most;
    if share >= 1.0 {
        return;
    }
    let mut grams: BTreeMap<(&SiteId, &TankId), f64> = BTreeMap::new();
    for (batch, part, served) in served_on(subject, serving.date) {
        *grams.entry((&batch.site, &part.tank)).or_default() += served;
    }
    let limit = share * serving.grams;
    for ((site, tank), served) in grams {
        if exceeds(served, limit, GRAMS) {
            let message = format!(
                "tank {tank} carries {served:.2} g; one tank may carry {limit:.2} g, {:.0} % of the target",
                share * 100.0
            );
            found.push(Violation::new(Rule::TankShare, message).on(serving.date).at(site));
        }
    }
}
