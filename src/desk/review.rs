//! Looking back on a term.

use super::{Desk, Opened, Trouble};
use crate::domain::plan::Plan;
use crate::domain::review::Review;
use crate::replan::review::review;
use chrono::NaiveDate;

/// A term looked back on.
#[derive(Debug, Clone, PartialEq)]
pub struct Reviewed {
    /// What there is to tell.
    pub review: Review,
    /// Numbers of earlier plans that are not kept or cannot be read: batches that one of them promised are held against a later plan.
    pub unread: Vec<u32>,
}

impl Desk<'_> {
    /// Looks back on a term until a day.
    ///
    /// # Errors
    /// If the plans kept cannot be listed.
    pub fn review(&self, opened: &Opened, plan: &Plan, until: NaiveDate) -> Result<Reviewed, Trouble> {
        let kept = self.history()?.plans;
        // A plan made anew forgets what was promised before it.
        let anew = kept.iter().rfind(|kept| kept.revision < plan.revision && kept.replanned.is_none());
        let first =
            if plan.replanned.is_none() { plan.revision } else { anew.map_or(1, |anew| anew.revision) };
        let is_kept = |number: &u32| kept.iter().any(|plan| plan.revision == *number);
        let unread = (first..plan.revision).filter(|number| !is_kept(number)).collect();
        let review = review(&opened.read.term, (plan, &kept), &opened.journal.journal, until);
        Ok(Reviewed { review, unread })
    }
}
