//! What the journal says about days, tanks and targets, laid over the term.

use crate::domain::calendar::{DateSpan, DaysOff, DaysOffKind};
use crate::domain::ids::TankId;
use crate::domain::journal::{Entry, Journal, TargetHolds, What};
use crate::domain::site::Site;
use crate::domain::term::{ServingTarget, Term};
use chrono::NaiveDate;

/// What a class day without class is called among the days off.
const NO_CLASS: &str = "no class";

/// The term as it really is: class days that were lost or added, tanks out of use, other targets, work that was put off.
#[must_use]
pub fn laid_over(term: &Term, journal: &Journal) -> Term {
    let mut term = term.clone();
    // The term file may have got other ends since something was recorded.
    let within = term.start..=term.end;
    for entry in journal.in_force().into_iter().filter(|entry| within.contains(&entry.day)) {
        for site in term.sites.iter_mut().filter(|site| entry.concerns(&site.id)) {
            at_site(site, entry);
        }
        if let What::TargetChanged { holds, grams } = entry.what {
            target(&mut term.servings, entry.day, holds, grams);
        }
    }
    term.put_off = super::put_off::all(journal);
    for site in &mut term.sites {
        site.days_off.sort_by_key(|off| off.span);
    }
    term.servings.retain(|serving| serving.grams > 0.0);
    term
}

fn at_site(site: &mut Site, entry: &Entry) {
    let day = entry.day;
    match &entry.what {
        What::ClassLost => {
            site.class_days.retain(|class| *class != day);
            let (name, span) = (NO_CLASS.to_owned(), DateSpan { first: day, last: day });
            site.days_off.push(DaysOff { name, span, kind: DaysOffKind::Closure });
        }
        What::ClassAdded => {
            if let Err(place) = site.class_days.binary_search(&day) {
                site.class_days.insert(place, day);
            }
        }
        What::TankOut { tank, until } => {
            let last = until.unwrap_or(NaiveDate::MAX);
            outs(site, tank, |out| out.push(DateSpan { first: day, last }));
        }
        What::TankBack { tank } => outs(site, tank, |out| {
            for span in out.iter_mut().filter(|span| span.contains(day)) {
                span.last = day.pred_opt().unwrap_or(day);
            }
            // A tank that is back on the day it went out was never out.
            out.retain(|span| span.first <= span.last);
        }),
        _ => {}
    }
}

fn outs(site: &mut Site, id: &TankId, change: impl Fn(&mut Vec<DateSpan>)) {
    for tank in site.tanks.iter_mut().filter(|tank| tank.id == *id) {
        change(&mut tank.out);
    }
}

/// Sets the target of a day, or of all from that day on.
fn target(servings: &mut Vec<ServingTarget>, day: NaiveDate, holds: TargetHolds, grams: f64) {
    let place = servings.partition_point(|serving| serving.date < day);
    // A day that comes in is promised as much as the one before.
    let near = place.checked_sub(1).unwrap_or(place);
    let sure = servings.get(near).map_or(0.0, |serving| serving.sure);
    match holds {
        TargetHolds::FromThenOn => servings[place..].iter_mut().for_each(|serving| serving.grams = grams),
        TargetHolds::ThatDay => match servings.get_mut(place).filter(|serving| serving.date == day) {
            Some(serving) => serving.grams = grams,
            None => servings.insert(place, ServingTarget { date: day, grams, sure }),
        },
    }
}
