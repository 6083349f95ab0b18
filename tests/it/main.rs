//! Behaviour seen from outside.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on should stop")]

mod calendars;
mod care;
mod carried;
mod check;
mod cleaning;
mod cli;
mod compare;
mod crop_figures;
mod days_off;
mod desk;
mod difference;
mod explain;
mod growth;
mod idle;
mod journal;
mod layout;
mod learn;
mod neighbours;
mod next;
mod odds;
mod only_in;
mod order;
mod origins;
mod pages;
mod planning;
mod prices;
mod promise;
mod properties;
mod published;
mod replan;
mod replay;
mod reports;
mod review;
mod rhythm;
mod sample;
mod sheets;
mod standards;
mod steady;
mod support;
mod term_file;
mod turns;
mod weighed;
mod weighed_together;
mod whatif;
