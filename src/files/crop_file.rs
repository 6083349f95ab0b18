//! One crop file to a crop.
//!
//! Every figure of a crop file is a small map: the value with, where it is known how far it may be off, `low` and `high`
//! (or `least`, `usual` and `most`, or `low` and `high` alone) and a `source`, which is `from memory`, `common practice`, `own records` or a short name listed under
//! `sources` at the end of the file.

mod figures;
#[cfg(test)]
mod tests;
mod values;

pub(super) use figures::OWN_RECORDS;

use super::problem::{Problem, Problems, TextFile};
use super::reading::Reading;
use super::tree;
use crate::domain::crop::{CUT_LEAVES_KEEP, Crop, DaySpan, Figure, Limits};
use crate::domain::ids::CropId;
use figures::{Figures, remembered};

pub(super) use values::temperature;

/// Days in a tank before a first harvest, where a crop file does not tell.
const USUAL_TANK_DAYS: u32 = 10;

/// Every key a crop file may have, in the order people read them.
const KEYS: [&str; 34] = [
    "format",
    "name",
    "also_called",
    "scientific_name",
    "kind",
    "germination",
    "seeds_per_plug",
    "seeds_per_gram",
    "emergence",
    "nursery",
    "nursery_survival",
    "first_cut",
    "whole_head",
    "hold",
    "tank_survival",
    "tank_days",
    "ready_to_eat",
    "cup_grams",
    "growth",
    "variation",
    "regrowth",
    "spacing",
    "ph",
    "ec",
    "air",
    "water_a_day",
    "shelf_life",
    "cut_shelf_life",
    "storage",
    "in_cups",
    "bolting",
    "handling",
    "allergy",
    "sources",
];

/// Reads the text of a crop file; the id comes from the file's name.
///
/// # Errors
/// With every mistake of the file: unknown, repeated and missing keys, values out of their range or in
/// the wrong unit, figures without a source, days and masses in an order no plant follows.
pub fn read(id: CropId, file: &TextFile) -> Result<Crop, Problems> {
    let root = tree::parse(file).map_err(Problem::alone)?;
    let mut reading = Reading::new(file);
    let crop = match reading.map(&root, &KEYS) {
        Some(entries) => crop(id, &mut Figures::new(&mut reading, entries)),
        None => None,
    };
    reading.finish()?;
    // Nothing is left out of a crop without a mistake being noted, so this refuses nothing in practice.
    crop.ok_or_else(|| {
        let help = "compare it with a crop file that works";
        file.whole_problem("this crop is not complete", help).alone()
    })
}

/// The crop, or `None` once a mistake was noted. Everything is read before anything is given up.
fn crop(id: CropId, from: &mut Figures<'_, '_>) -> Option<Crop> {
    from.check_format();
    let name = from.words("name", "name: Oakleaf lettuce");
    let also_called = from.names("also_called");
    let scientific_name = from.words("scientific_name", "scientific_name: Lactuca sativa");
    let kind = from.words("kind", "kind: lettuce");
    let germination = from.share("germination", 1.0..=100.0);
    let seeds_per_plug = from.whole("seeds_per_plug", 1..=60);
    let seeds_per_gram = from.number("seeds_per_gram", 0.1..=100_000.0);
    let emergence = from.days("emergence", 1..=60);
    let nursery = from.days("nursery", 1..=120);
    let nursery_survival = from.share("nursery_survival", 1.0..=100.0);
    let tank_survival = from.share("tank_survival", 1.0..=100.0);
    let tank_days = if from.has("tank_days") {
        from.whole("tank_days", 1..=120)
    } else {
        Some(remembered(USUAL_TANK_DAYS))
    };
    let first_cut = from.days_if_given("first_cut", 2..=400);
    let whole_head = from.days_if_given("whole_head", 2..=400);
    let hold = from.days("hold", 0..=200);
    let growth = from.growth();
    let variation = from.variation();
    let regrowth = from.regrowth();
    let spacing = from.spacing();
    let ph = from.range("ph", ["5.5", "6.5"], 3.0..=10.0);
    let ec = from.range("ec", ["1.2", "2.0"], 0.0..=10.0);
    let air = from.temperatures("air");
    let water_a_day = from.litres("water_a_day");
    let shelf_life = from.whole("shelf_life", 0..=90);
    let cut_shelf_life = if from.has("cut_shelf_life") {
        from.whole("cut_shelf_life", 0..=CUT_LEAVES_KEEP)
    } else {
        shelf_life.clone().map(at_most_as_cut_leaves)
    };
    let storage = from.temperature("storage");
    let ready_to_eat = from.share("ready_to_eat", 1.0..=100.0);
    let cup_grams = from.number_if_given("cup_grams", 1.0..=300.0);
    let in_cups = from.remark("in_cups");
    let bolting = from.remark("bolting");
    let handling = from.remark("handling");
    let allergy = from.remark("allergy");
    check_windows(from, nursery.as_ref(), first_cut.as_ref(), whole_head.as_ref());
    Some(Crop {
        id,
        name: name?,
        also_called: also_called?,
        scientific_name: scientific_name?,
        kind: kind?,
        germination: germination?,
        seeds_per_plug: seeds_per_plug?,
        seeds_per_gram: seeds_per_gram?,
        emergence: emergence?,
        nursery: nursery?,
        nursery_survival: nursery_survival?,
        tank_survival: tank_survival?,
        tank_days: tank_days?,
        first_cut,
        whole_head,
        hold: hold?,
        growth: growth?,
        variation: variation?,
        regrowth,
        spacing: spacing?,
        ph: ph?,
        ec: ec?,
        air: air?,
        water_a_day: water_a_day?,
        shelf_life: shelf_life?,
        cut_shelf_life: cut_shelf_life?,
        storage: storage?,
        ready_to_eat: ready_to_eat?,
        cup_grams,
        in_cups,
        bolting,
        handling,
        allergy,
    })
}

/// How long cut leaves keep where only that of whole heads is told.
fn at_most_as_cut_leaves(whole: Figure<u32>) -> Figure<u32> {
    let cut = |days: u32| days.min(CUT_LEAVES_KEEP);
    let spread = whole.spread.map(|spread| Limits { low: cut(spread.low), high: cut(spread.high) });
    Figure { value: cut(whole.value), spread, source: whole.source }
}

/// A crop must be harvested some way, not before it has left the nursery, and can only grow again
/// after a first cut.
fn check_windows(
    from: &mut Figures<'_, '_>,
    nursery: Option<&Figure<DaySpan>>,
    first_cut: Option<&Figure<DaySpan>>,
    whole_head: Option<&Figure<DaySpan>>,
) {
    if !from.has("first_cut") && !from.has("whole_head") {
        let title = "neither \"first_cut\" nor \"whole_head\" is given";
        from.note_at("name", title, "say when this crop can be cut young, grown whole, or both");
    }
    if from.has("regrowth") && !from.has("first_cut") {
        let title = "a crop that grows again needs the days to its \"first_cut\"";
        from.note_at("regrowth", title, "add \"first_cut\", or remove \"regrowth\"");
    }
    let Some(nursery) = nursery else { return };
    for (key, harvest) in [("first_cut", first_cut), ("whole_head", whole_head)] {
        let Some(harvest) = harvest else { continue };
        let (leaves, earliest) = (nursery.value.max, harvest.value.min);
        if leaves >= earliest {
            let title =
                format!("this may come on day {earliest}, with seedlings in the nursery up to day {leaves}");
            let help = "make the most days of \"nursery\" fewer than the least days here";
            from.note_at(key, title, help);
        }
    }
}
