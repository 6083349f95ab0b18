//! Behaviour seen from outside.

mod check;
mod cli;
mod crop_figures;
mod days_off;
mod reports;
mod sample;
mod support;
mod term_file;
