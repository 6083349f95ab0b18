//! Behaviour seen from outside.
mod check;
mod support;
