//! With how much of their mass crops and batches are counted, as a plan file has it.

use super::names::{maybe_name, name};
use crate::domain::ids::{BatchId, CropId, SiteId};
use crate::domain::plan::MassFactor;
use crate::domain::weighed::FACTORS;
use serde::de::{Deserializer, Error, Unexpected};
use serde::{Deserialize, Serialize};

#[derive(Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub(super) struct MassFactorShape {
    #[serde(deserialize_with = "name")]
    site: String,
    #[serde(deserialize_with = "name")]
    crop: String,
    #[serde(default, deserialize_with = "maybe_name", skip_serializing_if = "String::is_empty")]
    batch: String,
    #[serde(deserialize_with = "factor")]
    factor: f64,
}

impl From<&MassFactor> for MassFactorShape {
    fn from(MassFactor { site, crop, batch, factor }: &MassFactor) -> Self {
        let batch = batch.as_ref().map_or_else(String::new, ToString::to_string);
        Self { site: site.to_string(), crop: crop.to_string(), batch, factor: *factor }
    }
}

impl From<MassFactorShape> for MassFactor {
    fn from(MassFactorShape { site, crop, batch, factor }: MassFactorShape) -> Self {
        let batch = (!batch.is_empty()).then(|| BatchId::new(batch));
        Self { site: SiteId::new(site), crop: CropId::new(crop), batch, factor }
    }
}

fn factor<'de, D: Deserializer<'de>>(from: D) -> Result<f64, D::Error> {
    let factor = f64::deserialize(from)?;
    if FACTORS.contains(&factor) {
        Ok(factor)
    } else {
        Err(D::Error::invalid_value(Unexpected::Float(factor), &"a number from 0.25 to 4"))
    }
}
