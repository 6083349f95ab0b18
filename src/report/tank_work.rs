//! What is to be done with the tanks themselves, for lists of work: filled, cleaned, and their solution changed.

use super::Look;
use super::words::{and, day};
use crate::domain::calendar::DateSpan;
use crate::domain::plan::Plan;
use crate::domain::site::Site;
use crate::domain::term::Term;
use crate::domain::water::Solution;
use chrono::NaiveDate;
use std::collections::BTreeMap;

/// What is done with a tank.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum TankWork {
    /// It is empty, and is drained and scrubbed.
    Clean,
    /// It is filled for the plants that come.
    Fill,
    /// Its whole solution is changed under the plants.
    Change,
}

/// Tanks of the site with which something is done in a stretch of days, by day.
pub(super) fn by_day(
    term: &Term,
    plan: &Plan,
    site: &Site,
    span: DateSpan,
) -> BTreeMap<(NaiveDate, TankWork), Vec<String>> {
    let mut days: BTreeMap<(NaiveDate, TankWork), Vec<String>> = BTreeMap::new();
    for tank in &site.tanks {
        let solution = Solution::of(term, plan, site, &tank.id);
        let cleaned = solution.cleanings.iter().map(|cleaning| (cleaning.day, TankWork::Clean));
        let filled = solution.fill_days().into_iter().map(|day| (day, TankWork::Fill));
        let changed = solution.changes.iter().map(|day| (*day, TankWork::Change));
        for due in cleaned.chain(filled).chain(changed).filter(|(day, _)| span.contains(*day)) {
            days.entry(due).or_default().push(tank.id.to_string());
        }
    }
    days
}

/// Tanks of the site with which this is done on a day.
pub(super) fn on(term: &Term, plan: &Plan, site: &Site, date: NaiveDate, work: TankWork) -> Vec<String> {
    by_day(term, plan, site, DateSpan { first: date, last: date }).remove(&(date, work)).unwrap_or_default()
}

/// One line for each day and kind of work.
pub(super) fn lines(term: &Term, plan: &Plan, site: &Site, span: DateSpan, look: &Look) -> String {
    let days = by_day(term, plan, site, span).into_iter();
    days.map(|((date, work), tanks)| {
        let (what, tanks, date) = (format!("{}:", work.word()), and(&tanks), day(date));
        let text = format!("tank {tanks} on {date}, {}; the care sheet says how", work.when());
        look.wrap_after(&format!("{what:<9}"), &text)
    })
    .collect()
}

/// What is done with the site's tanks on a day, in a sentence: `Tanks this day: clean a-1, after the harvest and before new
/// plants. The care sheet says how.`
pub(super) fn sentence(term: &Term, plan: &Plan, site: &Site, date: NaiveDate) -> Option<String> {
    let due = by_day(term, plan, site, DateSpan { first: date, last: date });
    let told = due
        .iter()
        .map(|((_, work), tanks)| format!("{} {}, {}", work.word().to_lowercase(), and(tanks), work.when()));
    let told: Vec<String> = told.collect();
    (!told.is_empty()).then(|| format!("Tanks this day: {}. The care sheet says how.", told.join("; ")))
}

impl TankWork {
    fn word(self) -> &'static str {
        match self {
            Self::Clean => "Clean",
            Self::Fill => "Fill",
            Self::Change => "Change",
        }
    }

    fn when(self) -> &'static str {
        match self {
            Self::Clean => "after the harvest and before new plants",
            Self::Fill => "before plants come",
            Self::Change => "all the solution",
        }
    }
}
