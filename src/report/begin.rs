//! How a batch begins, in words: sown in the nursery, sown straight into cups, or bought.

use super::words::{and, counted, holes, short_day};
use crate::domain::ids::TankId;
use crate::domain::plan::{Batch, Origin};
use crate::domain::tasks::TaskKind;
use std::collections::BTreeMap;

/// For seedlings from outside (common practice, no source).
pub(super) const BOUGHT: &str = "Before bought seedlings come into the room, look at the undersides of their leaves: no \
     insects, no mildew, no brown roots. Buy them in plugs without soil; what clings to them is rinsed off in a bucket, away from \
     the tanks. Keep them apart until they have their holes.";

/// The kind of a task in a word or two.
pub(super) fn kind(kind: TaskKind, origin: Origin) -> String {
    match (kind, origin) {
        (TaskKind::Sow, Origin::Bought { .. }) => "take in".to_owned(),
        _ => kind.to_string(),
    }
}

/// What is laid or comes: `14 plugs x 3 seeds`, `12 cups x 3 seeds` or `24 seedlings, 21 days old`; `number` of them.
pub(super) fn amount(batch: &Batch, number: u32) -> String {
    let seeds = || counted(batch.seeds_per_plug, "seed");
    match batch.origin {
        Origin::Bought { days } => format!("{}, {} old", counted(number, "seedling"), counted(days, "day")),
        Origin::InCups => format!("{} x {}", counted(number, "cup"), seeds()),
        Origin::Sown | Origin::Standing => format!("{} x {}", counted(number, "plug"), seeds()),
    }
}

/// The same with its place, for lists of work: `12 cups x 3 seeds, tank a, holes 1-12`.
pub(super) fn work_line(batch: &Batch, number: u32) -> String {
    let mut line = amount(batch, number);
    if batch.origin == Origin::InCups {
        line = format!("{line}, {}", places(batch));
    }
    line
}

/// The same in as few letters as a table has room for, after the day.
pub(super) fn in_table(batch: &Batch) -> (String, String) {
    let day = short_day(batch.sown);
    let seeds = format!("{} x {}", batch.plugs, batch.seeds_per_plug);
    match batch.origin {
        Origin::Standing => ("stands".to_owned(), counted(batch.plugs, "plant")),
        Origin::Bought { days } => (format!("{day} come"), format!("{}, {days} d old", batch.plugs)),
        Origin::InCups => (format!("{day} in cups"), seeds),
        Origin::Sown => (day, seeds),
    }
}

/// Where seed is laid straight into cups: `tank a, holes 1-4, and tank b, hole 7`. Empty for other batches.
pub(super) fn places(batch: &Batch) -> String {
    let mut tanks: BTreeMap<&TankId, Vec<u32>> = BTreeMap::new();
    for part in batch.parts.iter().filter(|_| batch.origin == Origin::InCups) {
        tanks.entry(&part.tank).or_default().extend(&part.holes);
    }
    for holes in tanks.values_mut() {
        holes.sort_unstable();
    }
    let told = tanks.iter().map(|(tank, numbers)| format!("tank {tank}, {}", holes(numbers)));
    and(&told.collect::<Vec<_>>())
}

/// What there is to sow and to buy in all, in sentences.
pub(super) fn in_all(batches: &[Batch], of: &str) -> String {
    let with = |wanted: fn(Origin) -> bool| batches.iter().filter(move |batch| wanted(batch.origin));
    let plugs = |wanted: fn(Origin) -> bool| -> u32 { with(wanted).map(|batch| batch.plugs).sum() };
    let count = |wanted: fn(Origin) -> bool| with(wanted).count() as u32;
    let in_cups = |origin| origin == Origin::InCups;
    let bought = |origin| matches!(origin, Origin::Bought { .. });
    let mut text = format!(
        "To sow: {}{of} with {}{} and {}.",
        counted(count(Origin::is_sown), "batch"),
        counted(plugs(|origin| origin == Origin::Sown), "plug"),
        if count(in_cups) > 0 { format!(", {}", counted(plugs(in_cups), "cup")) } else { String::new() },
        counted(batches.iter().map(Batch::seeds).sum(), "seed"),
    );
    if count(bought) > 0 {
        let (batches, seedlings) = (counted(count(bought), "batch"), counted(plugs(bought), "seedling"));
        text = format!("{text} To buy: {batches} with {seedlings}.");
    }
    let standing = count(|origin| origin == Origin::Standing);
    if standing > 0 {
        text = format!("{text} Standing at the start: {}.", counted(standing, "batch"));
    }
    text
}
