//! Behaviour seen from outside.

mod check;
mod crop_figures;
mod days_off;
mod support;
mod term_file;
