//! Behaviour seen from outside.

mod crop_figures;
mod days_off;
mod term_file;
