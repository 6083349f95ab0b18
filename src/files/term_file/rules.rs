//! Rules that hold everywhere.

use crate::domain::term::{Minutes, OneCropTanks, Rhythm, Rules, Weights};
use crate::files::reading::{Entries, Noted, Reading};
use crate::files::tree::{Content, Node};
use std::ops::RangeInclusive;

const KEYS: [&str; 15] = [
    "kinds",
    "kind-from",
    "one-tank-at-most",
    "tolerance",
    "smallest-batch",
    "fresh-days",
    "handful",
    "one-crop-tanks",
    "every-site",
    "rhythm",
    "every",
    "turnover-days",
    "clean-every",
    "minutes",
    "weights",
];

/// Share of the target from which a crop counts as a kind, unless written.
const KIND_FROM: f64 = 0.1;
/// Share of a target that may be missing where it is called met, unless written.
const TOLERANCE: f64 = 0.02;
/// Fewest plants worth sowing, unless written.
const SMALLEST_BATCH: u32 = 4;
/// Days after harvest during which greens count as fresh, unless written.
const FRESH_DAYS: u32 = 2;
/// Plants that are worth a step to a tank, unless written.
const HANDFUL: u32 = 4;
/// Weeks between two cleanings of a tank, unless written (common practice, no source).
const CLEAN_EVERY: u32 = 10;
/// Minutes for one plug, transplant or harvest, unless written (common practice, no source).
const MINUTES: Minutes = Minutes { sow: 0.5, transplant: 1.0, harvest: 1.0 };

/// The rules, with what is usual where nothing is written.
pub(super) fn read(reading: &mut Reading, entries: &Entries<'_>) -> Option<Rules> {
    let Some(node) = entries.get("rules") else {
        return Some(usual());
    };
    let entries = reading.map(node, &KEYS)?;
    let kinds = whole(reading, &entries, "kinds", 1..=10, 1);
    let kind_from = match (entries.get("kind-from"), kinds) {
        (Some(node), _) => reading.percent(node, 1.0..=100.0),
        (None, Some(kinds)) => Some(KIND_FROM.min(1.0 / f64::from(kinds))),
        (None, None) => None,
    };
    if let (Some(node), Some(kinds), Some(from)) = (entries.get("kind-from"), kinds, kind_from)
        && from * f64::from(kinds) > 1.0 + 1e-9
    {
        let help = format!("write at most {:.0} %", (100.0 / f64::from(kinds)).floor());
        reading.note(
            &node.span,
            format!("{kinds} kinds with this share each are more than the target"),
            help,
        );
    }
    let one_tank =
        entries.get("one-tank-at-most").map_or(Some(1.0), |node| reading.percent(node, 1.0..=100.0));
    let tolerance =
        entries.get("tolerance").map_or(Some(TOLERANCE), |node| reading.percent(node, 0.0..=20.0));
    let smallest_batch = whole(reading, &entries, "smallest-batch", 1..=1_000, SMALLEST_BATCH);
    let fresh_days = whole(reading, &entries, "fresh-days", 0..=90, FRESH_DAYS);
    let handful = whole(reading, &entries, "handful", 1..=100, HANDFUL);
    let mixing =
        [("prefer", OneCropTanks::Prefer), ("always", OneCropTanks::Always), ("no", OneCropTanks::No)];
    let one_crop_tanks = entries
        .get("one-crop-tanks")
        .map_or(Some(OneCropTanks::default()), |node| reading.choice(node, &mixing));
    let every_site = entries.get("every-site").map_or(Some(false), |node| reading.yes_no(node));
    let rhythm = rhythm(reading, &entries);
    let turnover_days = whole(reading, &entries, "turnover-days", 0..=30, 0);
    let clean_every = entries.get("clean-every").map_or(Ok(Some(CLEAN_EVERY)), |node| clean(reading, node));
    let minutes = entries.get("minutes").map_or(Some(MINUTES), |node| minutes(reading, node));
    let weights = entries.get("weights").map_or(Some(Weights::default()), |node| weights(reading, node));
    Some(Rules {
        kinds: kinds?,
        kind_from: kind_from?,
        one_tank_at_most: one_tank?,
        tolerance: tolerance?,
        smallest_batch: smallest_batch?,
        fresh_days: fresh_days?,
        handful: handful?,
        one_crop_tanks: one_crop_tanks?,
        every_site: every_site?,
        rhythm: rhythm?,
        turnover_days: turnover_days?,
        clean_every: clean_every.ok()?,
        minutes: minutes?,
        weights: weights?,
    })
}

fn usual() -> Rules {
    Rules {
        kinds: 1,
        kind_from: KIND_FROM,
        one_tank_at_most: 1.0,
        tolerance: TOLERANCE,
        smallest_batch: SMALLEST_BATCH,
        fresh_days: FRESH_DAYS,
        handful: HANDFUL,
        one_crop_tanks: OneCropTanks::default(),
        every_site: false,
        rhythm: Rhythm::default(),
        turnover_days: 0,
        clean_every: Some(CLEAN_EVERY),
        minutes: MINUTES,
        weights: Weights::default(),
    }
}

fn whole(
    reading: &mut Reading,
    entries: &Entries<'_>,
    key: &str,
    limits: RangeInclusive<u32>,
    usual: u32,
) -> Option<u32> {
    entries.get(key).map_or(Some(usual), |node| reading.whole(node, limits))
}

/// The rhythm of sowings, and the weeks between two of them.
fn rhythm(reading: &mut Reading, entries: &Entries<'_>) -> Option<Rhythm> {
    let rhythms = [("free", Rhythm::Free), ("steady", Rhythm::Steady { every: 1 })];
    let rhythm = entries.get("rhythm").map_or(Some(Rhythm::Free), |node| reading.choice(node, &rhythms))?;
    let Some(node) = entries.get("every") else { return Some(rhythm) };
    if rhythm == Rhythm::Free {
        let help = "add a line rhythm: steady, or remove this one";
        reading.note(&entries.key_span("every"), "only a steady rhythm has weeks between its sowings", help);
        return None;
    }
    reading.whole(node, 1..=8).map(|every| Rhythm::Steady { every })
}

/// Weeks between two cleanings, or `never`.
fn clean(reading: &mut Reading, node: &Node) -> Result<Option<u32>, Noted> {
    match &node.content {
        Content::Text(text) if text == "never" => Ok(None),
        Content::Text(text) if text.parse::<f64>().is_ok() => {
            reading.whole(node, 4..=52).map(Some).ok_or(Noted)
        }
        _ => {
            let help = "write a number of weeks from 4 to 52, or never";
            reading.note(&node.span, "it is not clear how often tanks are cleaned", help);
            Err(Noted)
        }
    }
}

fn minutes(reading: &mut Reading, node: &Node) -> Option<Minutes> {
    let entries = reading.map(node, &["sow", "transplant", "harvest"])?;
    let mut one = |key, usual| entries.get(key).map_or(Some(usual), |node| reading.number(node, 0.0..=60.0));
    let sow = one("sow", MINUTES.sow);
    let transplant = one("transplant", MINUTES.transplant);
    let harvest = one("harvest", MINUTES.harvest);
    Some(Minutes { sow: sow?, transplant: transplant?, harvest: harvest? })
}

fn weights(reading: &mut Reading, node: &Node) -> Option<Weights> {
    let keys = [
        "short",
        "very-short",
        "mild-share",
        "unsure",
        "surplus",
        "sowing",
        "visit",
        "task",
        "further-tank",
        "scant",
        "split",
        "overmature",
        "mixed",
        "idle",
        "series",
        "plug",
        "bought",
        "hole-day",
        "stored",
        "stale",
    ];
    let entries = reading.map(node, &keys)?;
    let usual = Weights::default();
    let mild_share =
        entries.get("mild-share").map_or(Some(usual.mild_share), |node| reading.percent(node, 0.0..=100.0));
    let mut price =
        |key, usual| entries.get(key).map_or(Some(usual), |node| reading.number(node, 0.0..=1000.0));
    let short = price("short", usual.short);
    let very_short = price("very-short", usual.very_short);
    let unsure = price("unsure", usual.unsure);
    let surplus = price("surplus", usual.surplus);
    let sowing = price("sowing", usual.sowing);
    let visit = price("visit", usual.visit);
    let task = price("task", usual.task);
    let further_tank = price("further-tank", usual.further_tank);
    let scant = price("scant", usual.scant);
    let split = price("split", usual.split);
    let overmature = price("overmature", usual.overmature);
    let mixed = price("mixed", usual.mixed);
    let idle = price("idle", usual.idle);
    let series = price("series", usual.series);
    let plug = price("plug", usual.plug);
    let bought = price("bought", usual.bought);
    let hole_day = price("hole-day", usual.hole_day);
    let (stored, stale) = (price("stored", usual.stored), price("stale", usual.stale));
    let (short, very_short, stored, stale) = (short?, very_short?, stored?, stale?);
    if stale < stored {
        let help = "make stale at least as large as stored, so that what is oldest is eaten first";
        reading.note(
            &entries.key_span(if entries.get("stale").is_some() { "stale" } else { "stored" }),
            "stale is smaller than stored",
            help,
        );
    }
    if very_short < short {
        let help = "make very-short at least as large as short, so that shortfall is spread over the weeks";
        reading.note(&entries.key_span("very-short"), "very-short is smaller than short", help);
    }
    Some(Weights {
        short,
        very_short,
        mild_share: mild_share?,
        unsure: unsure?,
        surplus: surplus?,
        sowing: sowing?,
        visit: visit?,
        task: task?,
        further_tank: further_tank?,
        scant: scant?,
        split: split?,
        overmature: overmature?,
        mixed: mixed?,
        idle: idle?,
        series: series?,
        plug: plug?,
        bought: bought?,
        hole_day: hole_day?,
        stored,
        stale,
    })
}
