//! Our results against programs and standards that know nothing of ours.
//!
//! Linear and mixed-integer optima come from HiGHS and CBC; calendars are read by two independent readers of
//! iCalendar (RFC 5545); week numbers follow Python's own reading of ISO 8601. All of them run in a Python
//! environment of pinned versions that the tests make for themselves; see [`python`].

mod calendars;
mod models;
mod python;
