//! What was promised of each batch: as the last plan told it that could still decide on its sowing.

use crate::domain::ids::BatchId;
use crate::domain::plan::{Batch, Plan};
use std::collections::BTreeMap;

/// A batch, and the plan that tells it.
pub(super) struct Promise<'a> {
    pub(super) plan: &'a Plan,
    pub(super) batch: &'a Batch,
}

/// Every batch that was to be sown when its day came. Whoever plans again drops and moves what lies ahead, so that only
/// the last plan before its day counts; what was sown, or should have been, is past and stays promised.
pub(super) fn promised<'a>(earlier: &'a [Plan], plan: &'a Plan) -> BTreeMap<&'a BatchId, Promise<'a>> {
    let mut known: BTreeMap<&BatchId, Promise<'_>> = BTreeMap::new();
    let before = earlier.iter().filter(|earlier| earlier.revision < plan.revision);
    for plan in before.chain([plan]) {
        let is_ahead = |batch: &Batch| plan.replanned.is_none_or(|from| batch.sown >= from);
        known.retain(|_, promise| !is_ahead(promise.batch));
        for batch in &plan.batches {
            if is_ahead(batch) || !known.contains_key(&batch.id) {
                known.insert(&batch.id, Promise { plan, batch });
            }
        }
    }
    known
}
