//! Names of crop figures for the sources at a sheet's foot.

use super::parts;
use crate::domain::crop::{Crop, Source};
use crate::report::words::and;
use maud::Markup;

/// A figure's name, and where a crop keeps its source.
pub(super) type Named = (&'static str, fn(&Crop) -> &Source);

/// Litres a day.
pub(super) const WATER: Named = ("water a day when full-grown", |crop| &crop.water_a_day.source);

/// Where these figures of these crops come from, figures of one crop with one source drawn together.
pub(super) fn sources(crops: &[&Crop], wanted: &[Named]) -> Markup {
    let mut figures: Vec<(String, &Source)> = Vec::new();
    for crop in crops {
        let mut by_source: Vec<(&Source, Vec<String>)> = Vec::new();
        for (name, source) in wanted {
            let source = source(crop);
            match by_source.iter_mut().find(|(known, _)| *known == source) {
                Some((_, names)) => names.push((*name).to_owned()),
                None => by_source.push((source, vec![(*name).to_owned()])),
            }
        }
        for (source, names) in by_source {
            figures.push((format!("{} ({})", crop.name, and(&names)), source));
        }
    }
    parts::sources(&figures, &["Cautions: common practice, no source."])
}

/// Each crop once, by name.
pub(super) fn each_once(mut crops: Vec<&Crop>) -> Vec<&Crop> {
    crops.sort_by(|one, other| one.name.cmp(&other.name));
    crops.dedup_by(|one, other| one.id == other.id);
    crops
}
