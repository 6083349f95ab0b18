//! Going on from a plan: what changes from one to the next.

pub mod difference;
