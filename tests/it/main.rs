//! Behaviour seen from outside.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on should stop")]

mod check;
mod cli;
mod crop_figures;
mod days_off;
mod layout;
mod outside;
mod planning;
mod properties;
mod replan;
mod reports;
mod sample;
mod standards;
mod steady;
mod support;
mod term_file;
