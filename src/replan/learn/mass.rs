//! Figures of masses, days and regrowth, as weighed harvests tell them ([`super::fit`]).

use super::BAND;
use super::fit::{Fit, Told, again};
use crate::domain::chance::deviations;
use crate::domain::crop::{Crop, Regrowth};
use crate::domain::ids::CropId;
use crate::domain::learned::{Figure, Lesson, NOT_KNOWN, Of};
use crate::domain::site::Site;
use std::ops::RangeInclusive;

/// Paces and yields that term files may have.
const PACES: RangeInclusive<f64> = 0.5..=2.0;
const YIELDS: RangeInclusive<f64> = 0.2..=2.0;
/// Vigours that crop files may have.
const VIGOURS: RangeInclusive<f64> = 0.2..=1.0;
/// Share of a mass, for a little more regrowth, from which on it counts as depending on it.
const DEPENDS: f64 = 0.001;

/// Every figure of which plants were weighed, and those of which others tell so much that it is worth writing down.
pub(super) fn lessons(told: &Told<'_>) -> Vec<Lesson> {
    let Some(fit) = told.fit() else { return Vec::new() };
    let term = told.term;
    let mut lessons = Vec::new();
    for (crop, wanted) in term.crops.iter().enumerate() {
        for (site, here) in term.sites.iter().enumerate() {
            if wanted.may_begin_at(&here.id) {
                lessons.extend(of_place(&fit, (here, site), (&wanted.crop, crop)));
            }
        }
        let seen = fit.plants(|harvest| harvest.place.1 == crop && harvest.regrowth.abs() > DEPENDS);
        if let Some(regrowth) = wanted.crop.regrowth.as_ref().filter(|_| seen > 0) {
            let factors = range(&fit, &[fit.numbers.regrowth(crop)]).map(again);
            lessons.extend(of_regrowth(&wanted.crop.id, regrowth, factors, seen));
        }
    }
    lessons
}

/// What becomes of a crop's regrowth: lowest, believed and highest factor for it.
fn of_regrowth(crop: &CropId, regrowth: &Regrowth, factors: [f64; 3], seen: u32) -> Vec<Lesson> {
    let lesson = |figure, before, [low, now, high]: [f64; 3]| {
        let band = (low.min(high), low.max(high));
        let of = Of { crop: crop.clone(), site: None, figure };
        Lesson { of, before, now, band, seen }
    };
    let vigour = regrowth.vigour.value;
    let vigours = factors.map(|factor| within(vigour * factor, &VIGOURS));
    let mut lessons = vec![lesson(Figure::Vigour, vigour, vigours)];
    if let Some(strength) = regrowth.strength.value.first() {
        lessons.push(lesson(Figure::Strength, *strength, factors.map(|factor| (strength * factor).min(1.0))));
    }
    // The same mass takes longer the weaker a plant grows, but for the days on which it does not grow at all. Who waits longer than
    // the crop allows gets old leaves for it.
    let days = regrowth.interval.value;
    let (usual, lag) = (f64::from(days.usual), regrowth.lag.value);
    let longer = |now: f64| (lag + (usual - lag).max(1.0) * vigour / now).min(f64::from(days.max));
    let days = vigours.map(longer);
    lessons.push(lesson(Figure::Interval, usual, days));
    lessons
}

fn within(figure: f64, range: &RangeInclusive<f64>) -> f64 {
    figure.clamp(*range.start(), *range.end())
}

/// What is believed of a crop at a site, each with its place in the term. Where it was not weighed itself, nothing unless others
/// tell much.
fn of_place(fit: &Fit, (here, site): (&Site, usize), (own, crop): (&Crop, usize)) -> Vec<Lesson> {
    let (place, stated) = ((site, crop), here.as_stated(&own.id));
    let seen = fit.plants(|harvest| harvest.place == place);
    let lesson = |figure, before, [low, now, high]: [f64; 3]| {
        let of = Of { crop: own.id.clone(), site: Some(here.id.clone()), figure };
        Lesson { of, before, now, band: (low, high), seen }
    };
    let told = |before: f64, sum: &[(usize, f64)], limits: &RangeInclusive<f64>| {
        range(fit, sum).map(f64::exp).map(|factor| within(before * factor, limits))
    };
    let off = fit.deviation(&fit.numbers.mass(place, own)).min(NOT_KNOWN);
    let lessons = [
        lesson(
            Figure::Yield,
            stated.yield_factor,
            told(stated.yield_factor, &fit.numbers.yields(place), &YIELDS),
        ),
        lesson(Figure::Pace, stated.pace, told(stated.pace, &fit.numbers.paces(place), &PACES)),
        lesson(Figure::GiveOrTake, stated.give_or_take.unwrap_or(NOT_KNOWN), [off; 3]),
    ];
    let worth_it = seen > 0 || lessons[..2].iter().any(Lesson::is_worth_it);
    lessons.into_iter().filter(|_| worth_it).collect()
}

/// Lowest, believed and highest sum of effects.
fn range(fit: &Fit, sum: &[(usize, f64)]) -> [f64; 3] {
    let reach = deviations(f64::midpoint(1.0, BAND)) * fit.deviation(sum);
    [-reach, 0.0, reach].map(|off| fit.mean(sum) + off)
}
