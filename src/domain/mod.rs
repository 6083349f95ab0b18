//! What a grower talks about: crops, sites, terms, targets, batches, plans and the journal of what really happened.
//!
//! Nothing in here reads a file, looks at the clock or knows a solver. Masses are grams, lengths
//! centimetres, temperatures degrees Celsius, durations whole days; dates are
//! [`chrono::NaiveDate`]. A duration counts day-steps: a batch sown on a Monday is 7 days old on the
//! next Monday.

pub mod ahead;
pub mod calendar;
mod called;
pub mod chance;
pub mod compare;
pub mod confidence;
pub mod crop;
pub mod difference;
pub mod explain;
pub mod growth;
pub mod idle;
pub mod ids;
pub mod journal;
pub mod known;
pub mod learned;
pub mod leftover;
pub mod lid;
pub mod longevity;
pub mod luck;
pub mod most;
pub mod odds;
pub mod order;
pub mod plan;
pub mod pooling;
pub mod published;
pub mod review;
pub mod room;
mod rules;
pub mod same_tasks;
pub mod shares;
pub mod site;
mod soundness;
pub mod state;
pub mod supplies;
pub mod task_numbers;
pub mod tasks;
pub mod term;
pub mod text;
pub mod units;
pub mod variety;
pub mod water;
pub mod weighed;
pub mod whatif;
