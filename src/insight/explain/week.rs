//! How full a week is.

use super::explain;
use crate::domain::calendar::{DateSpan, Week};
use crate::domain::explain::{SiteWeek, WeekExplained};
use crate::domain::odds::Odds;
use crate::domain::plan::Plan;
use crate::domain::room::{all_holes, over, weekly_most};
use crate::domain::site::Site;
use crate::domain::tasks::tasks;
use crate::domain::term::Term;
use crate::schedule::Watch;
use chrono::{Datelike, NaiveDate};

/// Explains a week.
pub fn of_week(term: &Term, plan: &Plan, odds: &Odds, week: Week, watch: &Watch) -> WeekExplained {
    let days = DateSpan { first: week.monday(), last: week.sunday() };
    let tasks = tasks(term, plan);
    let of_site = |site: &Site| {
        let in_term = DateSpan { first: days.first.max(term.start), last: days.last.min(term.end) };
        let most = weekly_most(&over(term, plan, site, in_term)).into_iter().next();
        let usual = site.usual_weekdays();
        let missed = |day: NaiveDate| days.contains(day) && usual.contains(&day.weekday());
        let off = site.days_off.iter().filter(|off| off.span.days().any(missed));
        let here = tasks.iter().filter(|task| task.batch.site == site.id && days.contains(task.date));
        SiteWeek {
            site: site.id.clone(),
            class_days: site.class_days.iter().filter(|day| days.contains(**day)).copied().collect(),
            days_off: off.map(|off| off.name.clone()).collect(),
            in_use: most.map(|(_, room)| room).unwrap_or_default(),
            cells: site.nursery.cells,
            holes: all_holes(site),
            tasks: here.count() as u32,
        }
    };
    let days = explain(term, plan, odds, Some(days), watch);
    WeekExplained { week, days, sites: term.sites.iter().map(of_site).collect() }
}
