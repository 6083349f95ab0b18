//! What the plants of a plan drink, tank by tank, and when the solution is changed.
//!
//! A plant counts with the water a full-grown one of its crop uses, from the day it is moved to the tank
//! until the day it is pulled. Young plants drink less, so every figure here is an upper one.

use super::calendar::{Absence, DateSpan, days_between, plus_days};
use super::crop::Crop;
use super::ids::{SiteId, TankId};
use super::plan::{Batch, Part, Plan};
use super::site::{Site, Tank};
use super::term::Term;
use chrono::NaiveDate;

/// Parts that stand in a tank at the end of `day`, with their batches.
pub fn standing<'a>(
    plan: &'a Plan,
    site: &SiteId,
    tank: &TankId,
    day: NaiveDate,
) -> impl Iterator<Item = (&'a Batch, &'a Part)> {
    plan.batches
        .iter()
        .filter(move |batch| batch.site == *site)
        .flat_map(|batch| batch.parts.iter().map(move |part| (batch, part)))
        .filter(move |(_, part)| part.tank == *tank && part.stands_on(day))
}

/// Litres a day that a tank's plants use from the end of `day` on. Crops the term does not know count
/// nothing.
pub fn litres_a_day(term: &Term, plan: &Plan, site: &Site, tank: &TankId, day: NaiveDate) -> f64 {
    standing(plan, &site.id, tank, day)
        .filter_map(|(batch, part)| {
            Some(f64::from(part.plants) * term.crop(&batch.crop)?.crop.water_a_day.value)
        })
        .sum()
}

/// Litres a tank's plants use in a stretch of days.
pub fn litres(term: &Term, plan: &Plan, site: &Site, tank: &TankId, span: DateSpan) -> f64 {
    span.days().map(|day| litres_a_day(term, plan, site, tank, day)).sum()
}

/// Crops that stand in a tank on any day of a stretch, each once, sorted by id.
pub fn crops<'a>(term: &'a Term, plan: &Plan, site: &Site, tank: &TankId, span: DateSpan) -> Vec<&'a Crop> {
    let mut crops: Vec<&Crop> = span
        .days()
        .flat_map(|day| standing(plan, &site.id, tank, day).map(|(batch, _)| &batch.crop).collect::<Vec<_>>())
        .filter_map(|id| Some(&term.crop(id)?.crop))
        .collect();
    crops.sort_by(|one, other| one.id.cmp(&other.id));
    crops.dedup_by(|one, other| one.id == other.id);
    crops
}

/// How a tank's water lasts over an absence, topped up when people leave.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reserve {
    /// Litres the plants use a day.
    pub litres_a_day: f64,
    /// Litres they use until people are back.
    pub needed: f64,
    /// Litres they can draw.
    pub usable: f64,
    /// Last day the water is enough for, counted from a full tank; none if nothing drinks.
    pub lasts_until: Option<NaiveDate>,
}

/// How the water of `tank` lasts over `absence`.
pub fn reserve(term: &Term, plan: &Plan, site: &Site, tank: &Tank, absence: Absence) -> Reserve {
    let a_day = litres_a_day(term, plan, site, &tank.id, absence.leave);
    let lasts_until = (a_day > 0.0).then(|| {
        // A hundredth of a litre is far below what anybody can measure in a tank.
        let days = ((tank.usable_litres + 0.01) / a_day).floor();
        plus_days(absence.from, days as u32)
    });
    Reserve {
        litres_a_day: a_day,
        needed: a_day * f64::from(absence.alone),
        usable: tank.usable_litres,
        lasts_until,
    }
}

/// When a tank is filled and its solution changed.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Solution {
    /// Day the tank is filled anew for its first plants; none if it never holds any, or was filled before
    /// the term.
    pub filled: Option<NaiveDate>,
    /// Class days on which the whole solution is changed.
    pub changes: Vec<NaiveDate>,
    /// When it is cleaned.
    pub cleanings: Vec<Cleaning>,
}

/// A cleaning of a tank.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Cleaning {
    /// Class day on which the tank is empty, drained and scrubbed.
    pub day: NaiveDate,
    /// Day on which it is filled anew for the plants that come next: the same day, or a later one.
    pub filled: NaiveDate,
}

/// Days before a cleaning in which a change of the solution is not worth its water and nutrients (common practice, no source).
const CLEANED_SOON: i64 = 10;

impl Solution {
    /// Works out the days: filled when the first plants come, changed on the first class day `weeks` weeks
    /// after that or later on which plants stand in the tank, and so on. A tank with plants from before the
    /// term counts as filled on the term's first day. Cleaning makes a change of its own needless.
    pub fn of(term: &Term, plan: &Plan, site: &Site, tank: &TankId) -> Self {
        let stays = Stays::of(plan, &site.id, tank);
        let Some(first) = stays.next_arrival(NaiveDate::MIN) else {
            return Self::default();
        };
        let cleanings = stays.cleanings(term, site);
        let mut last = first.max(term.start);
        let mut changes = Vec::new();
        for &day in &site.class_days {
            let due = days_between(last, day) >= 7 * i64::from(term.supplies.change_weeks);
            let soon = |cleaning: &&Cleaning| (0..=CLEANED_SOON).contains(&days_between(day, cleaning.day));
            if let Some(cleaning) = cleanings.iter().find(|cleaning| cleaning.day == day) {
                last = cleaning.filled;
            } else if due
                && !cleanings.iter().any(|cleaning| soon(&cleaning))
                && standing(plan, &site.id, tank, day).next().is_some()
            {
                changes.push(day);
                last = day;
            }
        }
        Self { filled: (first >= term.start).then_some(first), changes, cleanings }
    }

    /// Days on which an empty tank is filled that is not cleaned that day.
    pub fn fill_days(&self) -> Vec<NaiveDate> {
        let left_dry = self.cleanings.iter().filter(|cleaning| cleaning.day < cleaning.filled);
        self.filled.into_iter().chain(left_dry.map(|cleaning| cleaning.filled)).collect()
    }

    /// How often the whole tank is filled.
    pub fn fillings(&self) -> u32 {
        u32::from(self.filled.is_some()) + (self.changes.len() + self.cleanings.len()) as u32
    }
}

/// For each part in a tank, the day it comes and the day it leaves, by day.
struct Stays(Vec<(NaiveDate, NaiveDate)>);

impl Stays {
    fn of(plan: &Plan, site: &SiteId, tank: &TankId) -> Self {
        let here = plan.batches.iter().filter(|batch| batch.site == *site);
        let parts = here.flat_map(|batch| &batch.parts);
        let planted = parts.filter(|part| part.tank == *tank && !part.lost_in_nursery());
        let mut stays: Vec<(NaiveDate, NaiveDate)> =
            planted.map(|part| (part.transplant, part.leaves().unwrap_or(NaiveDate::MAX))).collect();
        stays.sort_unstable();
        Self(stays)
    }

    /// Day on which the next plants come, from a day on.
    fn next_arrival(&self, from: NaiveDate) -> Option<NaiveDate> {
        self.0.iter().map(|(came, _)| *came).find(|came| *came >= from)
    }

    /// Class days on which the tank is to be cleaned: each time the last on which it is empty before the limit is over,
    /// unless no plants come any more.
    fn cleanings(&self, term: &Term, site: &Site) -> Vec<Cleaning> {
        let Some(weeks) = term.rules.clean_every else { return Vec::new() };
        let stays_over = |day: NaiveDate| self.0.iter().any(|(came, leaves)| *came < day && day < *leaves);
        let last = self.0.iter().map(|(_, leaves)| *leaves).max();
        let mut found = Vec::new();
        let mut next = self.next_arrival(NaiveDate::MIN);
        while let (Some(came), Some(last)) = (next, last) {
            let limit = plus_days(came, 7 * weeks);
            let empty = site.class_days.iter().copied().filter(|day| came < *day && !stays_over(*day));
            let (within, late): (Vec<NaiveDate>, Vec<NaiveDate>) = empty.partition(|day| *day <= limit);
            let Some(day) = within.last().or(late.first()).copied().filter(|_| last > limit) else { break };
            next = self.next_arrival(day);
            found.extend(next.map(|filled| Cleaning { day, filled }));
        }
        found
    }
}
