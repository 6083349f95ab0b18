//! The crop library.

use super::{FORMAT, write};
use crate::domain::crop::{Crop, DaySpan, Figure, Limits};
use serde::Serialize;
use serde_json::{Map, Value, json};

#[derive(Serialize)]
struct ListJson<'a> {
    format: u32,
    crops: Vec<CropJson<'a>>,
}

#[derive(Serialize)]
struct OneJson<'a> {
    format: u32,
    #[serde(flatten)]
    crop: CropJson<'a>,
}

#[derive(Serialize)]
struct CropJson<'a> {
    id: &'a str,
    name: &'a str,
    also_called: &'a [String],
    scientific_name: &'a str,
    kind: &'a str,
    deciding: usize,
    published: usize,
    figures: Map<String, Value>,
}

/// All crops. Keys: `format`, `crops`: as in [`crop`], without `format`.
pub fn crop_list<'a>(crops: impl Iterator<Item = &'a Crop>) -> String {
    write(&ListJson { format: FORMAT, crops: crops.map(object).collect() })
}

/// One crop. Keys: `format`, `id`, `name`, `also_called` (list), `scientific_name`, `kind`, `deciding` (how many figures decide a plan),
/// `published` (how many of those have a published source) and `figures`, each with `value` and `source` and, where it
/// is known how far the value may be off, `low` and `high`: `germination`, `seeds_per_plug`, `seeds_per_gram`,
/// `emergence_days`, `nursery_days`, `nursery_survival`, `tank_survival`, `first_cut_days`, `whole_head_days`,
/// `hold_days`, `growth_g_by_age` (pairs of age in days and fresh grams), `variation` (coefficients of variation of mass,
/// `between_plants` and `between_batches`, and standard deviation of `days` between batches), `regrowth_days`, `harvests`,
/// `regrowth_until_days`,
/// `taken`, `regrowth_lag_days`, `regrowth_vigour`, `regrowth_strength`, `tank_days`, `spacing_cm`, `ph`, `ec_ms_per_cm`,
/// `air_celsius`, `water_litres_a_day`, `shelf_life_days`, `cut_shelf_life_days`, `storage_celsius`, `ready_to_eat`, `cup_grams`,
/// `in_cups`, `bolting`, `handling`, `allergy`. Stretches of days are `min`, `usual`, `max`; ranges `low`, `high`. A figure that does
/// not apply to the crop is left out.
pub fn crop(crop: &Crop) -> String {
    write(&OneJson { format: FORMAT, crop: object(crop) })
}

fn object(crop: &Crop) -> CropJson<'_> {
    let (published, deciding) = crop.published();
    CropJson {
        id: crop.id.as_str(),
        name: &crop.name,
        also_called: &crop.also_called,
        scientific_name: &crop.scientific_name,
        kind: &crop.kind,
        deciding,
        published,
        figures: figures(crop).0,
    }
}

/// Figures by key, each with its source.
#[derive(Default)]
struct Figures(Map<String, Value>);

impl Figures {
    fn add<T, V: Serialize>(&mut self, key: &str, figure: &Figure<T>, value: impl Fn(&T) -> V) {
        let mut written = json!({ "value": value(&figure.value), "source": figure.source.to_string() });
        if let Some(spread) = &figure.spread {
            written["low"] = json!(value(&spread.low));
            written["high"] = json!(value(&spread.high));
        }
        self.0.insert(key.to_owned(), written);
    }

    fn add_if<T, V: Serialize>(&mut self, key: &str, figure: Option<&Figure<T>>, value: impl Fn(&T) -> V) {
        if let Some(figure) = figure {
            self.add(key, figure, value);
        }
    }
}

fn figures(crop: &Crop) -> Figures {
    let mut figures = Figures::default();
    figures.add("germination", &crop.germination, |share| *share);
    figures.add("seeds_per_plug", &crop.seeds_per_plug, |seeds| *seeds);
    figures.add("seeds_per_gram", &crop.seeds_per_gram, |seeds| *seeds);
    figures.add("emergence_days", &crop.emergence, days);
    figures.add("nursery_days", &crop.nursery, days);
    figures.add("nursery_survival", &crop.nursery_survival, |share| *share);
    figures.add("tank_survival", &crop.tank_survival, |share| *share);
    figures.add_if("first_cut_days", crop.first_cut.as_ref(), days);
    figures.add_if("whole_head_days", crop.whole_head.as_ref(), days);
    figures.add("hold_days", &crop.hold, days);
    figures.add("growth_g_by_age", &crop.growth, |curve| {
        curve.points().map(|(age, mass)| (age, mass.grams())).collect::<Vec<_>>()
    });
    figures.add("variation", &crop.variation, |spread| {
        json!({
            "between_plants": spread.between_plants,
            "between_batches": spread.between_batches,
            "days": spread.days,
        })
    });
    if let Some(regrowth) = &crop.regrowth {
        figures.add("regrowth_days", &regrowth.interval, days);
        figures.add("harvests", &regrowth.harvests, |number| *number);
        figures.add_if("regrowth_until_days", regrowth.until.as_ref(), |days| *days);
        figures.add("taken", &regrowth.taken, |share| *share);
        figures.add("regrowth_lag_days", &regrowth.lag, |days| *days);
        figures.add("regrowth_vigour", &regrowth.vigour, |share| *share);
        figures.add("regrowth_strength", &regrowth.strength, Vec::clone);
    }
    figures.add("tank_days", &crop.tank_days, |number| *number);
    figures.add("spacing_cm", &crop.spacing, |spacing| spacing.cm());
    figures.add("ph", &crop.ph, limits);
    figures.add("ec_ms_per_cm", &crop.ec, limits);
    figures.add(
        "air_celsius",
        &crop.air,
        |air| json!({ "low": air.low.celsius(), "high": air.high.celsius() }),
    );
    figures.add("water_litres_a_day", &crop.water_a_day, |litres| *litres);
    figures.add("shelf_life_days", &crop.shelf_life, |number| *number);
    figures.add("cut_shelf_life_days", &crop.cut_shelf_life, |number| *number);
    figures.add("storage_celsius", &crop.storage, |storage| storage.celsius());
    figures.add("ready_to_eat", &crop.ready_to_eat, |share| *share);
    figures.add_if("cup_grams", crop.cup_grams.as_ref(), |grams| *grams);
    figures.add_if("in_cups", crop.in_cups.as_ref(), String::clone);
    figures.add_if("bolting", crop.bolting.as_ref(), String::clone);
    figures.add_if("handling", crop.handling.as_ref(), String::clone);
    figures.add_if("allergy", crop.allergy.as_ref(), String::clone);
    figures
}

fn days(span: &DaySpan) -> Value {
    json!({ "min": span.min, "usual": span.usual, "max": span.max })
}

fn limits(limits: &Limits<f64>) -> Value {
    json!({ "low": limits.low, "high": limits.high })
}
