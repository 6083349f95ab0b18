//! A plan to its file's blocks and back.

use super::numbers;
use super::shape::{
    ArithmeticShape, BatchShape, FORMAT, FactsShape, HarvestShape, PartShape, PlanShape, ServedShape,
    ServingShape, Written,
};
use crate::domain::ids::{BatchId, CropId, SiteId, TankId};
use crate::domain::journal::EntryId;
use crate::domain::known::{Digest, KnownEntries};
use crate::domain::plan::{Arithmetic, Batch, Facts, Harvest, Origin, Part, Plan, Served, Serving};
use serde_yaml::{FlowMap, FlowSeq};
use std::collections::BTreeMap;

impl From<&Plan> for PlanShape {
    fn from(plan: &Plan) -> Self {
        Self {
            format: FORMAT,
            term_id: plan.term_id.clone(),
            term_name: plan.term_name.clone(),
            revision: plan.revision,
            last_number: Some(plan.last_number),
            last_task_numbers: numbers::last_to_shape(&plan.last_task_numbers),
            made: plan.made,
            reason: plan.reason.clone(),
            sure: plan.sure,
            replanned: plan.replanned,
            journal_entries: None,
            last_entry: plan.known.last(),
            journal: plan.known.entries().map(|(id, digest)| (Written(id), digest.map(Written))).collect(),
            mass_factors: plan.mass_factors.iter().map(|own| FlowMap(own.into())).collect(),
            facts: (&plan.facts).into(),
            servings: plan
                .servings
                .iter()
                .map(|serving| {
                    FlowMap(ServingShape {
                        date: serving.date,
                        target: serving.target,
                        planned: serving.planned,
                        shortfall: serving.shortfall.map(Into::into),
                    })
                })
                .collect(),
            batches: plan.batches.iter().map(Into::into).collect(),
        }
    }
}

impl From<PlanShape> for Plan {
    fn from(shape: PlanShape) -> Self {
        let batches: Vec<Batch> = shape.batches.into_iter().map(Into::into).collect();
        // Plans from before the highest number was kept.
        let highest = || batches.iter().filter_map(Batch::number).max().unwrap_or(0);
        Self {
            term_id: shape.term_id,
            term_name: shape.term_name,
            revision: shape.revision,
            last_number: shape.last_number.unwrap_or_else(highest),
            last_task_numbers: numbers::last_from_shape(shape.last_task_numbers),
            made: shape.made,
            reason: shape.reason,
            sure: shape.sure,
            replanned: shape.replanned,
            known: known(shape.journal_entries, shape.last_entry, shape.journal),
            mass_factors: shape.mass_factors.into_iter().map(|FlowMap(own)| own.into()).collect(),
            batches,
            servings: shape
                .servings
                .into_iter()
                .map(|FlowMap(serving)| Serving {
                    date: serving.date,
                    target: serving.target,
                    planned: serving.planned,
                    shortfall: serving.shortfall.map(Into::into),
                })
                .collect(),
            facts: shape.facts.into(),
        }
    }
}

/// The journal entries a plan knows. Plans of the first format only tell how many there were.
fn known(
    counted: Option<u32>,
    last: u32,
    entries: BTreeMap<Written<EntryId>, Option<Written<Digest>>>,
) -> KnownEntries {
    let counted = (1..=counted.unwrap_or(0)).map(|number| (EntryId(number), None));
    let listed = entries.into_iter().map(|(Written(id), digest)| (id, digest.map(|Written(digest)| digest)));
    KnownEntries::new(last, counted.chain(listed).collect())
}

impl From<&Facts> for FactsShape {
    fn from(facts: &Facts) -> Self {
        Self {
            solver: facts.solver.clone(),
            cost: facts.cost,
            cost_bound: facts.cost_bound,
            short_grams: facts.short_grams,
            short_bound_grams: facts.short_bound_grams,
            surplus_grams: facts.surplus_grams,
            effort: facts.effort,
            seed: facts.seed,
            seconds: facts.seconds,
            stopped: facts.stopped,
        }
    }
}

impl From<FactsShape> for Facts {
    fn from(shape: FactsShape) -> Self {
        Self {
            solver: shape.solver,
            cost: shape.cost,
            cost_bound: shape.cost_bound,
            short_grams: shape.short_grams,
            short_bound_grams: shape.short_bound_grams,
            surplus_grams: shape.surplus_grams,
            effort: shape.effort,
            seed: shape.seed,
            seconds: shape.seconds,
            stopped: shape.stopped,
        }
    }
}

impl From<&Batch> for BatchShape {
    fn from(batch: &Batch) -> Self {
        Self {
            id: batch.id.to_string(),
            crop: batch.crop.to_string(),
            site: batch.site.to_string(),
            sown: batch.sown,
            standing: batch.is_standing(),
            in_cups: batch.origin == Origin::InCups,
            bought: match batch.origin {
                Origin::Bought { days } => Some(days),
                _ => None,
            },
            plugs: batch.plugs,
            seeds_per_plug: batch.seeds_per_plug,
            task_numbers: numbers::to_shape(&batch.task_numbers),
            parts: batch.parts.iter().map(Into::into).collect(),
        }
    }
}

impl From<BatchShape> for Batch {
    fn from(shape: BatchShape) -> Self {
        Self {
            id: BatchId::new(shape.id),
            crop: CropId::new(shape.crop),
            site: SiteId::new(shape.site),
            sown: shape.sown,
            origin: match (shape.standing, shape.bought) {
                (true, _) => Origin::Standing,
                (false, Some(days)) => Origin::Bought { days },
                (false, None) if shape.in_cups => Origin::InCups,
                (false, None) => Origin::Sown,
            },
            plugs: shape.plugs,
            seeds_per_plug: shape.seeds_per_plug,
            parts: shape.parts.into_iter().map(Into::into).collect(),
            task_numbers: numbers::from_shape(shape.task_numbers),
        }
    }
}

impl From<&Part> for PartShape {
    fn from(part: &Part) -> Self {
        Self {
            plants: part.plants,
            tank: part.tank.to_string(),
            transplant: part.transplant,
            holes: FlowSeq(part.holes.clone()),
            kept_empty: FlowSeq(part.kept_empty.clone()),
            cuts_before: part.cuts_before,
            lost: part.lost,
            harvests: part.harvests.iter().map(Into::into).collect(),
        }
    }
}

impl From<PartShape> for Part {
    fn from(shape: PartShape) -> Self {
        Self {
            plants: shape.plants,
            tank: TankId::new(shape.tank),
            transplant: shape.transplant,
            holes: shape.holes.0,
            kept_empty: shape.kept_empty.0,
            cuts_before: shape.cuts_before,
            lost: shape.lost,
            harvests: shape.harvests.into_iter().map(Into::into).collect(),
        }
    }
}

impl From<&Harvest> for HarvestShape {
    fn from(harvest: &Harvest) -> Self {
        let steps = harvest.arithmetic;
        Self {
            date: harvest.date,
            way: harvest.way.into(),
            number: harvest.number,
            grams: harvest.grams,
            arithmetic: FlowMap(ArithmeticShape {
                days: steps.days,
                standing_grams: steps.standing_grams,
                taken: steps.taken,
                survival: steps.survival,
                yield_factor: steps.yield_factor,
                ready_to_eat: steps.ready_to_eat,
            }),
            serves: harvest
                .serves
                .iter()
                .map(|served| FlowMap(ServedShape { date: served.date, grams: served.grams }))
                .collect(),
        }
    }
}

impl From<HarvestShape> for Harvest {
    fn from(shape: HarvestShape) -> Self {
        let steps = shape.arithmetic.0;
        Self {
            date: shape.date,
            way: shape.way.into(),
            number: shape.number,
            grams: shape.grams,
            arithmetic: Arithmetic {
                days: steps.days,
                standing_grams: steps.standing_grams,
                taken: steps.taken,
                survival: steps.survival,
                yield_factor: steps.yield_factor,
                ready_to_eat: steps.ready_to_eat,
            },
            serves: shape
                .serves
                .into_iter()
                .map(|FlowMap(served)| Served { date: served.date, grams: served.grams })
                .collect(),
        }
    }
}
