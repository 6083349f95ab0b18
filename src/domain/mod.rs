//! What a grower talks about: crops, sites, terms, targets, batches, plans and the journal of what really happened.
//!
//! Nothing in here reads a file, looks at the clock or knows a solver. Masses are grams, lengths
//! centimetres, temperatures degrees Celsius, durations whole days; dates are
//! [`chrono::NaiveDate`]. A duration counts day-steps: a batch sown on a Monday is 7 days old on the
//! next Monday.

pub mod calendar;
pub mod crop;
pub mod growth;
pub mod ids;
pub mod journal;
pub mod lid;
pub mod plan;
pub mod site;
pub mod state;
pub mod term;
pub mod units;
