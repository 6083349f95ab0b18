//! Whether an entry's day fits term and calendar.

use super::Known;
use super::said::Said;
use crate::domain::calendar::plus_days;
use crate::domain::journal::{Entry, Kind, TargetHolds, What};
use crate::domain::site::Site;
use crate::replan::refusal::Refusal;
use chrono::NaiveDate;

/// Whether the day lies in the term and, unless it can be known in advance, not in the future.
pub(super) fn in_term(known: &Known<'_>, entry: &Entry) -> Result<(), Refusal> {
    let (start, end) = (known.term.start, known.term.own_end());
    let until = match entry.what {
        What::TankOut { until, .. } => until,
        What::PutOff { until, .. } => Some(until),
        _ => None,
    };
    if let Some(day) = [Some(entry.day), until].into_iter().flatten().find(|day| !(start..=end).contains(day))
    {
        return Err(Refusal::OutsideTerm { day, term: (start, end) });
    }
    let at_least = if entry.what.kind() == Kind::PutOff { plus_days(entry.day, 1) } else { entry.day };
    if until.is_some_and(|until| until < at_least) {
        return Err(Refusal::Backwards);
    }
    if entry.day > known.today && !entry.what.kind().may_lie_ahead() {
        return Err(Refusal::Future { day: entry.day, today: known.today });
    }
    Ok(())
}

/// Whether class days and serving days are what the entry takes them for.
pub(super) fn fits_the_calendar(known: &Known<'_>, said: &Said<'_>, entry: &Entry) -> Result<(), Refusal> {
    match &entry.what {
        What::ClassLost if !sites(known, entry).any(|site| meets(said, entry, site)) => {
            Err(Refusal::NoClass(entry.day))
        }
        What::ClassAdded if sites(known, entry).all(|site| meets(said, entry, site)) => {
            Err(Refusal::ClassAnyway(entry.day))
        }
        What::TargetChanged { holds, .. } => something_is_served(known, entry.day, *holds),
        _ => Ok(()),
    }
}

fn sites<'a>(known: &Known<'a>, entry: &'a Entry) -> impl Iterator<Item = &'a Site> {
    known.term.sites.iter().filter(|site| entry.concerns(&site.id))
}

/// Whether a class meets at the site on the entry's day, by the term and by what was recorded besides.
fn meets(said: &Said<'_>, entry: &Entry, site: &Site) -> bool {
    let mut meets = site.meets_on(entry.day);
    for other in said.on(entry.day) {
        if other.concerns(&site.id) && Some(other.id) != entry.replaces {
            match other.what.kind() {
                Kind::ClassLost => meets = false,
                Kind::ClassAdded => meets = true,
                _ => {}
            }
        }
    }
    meets
}

fn something_is_served(known: &Known<'_>, day: NaiveDate, holds: TargetHolds) -> Result<(), Refusal> {
    let servings = || known.term.servings.iter().map(|serving| serving.date);
    let found = match holds {
        TargetHolds::ThatDay => servings().any(|serving| serving == day),
        TargetHolds::FromThenOn => servings().any(|serving| serving >= day),
    };
    if found {
        return Ok(());
    }
    let before = servings().filter(|serving| *serving < day).max();
    let after = servings().filter(|serving| *serving > day).min();
    let near = match holds {
        TargetHolds::ThatDay => before.into_iter().chain(after).collect(),
        TargetHolds::FromThenOn => Vec::new(),
    };
    Err(Refusal::NothingServed { day, near })
}
