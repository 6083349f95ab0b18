//! What a plan on file says of the journal or of its own making that cannot be so.

use super::open::list;
use super::{Desk, Opened};
use crate::domain::plan::{Facts, Part, Plan};
use crate::files::history::{self, NEWEST};
use crate::report::words::long_day;

/// Points or grams by which somebody may have rounded a bound.
const ROUNDED: f64 = 0.01;

impl Desk<'_> {
    /// What a plan on file says of the journal or of its own making that cannot be so, each with the way to mend it.
    #[must_use]
    pub fn unfounded(&self, opened: &Opened) -> Vec<String> {
        let Some(plan) = &opened.on_file else { return Vec::new() };
        let amiss = plan.known.amiss(&opened.journal.journal);
        let mut found = Vec::new();
        if !amiss.gone.is_empty() {
            found.push(format!(
                "the plan takes {} into account, which the journal does not have; put the journal back, or go on without: {}",
                list(&amiss.gone),
                self.command("journal", "--let-go")
            ));
        }
        if !amiss.other.is_empty() {
            found.push(format!(
                "the plan takes {} into account, but the journal says something else there; plan the rest of the term again: {}, \
                 or if it only was put into other words: {}",
                list(&amiss.other),
                self.command("replan", ""),
                self.command("journal", "--reworded")
            ));
        }
        let end = opened.read.term.end;
        if let Some(day) = plan.replanned.filter(|day| *day > end) {
            found.push(format!(
                "the plan says that the rest of the term was planned again from {} on, but the term ends on {}; put the right day \
                 after \"replanned:\", or take that line out if the term was never planned again",
                long_day(day),
                long_day(end)
            ));
        }
        // A kept plan that cannot be read tells nothing; the history of plans says so.
        match history::read(self.store, plan.revision).ok().flatten() {
            // No copy makes it true that a first plan was made again.
            Some(made)
                if plan.revision <= 1 && made.replanned == plan.replanned && plan.replanned.is_some() =>
            {
                found.extend(self.past_of_none(plan));
            }
            Some(made) => found.extend(self.past_of_another(plan, &made)),
            None => found.extend(self.past_of_none(plan)),
        }
        found
    }

    /// That a plan counts other days as past than it did when it was made, or other plants as lost: rules about what should be
    /// done do not hold for these.
    fn past_of_another(&self, plan: &Plan, made: &Plan) -> Vec<String> {
        let mut found = Vec::new();
        if made.replanned != plan.replanned {
            let was = made.replanned.map_or_else(
                || "take the line \"replanned:\" out".to_owned(),
                |day| format!("make it \"replanned: {day}\""),
            );
            found.push(format!(
                "{} was changed by hand: it says that the rest of the term was planned again from another day on than when plan \
                 {} was made; {was}",
                self.store.shown(NEWEST),
                plan.revision
            ));
        }
        if made.mass_factors != plan.mass_factors {
            found.push(format!(
                "{} was changed by hand: it counts with other masses than when plan {} was made; put back what {} has \
                 under \"mass-factors:\"",
                self.store.shown(NEWEST),
                plan.revision,
                self.store.shown(&history::name(plan.revision))
            ));
        }
        if made.term_id != plan.term_id {
            found.push(format!(
                "{} was changed by hand: its term-id, by which people's calendars know its events, is not that of plan {}; make it \
                 \"term-id: {}\"",
                self.store.shown(NEWEST),
                plan.revision,
                made.term_id
            ));
        }
        if proves_more(&plan.facts, &made.facts) {
            found.push(format!(
                "{} was changed by hand: it claims to be nearer to the best there can be than was proven when plan {} was made; \
                 put back what {} has after \"cost-bound:\" and \"short-bound-grams:\"",
                self.store.shown(NEWEST),
                plan.revision,
                self.store.shown(&history::name(plan.revision))
            ));
        }
        for batch in &plan.batches {
            let before = made.batches.iter().find(|before| before.id == batch.id);
            let before = before.map_or(&[][..], |before| &before.parts);
            let is_new = |part: &&Part| part.lost.is_some() && !before.contains(part);
            if batch.parts.iter().any(|part| is_new(&part)) {
                found.push(format!(
                    "batch {}: {} was changed by hand: it has plants that were not lost so when plan {} was made; put back what \
                     {} has of this batch. What is lost is recorded with: sowtide record lost",
                    batch.id,
                    self.store.shown(NEWEST),
                    plan.revision,
                    self.store.shown(&history::name(plan.revision))
                ));
            }
        }
        found
    }

    /// That a plan says it was made of another one, though it can be none that was made so: nobody makes a first plan again,
    /// and every plan is kept before it becomes the newest.
    fn past_of_none(&self, plan: &Plan) -> Option<String> {
        plan.replanned?;
        let kept = history::numbers(self.store).unwrap_or_default();
        let number = plan.revision;
        if number <= 1 {
            return Some(
                "the plan says that the rest of the term was planned again, but also that it is the first plan; take the line \
                 \"replanned:\" out"
                    .to_owned(),
            );
        }
        // Where none is kept, the folder was lost as a whole, or was never there.
        if kept.is_empty() || kept.contains(&number) {
            return None;
        }
        let (path, copy) = (self.store.shown(NEWEST), self.store.shown(&history::name(number)));
        let last = history::last_made(self.store).ok().flatten();
        let back = last.map_or_else(String::new, |last| {
            format!(
                "; if {path} was changed by hand, take the last plan made back with: {}",
                self.back_to_command(last.revision)
            )
        });
        Some(format!(
            "{path} says that it is plan {number} and that the rest of the term was planned again, but no plan {number} is kept \
             beside the others{back}; if only {copy} was lost, copy {path} to that name"
        ))
    }
}

/// Whether facts hold a higher bound than others, beyond rounding.
fn proves_more(claimed: &Facts, made: &Facts) -> bool {
    let more = |claimed: Option<f64>, made: Option<f64>| {
        claimed.is_some_and(|claimed| made.is_none_or(|made| claimed > made + ROUNDED))
    };
    more(claimed.cost_bound, made.cost_bound) || more(claimed.short_bound_grams, made.short_bound_grams)
}
