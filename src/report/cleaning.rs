//! Tanks that are to be cleaned, for lists of work.

use super::Look;
use super::words::{and, day};
use crate::domain::calendar::DateSpan;
use crate::domain::plan::Plan;
use crate::domain::site::Site;
use crate::domain::term::Term;
use crate::domain::water::Solution;
use std::collections::BTreeMap;

/// One line a day on which tanks of the site are cleaned.
pub(super) fn lines(term: &Term, plan: &Plan, site: &Site, span: DateSpan, look: &Look) -> String {
    let mut days: BTreeMap<_, Vec<String>> = BTreeMap::new();
    for tank in &site.tanks {
        let cleanings = Solution::of(term, plan, site, &tank.id).cleanings;
        for cleaning in cleanings.iter().filter(|cleaning| span.contains(cleaning.day)) {
            days.entry(cleaning.day).or_default().push(tank.id.to_string());
        }
    }
    let told = days.iter().map(|(date, tanks)| {
        look.wrap_after(
            "Clean:   ",
            &format!(
                "tank {} on {}, after the harvest and before new plants; the care sheet says how",
                and(tanks),
                day(*date)
            ),
        )
    });
    told.collect()
}
