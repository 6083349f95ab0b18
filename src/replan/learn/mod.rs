//! What a term taught of the figures that plans count on: masses and days of each crop at each site, what crops grow to after a
//! cut, how many seeds come up and how many plants live.
//!
//! Each figure is believed as far as it was seen and no further ([`crate::domain::pooling`], [`crate::domain::shares`]), against
//! what crop library and term file say so far.

mod fit;
mod lives;
mod mass;
mod numbers;

use crate::domain::journal::Journal;
use crate::domain::learned::Lesson;
use crate::domain::plan::Plan;
use crate::domain::term::Term;
use crate::replan::replay::replay;
use crate::replan::weighed::by_eye::behind;
use crate::replan::weighed::records;
use chrono::NaiveDate;
use fit::Told;

/// Chance that a figure lies within the band told of it.
const BAND: f64 = 0.9;

/// What was learned until a day, sorted by crop, site and figure: every figure of which something was seen. `term` is the term
/// as it really is.
#[must_use]
pub fn learn(term: &Term, plan: &Plan, journal: &Journal, today: NaiveDate) -> Vec<Lesson> {
    let replayed = replay(term, plan, journal, today).batches;
    let records = records(plan, journal, today);
    let behind = behind(plan, journal, &records, today);
    let told = Told { term, plan, replayed: &replayed, records: &records, behind: &behind };
    let mut lessons = mass::lessons(&told);
    lessons.extend(lives::lessons(term, plan, &replayed, (journal, today)));
    lessons.sort_by(|a, b| a.of.cmp(&b.of));
    lessons
}
