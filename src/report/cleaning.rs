//! Tanks that are to be cleaned, for lists of work.

use super::Look;
use super::words::{and, day};
use crate::domain::calendar::DateSpan;
use crate::domain::plan::Plan;
use crate::domain::site::Site;
use crate::domain::term::Term;
use crate::domain::water::Solution;
use chrono::NaiveDate;
use std::collections::BTreeMap;

/// Tanks of the site that are cleaned in a stretch of days, by day.
pub(super) fn by_day(
    term: &Term,
    plan: &Plan,
    site: &Site,
    span: DateSpan,
) -> BTreeMap<NaiveDate, Vec<String>> {
    let mut days: BTreeMap<NaiveDate, Vec<String>> = BTreeMap::new();
    for tank in &site.tanks {
        let cleanings = Solution::of(term, plan, site, &tank.id).cleanings;
        for cleaning in cleanings.iter().filter(|cleaning| span.contains(cleaning.day)) {
            days.entry(cleaning.day).or_default().push(tank.id.to_string());
        }
    }
    days
}

/// One line a day on which tanks of the site are cleaned.
pub(super) fn lines(term: &Term, plan: &Plan, site: &Site, span: DateSpan, look: &Look) -> String {
    let days = by_day(term, plan, site, span).into_iter();
    days.map(|(date, tanks)| {
        let what = format!(
            "tank {} on {}, after the harvest and before new plants; the care sheet says how",
            and(&tanks),
            day(date)
        );
        look.wrap_after("Clean:   ", &what)
    })
    .collect()
}
