//! Which kinds of greens a serving day gets, against those the term asks for.

use super::ids::CropId;
use super::plan::{NOTICEABLE, Plan, Serving};
use super::term::Term;
use chrono::NaiveDate;
use std::collections::BTreeMap;

/// What a portion may lack and still count, as a share of it: of a few grams, [`NOTICEABLE`] would be a large part.
const NOTICEABLE_SHARE: f64 = 0.1;

/// What a serving day lacks, apart from grams in all.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Lacking {
    /// Kinds of which there is a portion. A kind counts from its full portion on, though what it costs a plan that one is
    /// missing falls with every gram.
    pub kinds: u32,
    /// Kinds that are missing to what the rules ask for.
    pub kinds_missing: u32,
    /// Crops of which there is too little to count as a kind, with their grams, the most first.
    pub no_kind: Vec<(CropId, f64)>,
    /// Crops below the least share the term asks for, with the grams that are missing.
    pub below_share: Vec<(CropId, f64)>,
}

/// What every serving day of the plan lacks, apart from grams in all; days with a target only.
pub fn lacking(term: &Term, plan: &Plan) -> BTreeMap<NaiveDate, Lacking> {
    let mut served: BTreeMap<(NaiveDate, &CropId), f64> = BTreeMap::new();
    for batch in &plan.batches {
        for serves in batch.parts.iter().flat_map(|part| &part.harvests).flat_map(|harvest| &harvest.serves) {
            *served.entry((serves.date, &batch.crop)).or_default() += serves.grams;
        }
    }
    let of_day = |serving: &Serving| {
        let grams = |crop: &CropId| served.get(&(serving.date, crop)).copied().unwrap_or(0.0);
        let whole = term.rules.kind_from * serving.target;
        let portion = whole - NOTICEABLE.min(NOTICEABLE_SHARE * whole);
        let present = term.crops.iter().filter(|wanted| grams(&wanted.crop.id) >= portion).count() as u32;
        let mut no_kind: Vec<(CropId, f64)> =
            term.crops.iter().map(|wanted| (wanted.crop.id.clone(), grams(&wanted.crop.id))).collect();
        no_kind.retain(|(_, grams)| (NOTICEABLE..portion).contains(grams));
        no_kind.sort_by(|(_, grams), (_, other)| other.total_cmp(grams));
        let below = term.crops.iter().map(|wanted| {
            (wanted.crop.id.clone(), wanted.at_least * serving.target - grams(&wanted.crop.id))
        });
        Lacking {
            kinds: present,
            kinds_missing: term.rules.kinds.saturating_sub(present),
            no_kind,
            below_share: below.filter(|(_, missing)| *missing >= NOTICEABLE).collect(),
        }
    };
    let wanted = plan.servings.iter().filter(|serving| serving.target > 0.0);
    wanted.map(|serving| (serving.date, of_day(serving))).collect()
}
