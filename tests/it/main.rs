//! Behaviour seen from outside.

mod crop_figures;
