//! Behaviour seen from outside.
mod days_off;
