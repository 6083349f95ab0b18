//! Behaviour seen from outside.
